"""Which repairs together over JSON: what the plan tells, logged as it stands, seals what it names.

A hole of 1/2 in asks for 12 1/2 in with 6 in of overlap (a + 2o, calculated), and is cut 1 in larger on every
side (common practice, no source): 14 1/2 in. 1 px is 1.2 in, one inch 0.0254 m exactly (NIST SP 811).
"""

from __future__ import annotations

from typing import Any

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.doing import record, sketch_to_change
from service.domain.nouns.site import Alignment
from service.history.facts.facts import SketchRevised
from tests.api.conftest import Programs
from tests.api.scene import Scene
from tests.cast import Cast

HOLE = {"shape": "circle", "diameter": "1/2 in"}
MADE = {"cleaned": True, "dry": True, "edges_taped": True, "tape_width": "4 in"}
INCH_M = 0.0254


@pytest.fixture
def holes(scene: Scene, programs: Programs) -> list[str]:
    """Two holes in the zone without marks, 8.4 in from middle to middle, down and to the right."""
    path = scene.path("/zones/{clear}/defects")
    zone = programs.lead.get(scene.path("/zones/{clear}")).json()
    x, y = (sum(at[k] for at in zone["outline"]) / len(zone["outline"]) for k in (0, 1))
    places = ([x, y], [x + 5.6, y + 4.2])
    return [
        programs.lead.post(path, json={"kind": "hole", "at": at, "outline": HOLE}).json()["id"]
        for at in places
    ]


def plan(programs: Programs, scene: Scene) -> Any:
    return programs.lead.get(scene.path("/zones/{clear}/together")).json()


def log(programs: Programs, group: Any) -> Any:
    cut = group["cut_size"]
    outline = {
        "shape": "rectangle",
        "length": f"{cut['length']['m']:.9f} m",
        "width": f"{cut['width']['m']:.9f} m",
        "angle_deg": group["angle_deg"],
        "offset": [f"{each['m']:.9f} m" for each in group["offset"]],
    }
    first, *also = group["marks"]
    body = {"outline": outline, "also": also, **MADE}
    return programs.lead.post(f"/api/v1/defects/{first}/patches", json=body).json()


def test_two_holes_are_told_one_patch_with_its_cut_and_what_it_saves(
    scene: Scene, programs: Programs, holes: list[str]
) -> None:
    """8.4 in apart: 8.4 + 14.5 = 22.9 by 14.5 in, 332.05 sq in where two of 14.5 in take 420.5."""
    told = plan(programs, scene)
    (group,) = told["groups"]
    assert group["marks"] == holes and told["exact"] and not group["seamed"]
    assert group["cut_size"]["length"]["m"] == pytest.approx(22.9 * INCH_M, abs=1e-6)
    assert group["cut_size"]["width"]["m"] == pytest.approx(14.5 * INCH_M, abs=1e-6)
    # atan(3/4): down and to the right is clockwise. Half of 8.4 in: 4.2 in along that.
    assert group["angle_deg"] == pytest.approx(36.8699, abs=1e-3)
    assert [each["m"] for each in group["offset"]] == pytest.approx([3.36 * INCH_M, 2.52 * INCH_M], abs=1e-6)
    assert told["film"]["m2"] == pytest.approx(332.05 * INCH_M**2, rel=1e-5)
    assert told["saved"]["film"]["m2"] == pytest.approx(88.45 * INCH_M**2, rel=1e-4)
    assert told["saved"]["tape_length"]["m"] == pytest.approx(41.2 * INCH_M, rel=1e-4)
    assert told["saved"]["patches"] == 1
    (row,) = told["cut_list"]
    assert row["length"]["m"] == pytest.approx(14.5 * INCH_M, abs=1e-6), "its length lies across the roll"
    assert told["off_the_roll"]["m"] == row["length"]["m"] and not told["roll_known"]


def test_the_offer_at_one_of_them_is_the_same_patch_beside_one_each(
    scene: Scene, programs: Programs, holes: list[str]
) -> None:
    near = programs.lead.get(f"/api/v1/defects/{holes[1]}/offers").json()["offer"]
    assert near is None, "7.9 in lie between them, and 6 in are asked"
    path = scene.path("/zones/{clear}/defects")
    at = programs.lead.get(f"/api/v1/defects/{holes[0]}").json()["at"]
    third = programs.lead.post(path, json={"kind": "hole", "at": [at[0] + 4, at[1]], "outline": HOLE}).json()
    offered = programs.lead.get(f"/api/v1/defects/{third['id']}/offers").json()["offer"]
    assert offered["group"]["marks"][0] == third["id"] and holes[0] in offered["group"]["marks"]
    assert offered["separate_film"]["m2"] == pytest.approx(
        len(offered["group"]["marks"]) * 14.5**2 * INCH_M**2
    )


@pytest.mark.parametrize("turned", [False, True])
def test_the_patch_logged_as_it_is_told_seals_both_on_a_turned_picture_too(
    scene: Scene, programs: Programs, desk: Desk, cast: Cast, holes: list[str], turned: bool
) -> None:
    if turned:
        quarter = Alignment((0, 0), (1_000_000, 0), (2_000_000, 0), (2_000_000, 1_000_000))
        sketch = scene.ids["sketch"]
        with desk.writing() as session:
            seen, site = sketch_to_change(session, cast.manager.id, sketch, "add a sketch")
            fact = SketchRevised(sketch, "1" * 64, None, 2000, 3000, 5, quarter)
            record(desk, session, site, cast.manager.id, seen.role, fact)
    (group,) = plan(programs, scene)["groups"]
    # A quarter turn clockwise more, as a line's direction: 36.87 + 90 - 180.
    assert group["angle_deg"] == pytest.approx(-53.1301 if turned else 36.8699, abs=1e-3)
    assert log(programs, group)["meets"]
    states = [programs.lead.get(f"/api/v1/defects/{hole}").json()["state"] for hole in holes]
    assert states == ["sealed", "sealed"]
