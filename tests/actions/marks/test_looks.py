"""Second looks: another person's word on site, and how a refusal holds."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.doing import project_to_change, record
from service.actions.frame.reading import defect_view
from service.actions.marks import looks, patches, repairs
from service.domain.nouns.site import Defect, Zone
from service.domain.words.refusals import BadInput, Conflict, NotAllowed
from service.history.facts.facts import RuleSheetChanged
from tests.builders import SLIT, a_mark, a_patch, a_release, a_repair, a_walk, a_zone, blockers_of, state_of
from tests.cast import Cast


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    return a_zone(desk, cast)


def asks_for_looks(desk: Desk, cast: Cast) -> None:
    with desk.writing() as session:
        seen, site = project_to_change(session, cast.manager.id, cast.project_id, "change the rule sheet")
        changed = RuleSheetChanged(replace(seen.project.sheet, second_look=True), ("second_look",))
        record(desk, session, site, cast.manager.id, seen.role, changed)


def state(desk: Desk, cast: Cast, mark: Defect) -> tuple[str, tuple[str, ...]]:
    view, now = defect_view(desk, cast.lead.id, mark.id)
    return view.verdict(now).state, view.verdict(now).reasons


def test_nobody_looks_at_their_own_work(desk: Desk, cast: Cast, zone: Zone) -> None:
    mark = a_mark(desk, cast, zone)
    patch = a_patch(desk, cast, mark)
    lapped = a_mark(desk, cast, zone, (400, 300), "short lap", SLIT)
    repair = a_repair(desk, cast, lapped)
    with pytest.raises(NotAllowed, match="another person"):
        looks.look_at_patch(desk, cast.lead.id, patch.id, True)
    with pytest.raises(NotAllowed, match="another person"):
        looks.look_at_repair(desk, cast.lead.id, lapped.id, repair.id, True)
    assert looks.look_at_patch(desk, cast.manager.id, patch.id, True).looks[0].accepted
    assert looks.look_at_repair(desk, cast.inspector.id, lapped.id, repair.id, True).looks[0].accepted


def test_where_the_sheet_asks_for_it_a_sealed_mark_waits_for_one(desk: Desk, cast: Cast, zone: Zone) -> None:
    patch = a_patch(desk, cast, a_mark(desk, cast, zone))
    a_walk(desk, cast, zone)
    asks_for_looks(desk, cast)
    assert blockers_of(desk, cast, zone) == ["second-look"]
    looks.look_at_patch(desk, cast.manager.id, patch.id, True)
    assert state_of(desk, cast, zone) == "clear"


def test_a_refusal_says_why_and_holds_the_mark_asked_for_or_not(desk: Desk, cast: Cast, zone: Zone) -> None:
    mark = a_mark(desk, cast, zone)
    patch = a_patch(desk, cast, mark)
    with pytest.raises(BadInput) as refused:
        looks.look_at_patch(desk, cast.manager.id, patch.id, False, "  ")
    assert list(refused.value.fields) == ["note"]
    looks.look_at_patch(desk, cast.manager.id, patch.id, False, "Tape stands off")
    assert state(desk, cast, mark) == ("not sealed", ("look-refused",))
    looks.look_at_patch(desk, cast.manager.id, patch.id, True)
    assert state(desk, cast, mark) == ("sealed", ())


def test_an_inspectors_refusal_stands_until_an_inspector_accepts(desk: Desk, cast: Cast, zone: Zone) -> None:
    mark = a_mark(desk, cast, zone, (400, 300), "short lap", SLIT)
    repair = a_repair(desk, cast, mark)
    looks.look_at_repair(desk, cast.inspector.id, mark.id, repair.id, False, "Lap measured 5 in")
    looks.look_at_repair(desk, cast.manager.id, mark.id, repair.id, True, "Looks fine to me")
    assert state(desk, cast, mark) == ("not sealed", ("look-refused", "inspector-refused"))
    looks.look_at_repair(desk, cast.inspector.id, mark.id, repair.id, True)
    assert state(desk, cast, mark) == ("sealed", ())


def test_a_patch_an_inspector_refused_is_not_unsaid_by_taking_it_up_and_logging_it_again(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    mark = a_mark(desk, cast, zone)
    patch = a_patch(desk, cast, mark)
    looks.look_at_patch(desk, cast.inspector.id, patch.id, False, "Wet under it")
    anew = a_patch(desk, cast, mark)
    assert state(desk, cast, mark)[0] == "not sealed", "another over it does not unsay it"
    patches.withdraw_patch(desk, cast.lead.id, patch.id, "Taken up")
    assert state(desk, cast, mark) == ("not sealed", ("inspector-refused",))
    looks.look_at_patch(desk, cast.manager.id, anew.id, True)
    assert state(desk, cast, mark)[0] == "not sealed", "it takes an inspector"
    looks.look_at_patch(desk, cast.inspector.id, anew.id, True)
    assert state(desk, cast, mark) == ("sealed", ())


def test_a_patch_a_lead_refused_is_mended_by_taking_it_up_and_laying_another(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    mark = a_mark(desk, cast, zone)
    patch = a_patch(desk, cast, mark)
    looks.look_at_patch(desk, cast.manager.id, patch.id, False, "Wet under it")
    a_patch(desk, cast, mark)
    assert state(desk, cast, mark) == ("not sealed", ("look-refused",)), "another over it does not unsay it"
    patches.withdraw_patch(desk, cast.lead.id, patch.id, "Taken up")
    assert state(desk, cast, mark) == ("sealed", ())


def test_a_release_falls_when_a_patch_under_it_is_refused(desk: Desk, cast: Cast, zone: Zone) -> None:
    patch = a_patch(desk, cast, a_mark(desk, cast, zone))
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    looks.look_at_patch(desk, cast.inspector.id, patch.id, False, "Torn since")
    assert state_of(desk, cast, zone) == "held"
    looks.look_at_patch(desk, cast.inspector.id, patch.id, True, "Mended by hand")
    assert state_of(desk, cast, zone) == "clear", "what was released is not what stands now"


def test_what_was_withdrawn_is_looked_at_no_more(desk: Desk, cast: Cast, zone: Zone) -> None:
    mark = a_mark(desk, cast, zone)
    patch = a_patch(desk, cast, mark)
    patches.withdraw_patch(desk, cast.lead.id, patch.id, "Taken up")
    with pytest.raises(Conflict, match="Taken up"):
        looks.look_at_patch(desk, cast.manager.id, patch.id, True)
    lapped = a_mark(desk, cast, zone, (400, 300), "short lap", SLIT)
    repair = a_repair(desk, cast, lapped)
    repairs.withdraw_repair(desk, cast.lead.id, lapped.id, repair.id, "Undone")
    with pytest.raises(Conflict, match="Undone"):
        looks.look_at_repair(desk, cast.manager.id, lapped.id, repair.id, True)
