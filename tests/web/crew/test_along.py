"""What a phone takes along of a zone: every address opens, the numbers are the gate's, it tells its age."""

from __future__ import annotations

import json
from typing import Any

import httpx
import pytest

from service.actions.frame.reading import zone_view
from service.actions.marks import defects, patches
from service.domain.patches.repair import NOT_SEALED, OPEN
from service.domain.sketch.places import from_base
from service.history.facts.entries import FromPhone
from tests import builders
from tests.whole.asking import CREW_LEAD, INSPECTOR, PROJECT_MANAGER, actor_of
from tests.whole.conftest import set_stage, stage
from tests.whole.stage import Stage

__all__ = ["set_stage", "stage"]


def client(stage: Stage, role: str = CREW_LEAD) -> httpx.Client:
    return stage.client(actor_of(stage, role), program=False)


def along(stage: Stage, zone: str = "zone_id", role: str = CREW_LEAD) -> dict[str, Any]:
    with client(stage, role) as browser:
        answer = browser.get(f"/zones/{stage.ids[zone]}/along.json")
    assert answer.status_code == 200
    told: dict[str, Any] = answer.json()
    return told


@pytest.mark.parametrize("role", [CREW_LEAD, PROJECT_MANAGER, INSPECTOR])
@pytest.mark.parametrize("zone", ["zone_id", "clear_id", "released_id"])
def test_every_page_and_tile_that_it_names_opens_for_whoever_asked(
    stage: Stage, zone: str, role: str
) -> None:
    pack = along(stage, zone, role)
    assert len(set(pack["pages"])) == len(pack["pages"])
    with client(stage, role) as browser:
        answers = {path: browser.get(path).status_code for path in [*pack["pages"], *pack["tiles"]]}
    assert {path: status for path, status in answers.items() if status != 200} == {}


def test_marks_state_and_numbers_are_those_of_the_gate(stage: Stage) -> None:
    pack = along(stage)
    view = zone_view(stage.desk.fresh(), stage.cast.lead.id, stage.ids["zone_id"])
    standing = [mark for mark in view.defects() if mark.withdrawn is None]
    told = {mark["id"]: mark for mark in pack["marks"]}
    assert told.keys() == {mark.id for mark in standing}
    for mark in standing:
        row, verdict = told[mark.id], view.verdict(mark)
        assert (row["tag"], row["state"], row["at"]) == (mark.tag, verdict.state, list(mark.at))
        assert row["shown"] == pytest.approx(from_base(view.seen.sketch, mark.at), abs=0.001)
        assert len(row["patches"]) == len([p for p in view.patches_on(mark.id) if p.withdrawn is None])
    sheet = view.seen.project.sheet
    assert pack["rules"]["patch_overlap_nm"] == sheet.patch_overlap.nm
    assert pack["rules"]["tape_width_nm"] == sheet.tape_width.nm
    assert (pack["known"], pack["person"]) == (view.seen.head, stage.cast.lead.id)
    assert {pipe["id"] for pipe in pack["penetrations"]} == {stage.ids["penetration_id"]}
    assert {seam["id"] for seam in pack["seams"]} == {stage.ids["seam_id"]}
    assert len(pack["walls"]) == 1


def test_a_patch_that_is_late_says_so_to_the_phones_judge(stage: Stage) -> None:
    late = stage.desk.fresh(FromPhone(0))
    patches.log_patch(late, stage.cast.lead.id, stage.ids["seen_id"], builders.sides())
    row = next(mark for mark in along(stage)["marks"] if mark["id"] == stage.ids["seen_id"])
    assert [patch["faults"] for patch in row["patches"]] == [["late"]]


def test_the_walk_order_names_every_open_mark_once(stage: Stage) -> None:
    pack = along(stage)
    unsettled = [mark["id"] for mark in pack["marks"] if mark["state"] in (OPEN, NOT_SEALED)]
    assert sorted(pack["walk_order"]) == sorted(unsettled)


def test_it_is_sent_again_only_when_something_moved(stage: Stage) -> None:
    address = f"/zones/{stage.ids['zone_id']}/along.json"
    with client(stage) as browser:
        etag = browser.get(address).headers["etag"]
        same = browser.get(address, headers={"If-None-Match": etag})
        spanish = browser.get(address, headers={"If-None-Match": etag, "Accept-Language": "es"})
        builders.a_mark(stage.desk.fresh(), stage.cast, _zone(stage), (220, 320))
        moved = browser.get(address, headers={"If-None-Match": etag})
    with client(stage, PROJECT_MANAGER) as other:
        others = other.get(address, headers={"If-None-Match": etag})
    assert (same.status_code, same.content) == (304, b"")
    assert [answer.status_code for answer in (spanish, moved, others)] == [200, 200, 200]


def _zone(stage: Stage) -> Any:
    return zone_view(stage.desk.fresh(), stage.cast.lead.id, stage.ids["zone_id"]).zone


def test_five_hundred_marks_fit(stage: Stage) -> None:
    """Bounded: under 1 MB before it is packed, and every tile once."""
    desk, by = stage.desk.fresh(), stage.cast.lead.id
    hole = defects.read_mark("hole", (0, 0), builders.HOLE)
    with desk.writing():
        for n in range(496):
            at = (510 + n % 32 * 12, 110 + n // 32 * 17)
            entry = defects.MarkEntry(hole.kind, at, hole.outline)
            defects.mark_defect(desk, by, stage.ids["clear_id"], entry)
    pack = along(stage, "clear_id")
    assert len(pack["marks"]) == 496 == len(set(pack["walk_order"]))
    assert len(json.dumps(pack)) < 1_000_000
    assert len(pack["tiles"]) <= 401
