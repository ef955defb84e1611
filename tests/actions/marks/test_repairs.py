"""Repairs that are no patch: judged by their own rule, kept as they are, taken back with a reason."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.doing import project_to_change, record
from service.actions.frame.reading import defect_view
from service.actions.marks import repairs
from service.actions.marks.defects import withdraw_defect
from service.actions.office.release import mark_placed
from service.domain.nouns.site import Defect, Zone
from service.domain.words.refusals import BadInput, Conflict, NotAllowed, NotFound
from service.history.facts.facts import RuleSheetChanged
from tests.builders import HOLE, LAPPED, SLIT, a_mark, a_repair, a_walk, a_zone, state_of
from tests.cast import Cast

CLEANED = {"method": "clean the film", "cleaned": True, "dry": True}
TAPED = {**LAPPED, "method": "tape the seam"}
REPLACED = {**LAPPED, "method": "replace the sheet"}


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    return a_zone(desk, cast)


def marked(desk: Desk, cast: Cast, zone: Zone, kind: str) -> Defect:
    return a_mark(desk, cast, zone, (300, 300), kind, SLIT)


def state(desk: Desk, cast: Cast, mark: Defect) -> tuple[str, tuple[str, ...]]:
    view, now = defect_view(desk, cast.lead.id, mark.id)
    verdict = view.verdict(now)
    return verdict.state, verdict.reasons


def counts_replacing(desk: Desk, cast: Cast) -> None:
    """The project's sheet counts a replaced sheet, as the older federal guide spec does (TRADE 2.4, S3)."""
    with desk.writing() as session:
        seen, site = project_to_change(session, cast.manager.id, cast.project_id, "change the rule sheet")
        sheet = replace(seen.project.sheet, repair_methods=("sheet patch", "replace the sheet"))
        changed = RuleSheetChanged(sheet, ("repair_methods",))
        record(desk, session, site, cast.manager.id, seen.role, changed)


# What E1643 section 8.1 calls insufficient installation, and what mends it (TRADE 2.1, 2.3: common practice).
@pytest.mark.parametrize(
    ("kind", "given"),
    [
        ("open seam", TAPED),
        ("unbonded tape", TAPED),
        ("short lap", LAPPED),
        ("displaced sheet", LAPPED),
        ("contamination", CLEANED),
    ],
)
def test_the_right_repair_well_made_seals_its_kind(
    desk: Desk, cast: Cast, zone: Zone, kind: str, given: Mapping[str, Any]
) -> None:
    mark = marked(desk, cast, zone, kind)
    a_walk(desk, cast, zone)
    assert state_of(desk, cast, zone) == "held"
    judged = repairs.log_repair(desk, cast.lead.id, mark.id, given)
    assert (judged.faults, judged.verdict.state) == ((), "sealed")
    assert state_of(desk, cast, zone) == "clear"


def test_a_lap_of_exactly_the_least_is_enough_and_a_sixteenth_less_is_not(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    """6 in: ASTM E1643 section 6 (TRADE 2.1, from memory), "not less than" (IRC R506.2.3, TRADE S25)."""
    mark = marked(desk, cast, zone, "short lap")
    short = repairs.log_repair(desk, cast.lead.id, mark.id, {**LAPPED, "lap": "5 15/16 in"})
    assert (short.faults, short.verdict.state) == (("lap-short",), "not sealed")
    assert repairs.log_repair(desk, cast.lead.id, mark.id, LAPPED).verdict.state == "sealed"


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        ({"cleaned": False}, "not-cleaned"),
        ({"dry": False}, "not-dry"),
        ({"taped": False}, "edges-not-taped"),
        ({"tape_width": "3 15/16 in"}, "tape-narrow"),
        ({"film_temperature": "39.99 F"}, "too-cold"),
    ],
)
def test_a_repair_badly_made_is_kept_and_does_not_mend(
    desk: Desk, cast: Cast, zone: Zone, change: dict[str, Any], fault: str
) -> None:
    mark = marked(desk, cast, zone, "open seam")
    judged = repairs.log_repair(desk, cast.lead.id, mark.id, {**TAPED, **change})
    assert fault in judged.faults and judged.verdict.state == "not sealed"
    (kept,) = defect_view(desk, cast.lead.id, mark.id)[1].repairs
    assert kept.id == judged.repair.id


@pytest.mark.parametrize("missing", ["method", "cleaned", "dry", "lap", "taped", "tape_width"])
def test_what_nobody_answered_is_never_recorded(desk: Desk, cast: Cast, zone: Zone, missing: str) -> None:
    mark = marked(desk, cast, zone, "short lap")
    given = {name: value for name, value in LAPPED.items() if name != missing}
    with pytest.raises(BadInput) as refused:
        repairs.log_repair(desk, cast.lead.id, mark.id, given)
    assert set(refused.value.fields) == {missing}
    assert defect_view(desk, cast.lead.id, mark.id)[1].repairs == ()


def test_every_question_left_open_is_named_at_once(desk: Desk, cast: Cast, zone: Zone) -> None:
    mark = marked(desk, cast, zone, "open seam")
    with pytest.raises(BadInput) as refused:
        repairs.log_repair(desk, cast.lead.id, mark.id, {"method": "tape the seam"})
    assert set(refused.value.fields) == {"cleaned", "dry", "taped", "lap"}


def test_cleaned_film_is_asked_for_no_lap_and_keeps_none(desk: Desk, cast: Cast, zone: Zone) -> None:
    mark = marked(desk, cast, zone, "contamination")
    given = {**CLEANED, "lap": "9 in", "taped": True, "tape_width": "4 in"}
    kept = repairs.log_repair(desk, cast.lead.id, mark.id, given).repair
    assert (kept.lap_nm, kept.taped, kept.work.tape_width_nm) == (None, False, 0)


def test_a_repair_of_another_kind_is_refused_naming_those_that_mend(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    mark = marked(desk, cast, zone, "short lap")
    for method in ("tape the seam", "clean the film", "sheet patch", "", None, 7):
        with pytest.raises(BadInput, match="lap again, replace the sheet") as refused:
            repairs.log_repair(desk, cast.lead.id, mark.id, {**LAPPED, "method": method})
        assert list(refused.value.fields) == ["method"]


@pytest.mark.parametrize("kind", ["unsealed penetration", "unsealed termination"])
def test_what_is_sealed_elsewhere_takes_no_repair_and_says_where(
    desk: Desk, cast: Cast, zone: Zone, kind: str
) -> None:
    mark = marked(desk, cast, zone, kind)
    with pytest.raises(BadInput, match="log its seal") as refused:
        repairs.log_repair(desk, cast.lead.id, mark.id, REPLACED)
    assert refused.value.code == "sealed-elsewhere"


def test_a_replaced_sheet_counts_only_where_the_sheet_of_numbers_says_so(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    hole = a_mark(desk, cast, zone, (300, 300), "hole", HOLE)
    a_repair(desk, cast, hole, REPLACED)
    assert state(desk, cast, hole) == ("not sealed", ("method-not-counted",))
    counts_replacing(desk, cast)
    assert state(desk, cast, hole) == ("sealed", ())


def test_a_temperature_without_a_unit_is_refused(desk: Desk, cast: Cast, zone: Zone) -> None:
    mark = marked(desk, cast, zone, "open seam")
    with pytest.raises(BadInput, match="F or C") as refused:
        repairs.log_repair(desk, cast.lead.id, mark.id, {**TAPED, "film_temperature": "55"})
    assert list(refused.value.fields) == ["film_temperature"]


def test_withdrawn_it_no_longer_counts_and_stays_on_record(desk: Desk, cast: Cast, zone: Zone) -> None:
    mark = marked(desk, cast, zone, "short lap")
    repair = a_repair(desk, cast, mark)
    gone = repairs.withdraw_repair(desk, cast.lead.id, mark.id, repair.id, "Came undone")
    assert gone.withdrawn == "Came undone" and state(desk, cast, mark) == ("open", ())
    with pytest.raises(Conflict):
        repairs.withdraw_repair(desk, cast.lead.id, mark.id, repair.id, "Again")


def test_only_its_maker_or_the_manager_withdraws_it_and_only_through_its_own_mark(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    mark, other = marked(desk, cast, zone, "short lap"), marked(desk, cast, zone, "short lap")
    repair = repairs.log_repair(desk, cast.manager.id, mark.id, LAPPED).repair
    for person in (cast.lead, cast.inspector):
        with pytest.raises(NotAllowed):
            repairs.withdraw_repair(desk, person.id, mark.id, repair.id, "Mine")
    for person in (cast.manager, cast.outsider):
        with pytest.raises(NotFound):
            repairs.withdraw_repair(desk, person.id, other.id, repair.id, "Through another mark")
    assert repairs.withdraw_repair(desk, cast.manager.id, mark.id, repair.id, "Undone").withdrawn


def test_an_inspector_logs_none_and_a_withdrawn_mark_takes_none(desk: Desk, cast: Cast, zone: Zone) -> None:
    mark = marked(desk, cast, zone, "short lap")
    with pytest.raises(NotAllowed):
        repairs.log_repair(desk, cast.inspector.id, mark.id, LAPPED)
    withdraw_defect(desk, cast.lead.id, mark.id, "A shadow")
    with pytest.raises(Conflict, match="A shadow"):
        repairs.log_repair(desk, cast.lead.id, mark.id, LAPPED)


def test_damage_seen_while_concrete_goes_in_is_still_mended_on_record(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    mark = marked(desk, cast, zone, "short lap")
    mark_placed(desk, cast.manager.id, zone.id)
    assert repairs.log_repair(desk, cast.lead.id, mark.id, LAPPED).verdict.state == "sealed"
