"""Repairs, second looks, causes and hold points as a program meets them, read as JSON."""

from __future__ import annotations

from typing import Any

import pytest

from service.domain.nouns.rules import STEPS
from tests.api.conftest import Programs
from tests.api.scene import WORK, Scene
from tests.api.shape import assert_refused
from tests.builders import LAPPED

SLIT = {"shape": "slit", "length": "30 in", "opening": "1/4 in"}


def marked(scene: Scene, programs: Programs, kind: str, **more: Any) -> dict[str, Any]:
    body = {"kind": kind, "at": [400, 500], "outline": SLIT, **more}
    made: dict[str, Any] = programs.lead.post(scene.path("/zones/{zone}/defects"), json=body).json()
    return made


@pytest.mark.parametrize("kind", ["open seam", "short lap", "unbonded tape", "contamination"])
def test_a_seam_at_fault_needs_a_cover_strip_or_another_repair(
    scene: Scene, programs: Programs, kind: str
) -> None:
    """TRADE 2.5 (arithmetic): a 30 in slit open 1/4 in, 6 in on every side: 42 by 12.25 in. Cut 1 in larger
    on every side to place it."""
    needs = marked(scene, programs, kind)["needs"]
    assert (needs["least_size"]["length"]["text"], needs["least_size"]["width"]["text"]) == (
        "42 in",
        "12 1/4 in",
    )
    assert (needs["cut_size"]["length"]["m"], needs["cut_size"]["width"]["m"]) == (
        44 * 0.0254,
        14.25 * 0.0254,
    )
    assert needs["other_repair"]


@pytest.mark.parametrize("kind", ["unsealed penetration", "unsealed termination", "displaced sheet"])
def test_what_no_film_over_it_mends_needs_no_piece(scene: Scene, programs: Programs, kind: str) -> None:
    needs = marked(scene, programs, kind)["needs"]
    assert (needs["cut_size"], needs["tape_length"]) == (None, None) and needs["other_repair"]


def test_a_repair_is_told_by_itself_and_by_what_it_does_to_its_mark(scene: Scene, programs: Programs) -> None:
    mark = marked(scene, programs, "short lap")
    path = f"/api/v1/defects/{mark['id']}"
    short = programs.lead.post(f"{path}/repairs", json={**LAPPED, "lap": "5 15/16 in"}).json()
    assert (short["meets"], short["defect_state"]) == (False, "not sealed")
    assert short["repair_reasons"] == [{"code": "lap-short", "text": "the lap measured after it is short"}]
    good = programs.lead.post(f"{path}/repairs", json={**LAPPED, "film_temperature": "40 F"}).json()
    assert (good["meets"], good["repair_reasons"], good["defect_state"]) == (True, [], "sealed")
    told = programs.inspector.get(path).json()
    assert [repair["lap"]["text"] for repair in told["repairs"]] == ["5 15/16 in", "6 in"]
    assert told["repairs"][1]["film_temperature"] == "40 °F" and told["repairs"][1]["reasons"] == []
    gone = programs.lead.post(f"{path}/repairs/{good['id']}/withdraw", json={"reason": "Undone"}).json()
    assert (gone["tag"], gone["state"], gone["withdrawn"]) == (mark["tag"], "not sealed", "Undone")


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"method": "tape the seam"}, "method"),
        ({"lap": "6"}, "lap"),
        ({"lap": None}, "lap"),
        ({"taped": None}, "taped"),
        ({"tape_width": None}, "tape_width"),
        ({"film_temperature": "55"}, "film_temperature"),
        ({"cleaned": "yes"}, "cleaned"),
        ({"meets": True}, "meets"),
    ],
)
def test_a_repair_that_cannot_be_read_is_422_and_names_the_field(
    scene: Scene, programs: Programs, change: dict[str, Any], field: str
) -> None:
    answer = programs.lead.post(scene.path("/defects/{mended}/repairs"), json={**LAPPED, **change})
    assert_refused(answer, 422, None, field)


def test_a_repair_is_reached_through_its_own_mark_only(scene: Scene, programs: Programs) -> None:
    for end, body in (("withdraw", {"reason": "Undone"}), ("looks", {"accepted": True})):
        wrong = scene.path("/defects/{defect}/repairs/{repair}/") + end
        assert_refused(programs.manager.post(wrong, json=body), 404)


def test_the_maker_is_refused_a_second_look_and_a_refusal_without_a_note_too(
    scene: Scene, programs: Programs
) -> None:
    path = scene.path("/defects/{mended}/repairs/{repair}/looks")
    assert_refused(programs.lead.post(path, json={"accepted": True}), 403)
    assert_refused(programs.inspector.post(path, json={"accepted": False}), 422, None, "note")
    told = programs.inspector.post(path, json={"accepted": False, "note": "Stands off"}).json()
    codes = [reason["code"] for reason in told["reasons"]]
    assert (told["state"], codes) == ("not sealed", ["look-refused", "inspector-refused"])
    (look,) = told["repairs"][0]["looks"]
    assert (look["accepted"], look["note"], look["role"]) == (False, "Stands off", "inspector")
    patched = programs.manager.post(scene.path("/patches/{patch}/looks"), json={"accepted": True}).json()
    assert [look["accepted"] for look in patched["patches"][0]["looks"]] == [True]


def test_a_patch_larger_than_its_zone_and_a_sheet_logged_as_a_patch_are_refused(
    scene: Scene, programs: Programs
) -> None:
    path = scene.path("/defects/{defect}/patches")
    huge = {"outline": {"shape": "rectangle", "length": "110 ft", "width": "2 ft"}, **WORK}
    assert_refused(programs.lead.post(path, json=huge), 422, "larger-than-zone", "outline")
    sides = {"left": "6 in", "right": "6 in", "near": "6 in", "far": "6 in"}
    sheet = {"sides": sides, **WORK, "method": "replace the sheet"}
    assert_refused(programs.lead.post(path, json=sheet), 422, None, "method")
    cold = {"sides": sides, **WORK, "film_temperature": "55"}
    assert_refused(programs.lead.post(path, json=cold), 422, None, "film_temperature")


def test_a_mark_says_what_it_came_from_and_the_project_counts_it(scene: Scene, programs: Programs) -> None:
    mark = marked(scene, programs, "tear", cause="steel")
    assert mark["cause"] == "steel"
    answer = programs.lead.post(
        scene.path("/zones/{zone}/defects"),
        json={"kind": "tear", "at": [400, 500], "outline": SLIT, "cause": "gremlins"},
    )
    assert_refused(answer, 422, None, "cause")
    told = programs.inspector.post(scene.path("/defects/{defect}/cause"), json={"cause": "steel"}).json()
    assert told["cause"] == "steel"
    counted = programs.manager.get(scene.path("/projects/{project}/causes")).json()
    assert counted["causes"] == [{"cause": "steel", "marks": 2}, {"cause": "", "marks": 2}]
    assert counted["by_zone_and_week"][0] == {"cause": "steel", "zone": "B", "week": "2026-11-23", "marks": 2}


def test_hold_points_are_signed_in_their_order(scene: Scene, programs: Programs) -> None:
    path = scene.path("/zones/{zone}/hold-points")
    first = programs.inspector.get(path).json()
    assert [step["step"] for step in first["steps"]] == list(STEPS)
    assert (first["asked_for"], first["next"]) == (False, STEPS[0])
    early = programs.lead.post(path, json={"step": STEPS[2], "accepted": True})
    assert STEPS[0] in assert_refused(early, 409, "hold-point-order")["message"]
    assert_refused(programs.lead.post(path, json={"step": "coffee", "accepted": True}), 422, None, "step")
    assert_refused(programs.lead.post(path, json={"step": STEPS[0], "accepted": False}), 422, None, "note")
    for step in STEPS[:7]:
        told = programs.lead.post(path, json={"step": step, "accepted": True, "note": "Seen"}).json()
    assert told["steps"][6]["signatures"][0]["role"] == "crew lead"
    # The scene's zone was walked already: the walk step is signed by that, and the second look comes next.
    assert told["next"] == STEPS[8] and told["steps"][7]["state"] == "signed"
    assert_refused(
        programs.lead.post(path, json={"step": STEPS[7], "accepted": True}), 409, "sign-by-walking"
    )
    assert_refused(programs.lead.post(path, json={"step": STEPS[8], "accepted": True}), 409, "own-work")
    done = programs.inspector.post(path, json={"step": STEPS[8], "accepted": True}).json()
    assert done["next"] is None and {step["state"] for step in done["steps"]} == {"signed"}
