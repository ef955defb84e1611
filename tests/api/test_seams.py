"""Seams over JSON: drawn side by side, walked, and what a walk marks told with what mends it.

The zone is 80 by 60 ft at 10 px to the foot; a lap and a patch's overlap of 6 in are common practice (no
source), and one inch is 0.0254 m exactly (NIST SP 811).
"""

from __future__ import annotations

from typing import Any

from tests.api.conftest import Programs
from tests.api.scene import Scene
from tests.api.shape import assert_refused

MADE = {"taped": True, "bonded": True, "cleaned": True, "dry": True, "tape_width": "4 in"}
ACROSS = [[200, 150], [800, 150]]  # 60 ft, from west to east


def laps(*read: str, **more: Any) -> dict[str, Any]:
    """Readings where the sheet asks for them on 60 ft, 10 ft apart from 5 ft on."""
    return {
        "stations": [{"at": f"{5 + 10 * n} ft", "lap": lap} for n, lap in enumerate(read)],
        **MADE,
        **more,
    }


def draw(programs: Programs, scene: Scene, **more: Any) -> Any:
    return programs.lead.post(
        scene.path("/zones/{zone}/seams"), json={"kind": "side lap", "path": ACROSS, **more}
    )


def test_side_laps_lie_a_roll_less_its_lap_apart_and_say_where_to_measure(
    scene: Scene, programs: Programs
) -> None:
    copies = {"count": 2, "spacing": "14 ft 6 in", "side": "right"}
    first, second, third = draw(programs, scene, copies=copies).json()
    assert (first["path"], first["length"]) == (ACROSS, {"text": "60 ft", "m": 18.288})
    # Going east, right is south, and south is down: 14 1/2 ft is 145 px.
    assert [of["path"][0] for of in (second, third)] == [[200.0, 295.0], [200.0, 440.0]]
    assert (first["state"], [r["code"] for r in first["reasons"]]) == ("open", ["not-walked"])
    assert [at["text"] for at in first["suggested_stations"]] == [f"{5 + 10 * n} ft" for n in range(6)]


def test_a_short_lap_is_marked_with_the_cover_strip_that_gives_both_sheets_their_overlap(
    scene: Scene, programs: Programs
) -> None:
    seam = draw(programs, scene).json()[0]["id"]
    walk = laps("6 in", "5 15/16 in", "6 in", "6 in", "6 in", "6 in")
    told = programs.lead.post(f"/api/v1/seams/{seam}/walks", json=walk).json()
    (mark,) = told["marks"]
    assert (mark["kind"], mark["at"]) == (
        "short lap",
        [350.0, 150.0],
    )  # between the good readings, 5 and 25 ft
    # A closed run of 20 ft: 6 in beyond it on every side is 21 ft by 1 ft (0.3048 m a foot).
    strip = mark["needs"]["least_size"]
    assert (strip["length"]["m"], strip["width"]["m"]) == (6.4008, 0.3048)
    assert mark["needs"]["other_repair"]
    stands = programs.lead.get(f"/api/v1/seams/{seam}").json()["walk"]
    assert [of["short"] for of in stands["stations"]] == [False, True, False, False, False, False]
    assert [(run["from"]["text"], run["to"]["text"], run["mark"]) for run in stands["runs"]] == [
        ("5 ft", "25 ft", mark["id"])
    ]
    again = programs.lead.post(f"/api/v1/seams/{seam}/walks", json=walk).json()
    assert (again["marks"], [of["id"] for of in again["stood"]]) == ([], [mark["id"]])


def test_a_fishmouth_is_told_as_wide_as_it_gapes(scene: Scene, programs: Programs) -> None:
    seam = draw(programs, scene).json()[0]["id"]
    run = {"fault": "fishmouth", "from": "8 ft", "to": "8 ft 6 in", "opening": "1 in"}
    told = programs.lead.post(f"/api/v1/seams/{seam}/walks", json=laps(*["6 in"] * 6, runs=[run])).json()
    assert told["meets"], "the seam is whole but for its mark, which holds the zone"
    (mark,) = told["marks"]
    assert (mark["kind"], mark["state"]) == ("unbonded tape", "open")
    strip = mark["needs"]["least_size"]
    assert (strip["length"]["text"], strip["width"]["text"]) == ("18 in", "13 in")
    assert mark["tag"] in programs.lead.get(scene.path("/zones/{zone}/gate")).text


def test_a_lap_wider_than_the_roll_is_refused_and_nothing_is_marked(scene: Scene, programs: Programs) -> None:
    film = {"kind": "film", "name": "Submittal 12", "roll_width": "12 ft"}
    made = programs.manager.post(scene.path("/projects/{project}/materials"), json=film).json()
    lot = {"material": made["id"], "number": "W-1", "rolls": 1}
    assert programs.lead.post(scene.path("/zones/{zone}/film"), json=lot).status_code == 201
    seam = draw(programs, scene).json()[0]["id"]
    path = f"/api/v1/seams/{seam}/walks"
    refused = programs.lead.post(path, json=laps(*["6 in"] * 5, "12 ft 1/16 in"))
    assert_refused(refused, 422, "lap-wider-than-roll")
    assert set(refused.json()["error"]["fields"]) == {"stations.5.lap"}
    assert programs.lead.post(path, json=laps(*["6 in"] * 5, "12 ft")).status_code == 201


def test_a_reading_past_the_end_and_a_seam_outside_are_told_by_their_field(
    scene: Scene, programs: Programs
) -> None:
    seam = draw(programs, scene).json()[0]["id"]
    past = programs.lead.post(
        f"/api/v1/seams/{seam}/walks", json={**MADE, "stations": [{"at": "61 ft", "lap": "6 in"}]}
    )
    assert_refused(past, 422)
    assert set(past.json()["error"]["fields"]) == {"stations.0.at"}
    outside = programs.lead.post(
        scene.path("/zones/{zone}/seams"), json={"kind": "end lap", "path": [[2000, 1500], [2100, 1500]]}
    )
    assert_refused(outside, 422, "outside-zone")
    far = draw(programs, scene, copies={"count": 5, "spacing": "14 ft", "side": "right"})
    assert_refused(far, 422, "outside-zone")
    assert set(far.json()["error"]["fields"]) == {"copies.count"}
    assert [of["tag"] for of in programs.lead.get(scene.path("/zones/{zone}/seams")).json()["seams"]] == [
        "B-S01", "B-S02",
    ]  # fmt: skip


def test_a_seam_taken_back_stays_to_be_read_and_is_not_walked(scene: Scene, programs: Programs) -> None:
    seam = scene.path("/seams/{seam}")
    gone = programs.lead.post(f"{seam}/withdraw", json={"reason": "Drawn twice"}).json()
    assert (gone["state"], gone["withdrawn"], gone["reasons"]) == ("withdrawn", "Drawn twice", [])
    assert_refused(programs.lead.post(f"{seam}/walks", json=laps("6 in")), 409, "seam-withdrawn")
