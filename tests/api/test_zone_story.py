"""A zone through the JSON contract: held, mended, released, fallen, pulled back, placed."""

from __future__ import annotations

import hashlib
from typing import Any

import httpx

from service.actions.frame.desk import Desk
from service.actions.frame.doing import record, sketch_to_change
from service.domain.nouns.site import Alignment
from service.history.facts.facts import SketchRevised
from tests.api.conftest import Programs
from tests.api.rows import TEAR
from tests.api.scene import WORK, Scene, png
from tests.api.shape import assert_refused
from tests.cast import Cast

HOLE = {"shape": "circle", "diameter": "1/2 in"}


def gate(client: httpx.Client, scene: Scene, zone: str) -> dict[str, Any]:
    found: dict[str, Any] = client.get(scene.path(f"/zones/{{{zone}}}/gate")).json()
    return found


def post(client: httpx.Client, path: str, **body: Any) -> httpx.Response:
    return client.post(path, json=body)


def test_a_held_zone_is_refused_with_every_blocker_and_its_subject(scene: Scene, programs: Programs) -> None:
    seen = gate(programs.manager, scene, "zone")
    assert seen["state"] == "held"
    path = scene.path("/zones/{zone}/release")
    answer = post(programs.manager, path, digest=seen["digest"], statement="I have seen it")
    error = assert_refused(answer, 409, "zone-held")
    assert error["blockers"] == seen["blockers"]
    assert [
        (b["code"], b["subject"]["kind"], b["subject"]["id"], b["subject"]["tag"]) for b in seen["blockers"]
    ] == [
        ("zone-hold", "hold", scene.ids["hold"], "B"),
        ("defect-open", "defect", scene.ids["defect"], "B-01"),
        ("defect-not-sealed", "defect", scene.ids["patched"], "B-02"),
    ]
    assert "short by 1/4 in" in seen["blockers"][2]["text"]


def test_facts_that_moved_are_told_before_what_holds_the_zone(scene: Scene, programs: Programs) -> None:
    path = scene.path("/zones/{zone}/release")
    assert_refused(post(programs.manager, path, digest="1:old", statement="Seen"), 409, "facts-moved")


def test_a_new_defect_takes_a_releases_force_away(scene: Scene, programs: Programs) -> None:
    path = scene.path("/zones/{clear}/release")
    made = post(programs.manager, path, digest=scene.clear_digest, statement="Seen")
    assert (made.status_code, made.json()["state"]) == (201, "ready to place")
    assert_refused(
        post(programs.manager, path, digest=scene.clear_digest, statement="Seen"), 409, "released-already"
    )
    post(programs.inspector, scene.path("/zones/{clear}/defects"), kind="hole", at=[1000, 300], outline=HOLE)
    fallen = gate(programs.manager, scene, "clear")
    assert (fallen["state"], fallen["release"]["fallen"]) == ("held", True)


def test_a_release_pulled_back_leaves_the_zone_clear(scene: Scene, programs: Programs) -> None:
    path = scene.path("/zones/{released}/pull-back")
    back = post(programs.manager, path, reason="Rain coming").json()
    assert (back["state"], back["pulled_back"]) == ("clear", "Rain coming")
    assert_refused(post(programs.manager, path, reason="Again"), 409, "not-released")


def test_a_held_zone_that_is_placed_is_placed_without_release_with_what_stood_against_it(
    scene: Scene, programs: Programs
) -> None:
    """0.9144 m to the yard, cubed: 60 cu yd is 45.873 m3."""
    placed = post(programs.manager, scene.path("/zones/{zone}/placed"), volume="60 cu yd").json()
    assert placed["state"] == "placed without release"
    assert placed["placed"]["without_release"] is True
    assert len(placed["placed"]["blockers"]) == 3
    assert round(placed["placed"]["volume"]["m3"], 3) == 45.873
    assert_refused(programs.manager.post(scene.path("/zones/{zone}/placed")), 409, "zone-placed")


def test_a_dirty_patch_is_kept_and_does_not_seal(scene: Scene, programs: Programs) -> None:
    path = scene.path("/defects/{defect}/patches")
    big = {"shape": "rectangle", "length": "18 in", "width": "16 in"}
    logged = post(programs.lead, path, outline=big, **{**WORK, "cleaned": False}).json()
    assert (logged["meets"], logged["defect_state"]) == (True, "not sealed")
    assert [reason["code"] for reason in logged["reasons"]] == ["not-cleaned"]
    mark = programs.lead.get(scene.path("/defects/{defect}")).json()
    assert (mark["state"], len(mark["patches"]), mark["overlap"]) == ("not sealed", 1, None)


def test_a_short_patch_says_by_how_much_and_another_over_it_counts_as_a_union(
    scene: Scene, programs: Programs
) -> None:
    path = scene.path("/defects/{defect}/patches")
    short = post(
        programs.lead, path, outline={"shape": "rectangle", "length": "15 in", "width": "14 in"}, **WORK
    )
    assert (short.json()["short_by"]["text"], short.json()["defect_state"]) == ("1/2 in", "not sealed")
    over = {"shape": "rectangle", "length": "16 in", "width": "14 in"}
    assert post(programs.lead, path, outline=over, **WORK).json()["defect_state"] == "sealed"


def test_what_to_cut_holds_the_placing_allowance_and_tape_goes_once_round_it(
    scene: Scene, programs: Programs
) -> None:
    """4 by 2 in and 6 in all round: 16 by 14 in at least; 1 in more a side to cut; 2 (18 + 16) is 68 in."""
    mark = post(programs.lead, scene.path("/zones/{zone}/defects"), kind="tear", at=[400, 400], outline=TEAR)
    needs = mark.json()["needs"]
    assert (needs["cut_size"]["length"]["text"], needs["cut_size"]["width"]["text"]) == ("18 in", "16 in")
    assert (needs["least_size"]["length"]["text"], needs["least_size"]["width"]["text"]) == ("16 in", "14 in")
    assert (needs["tape_length"]["text"], needs["overlap"]["text"]) == ("68 in", "6 in")
    assert needs["cut_size"]["angle_deg"] == 20


def test_a_mark_that_no_flat_patch_mends_is_told_so_and_stays_unsealed(
    scene: Scene, programs: Programs
) -> None:
    pipe = post(
        programs.lead,
        scene.path("/zones/{zone}/defects"),
        kind="unsealed penetration",
        at=[450, 450],
        outline=HOLE,
    ).json()
    told = "place the penetration on the sketch and log its seal"
    assert (pipe["needs"]["cut_size"], pipe["needs"]["other_repair"]) == (None, told)
    big = {"shape": "circle", "diameter": "24 in"}
    logged = post(programs.lead, f"/api/v1/defects/{pipe['id']}/patches", outline=big, **WORK).json()
    assert (logged["defect_state"], logged["reasons"][0]["code"]) == ("not sealed", "sealed-elsewhere")


def test_an_inspectors_mark_is_withdrawn_by_an_inspector_only(scene: Scene, programs: Programs) -> None:
    path = scene.path("/zones/{zone}/defects")
    mark = post(programs.inspector, path, kind="hole", at=[450, 450], outline=HOLE).json()
    withdraw = f"/api/v1/defects/{mark['id']}/withdraw"
    for other in (programs.lead, programs.manager):
        assert_refused(post(other, withdraw, reason="Not a hole"), 403)
    gone = post(programs.inspector, withdraw, reason="A shadow").json()
    assert (gone["state"], gone["withdrawn"]) == ("withdrawn", "A shadow")
    assert_refused(post(programs.inspector, withdraw, reason="A shadow"), 409, "withdrawn-already")


def test_a_sketch_without_a_scale_takes_neither_zones_nor_marks(programs: Programs, scene: Scene) -> None:
    sketch = programs.manager.post(
        scene.path("/projects/{project}/sketches"), files={"file": ("plan.png", png())}
    ).json()
    assert (sketch["width_px"], sketch["height_px"], sketch["px_per_m"]) == (400, 300, None)
    ring = [[10, 10], [90, 10], [90, 90]]
    path = f"/api/v1/sketches/{sketch['id']}"
    assert_refused(post(programs.manager, f"{path}/zones", letter="E", outline=ring), 409, "no-scale")
    scale = programs.manager.put(f"{path}/scale", json={"from": [0, 0], "to": [400, 0], "distance": "20 m"})
    assert scale.json()["px_per_m"] == 20
    zone = post(programs.manager, f"{path}/zones", letter="E", outline=ring).json()
    # Half of 80 by 80 px at 20 px to the metre is 8 square metres.
    assert round(zone["area"]["m2"], 6) == 8
    assert zone["state"] == "laying"


def test_places_and_scale_are_those_of_the_present_picture(
    scene: Scene, programs: Programs, desk: Desk, cast: Cast
) -> None:
    """A revised picture at twice the pixels: 10 px to the foot become 20, which is 65.617 to the metre."""
    sketch = scene.ids["sketch"]
    twice = Alignment((0, 0), (1_000_000, 0), (0, 0), (2_000_000, 0))
    with desk.writing() as session:
        seen, site = sketch_to_change(session, cast.manager.id, sketch, "add a sketch")
        fact = SketchRevised(sketch, "1" * 64, None, 6000, 4000, 6, twice)
        record(desk, session, site, cast.manager.id, seen.role, fact)
    found = programs.lead.get(scene.path("/sketches/{sketch}")).json()
    assert round(found["px_per_m"], 3) == 65.617
    assert found["scale"]["to"] == [2000, 0]
    zone = programs.lead.get(scene.path("/zones/{zone}")).json()
    assert zone["outline"][0] == [200, 200]
    # 80 by 60 ft is 4,800 sq ft, whatever the picture's size.
    assert zone["area"]["text"] == "4,800 sq ft"
    assert zone["defects"][0]["at"] == [600, 600]
    mark = post(programs.lead, scene.path("/zones/{zone}/defects"), kind="hole", at=[1001, 301], outline=HOLE)
    assert mark.json()["at"] == [1001, 301]
    assert_refused(
        post(programs.lead, scene.path("/zones/{zone}/defects"), kind="hole", at=[150, 150], outline=HOLE),
        422,
    )


def test_a_zones_page_of_facts_holds_its_marks_walls_and_holds(scene: Scene, programs: Programs) -> None:
    zone = programs.inspector.get(scene.path("/zones/{zone}")).json()
    assert [mark["tag"] for mark in zone["defects"]] == ["B-01", "B-02"]
    assert zone["defects"][1]["patches"][0]["sides"]["left"]["text"] == "5 3/4 in"
    assert zone["defects"][0]["photos"][0]["id"] == scene.ids["photo"]
    assert [wall["id"] for wall in zone["walls"]] == [scene.ids["wall"]]
    assert (zone["holds"][0]["cause"], zone["holds"][0]["by"]) == ("frost", "Lou Lead")


def test_a_photo_is_told_by_its_hash_and_may_be_kept(scene: Scene, programs: Programs) -> None:
    answer = programs.inspector.get(scene.path("/photos/{photo}"))
    assert answer.headers["content-type"] == "image/jpeg"
    assert answer.headers["etag"] == f'"{hashlib.sha256(answer.content).hexdigest()}"'
    assert "private" in answer.headers["cache-control"]


def test_somebody_invited_gets_a_link_and_somebody_known_joins_at_once(
    scene: Scene, programs: Programs
) -> None:
    path = scene.path("/projects/{project}/people")
    known = post(programs.manager, path, email="Otto.Outsider@example.com", role="inspector").json()
    assert (known["state"], known["link"], known["email"]) == ("joined", None, "otto.outsider@example.com")
    assert programs.outsider.get(scene.path("/projects/{project}")).json()["role"] == "inspector"
    new = post(programs.manager, path, email="new@example.com", role="crew lead").json()
    assert new["state"] == "invited"
    assert "/join/" in new["link"]
    assert_refused(post(programs.manager, path, email="otto.outsider@example.com", role="crew lead"), 409)


def test_the_readings_angle_may_stand_beside_them_or_among_them(scene: Scene, programs: Programs) -> None:
    read = {"left": "6 in", "right": "6 in", "near": "6 in", "far": "6 in"}
    path = scene.path("/defects/{defect}/patches")
    for sent in ({"sides": read, "angle_deg": 30}, {"sides": {**read, "angle_deg": 30}}):
        assert post(programs.lead, path, **sent, **WORK).status_code == 201
    zone = programs.lead.get(scene.path("/zones/{zone}")).json()
    mark = next(found for found in zone["defects"] if found["id"] == scene.ids["defect"])
    assert [patch["sides"]["angle_deg"] for patch in mark["patches"]] == [30, 30]


def test_a_zone_tells_by_count_what_is_installed_in_it_and_whether_that_is_asked_for(
    scene: Scene, programs: Programs
) -> None:
    """The scene's project asks for none of it; what stands is told all the same."""
    told = programs.lead.get(scene.path("/zones/{zone}")).json()
    for kind in ("penetrations", "seams", "terminations", "film", "hold_points"):
        assert told[kind]["asked_for"] is False
    assert told["hold_points"]["states"] == {"not signed": 8, "signed": 1}, (
        "the walk is signed by finishing it"
    )
    sheet = scene.path("/projects/{project}/rule-sheet")
    programs.manager.put(sheet, json={"gate_demands": ["seams", "hold points"]})
    told = programs.lead.get(scene.path("/zones/{zone}")).json()
    assert [kind for kind in ("penetrations", "seams", "terminations", "film", "hold_points")
            if told[kind]["asked_for"]] == ["seams", "hold_points"]  # fmt: skip
