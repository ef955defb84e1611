"""Sign-ins that end: how long they last by role, what ends them, and the list of one's own."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlmodel import select

from service.actions.entrance import accounts
from service.actions.entrance.accounts import PROGRAM
from service.actions.frame.desk import Desk
from service.actions.people import crew_codes, people, sign_ins
from service.domain.nouns.roles import CREW_LEAD, PROJECT_MANAGER
from service.domain.words.refusals import NotAllowed, NotFound
from service.storage.doors.database import WriterBusy
from service.storage.tables.tables import SignInRow
from tests.cast import Cast, Clock, start

HOUR = timedelta(hours=1)


def used_for(desk: Desk, clock: Clock, token: str, hours: float) -> bool:
    """Whether the token still opens, used every half hour until then."""
    end = clock.now + hours * HOUR
    while clock.now < end:
        clock.now = min(end, clock.now + HOUR / 2)
        if accounts.person_for(desk, token) is None:
            return False
    return True


@pytest.mark.parametrize("role", ["manager", "inspector"])
def test_office_and_inspector_are_signed_out_after_an_hour_without_use(
    desk: Desk, cast: Cast, clock: Clock, role: str
) -> None:
    """NIST SP 800-63B-4 section 2.2.3: at most an hour of inactivity."""
    token, _ = accounts.open_sign_in(desk, getattr(cast, role).id)
    clock.go_on(minutes=59)
    assert accounts.person_for(desk, token) is not None
    clock.go_on(minutes=60)
    assert accounts.person_for(desk, token) is None


def test_office_is_signed_out_after_24_hours_however_much_is_done(
    desk: Desk, cast: Cast, clock: Clock
) -> None:
    """NIST SP 800-63B-4 section 2.2.3: at most 24 hours overall."""
    token, _ = accounts.open_sign_in(desk, cast.manager.id)
    assert used_for(desk, clock, token, 23.5)
    assert not used_for(desk, clock, token, 0.5)


def test_a_crew_lead_stays_signed_in_for_thirty_days_without_use(
    desk: Desk, cast: Cast, clock: Clock
) -> None:
    """NIST SP 800-63B-4 section 2.1.3: at most 30 days overall."""
    token, _ = accounts.open_sign_in(desk, cast.lead.id)
    clock.go_on(days=29, hours=23)
    assert accounts.person_for(desk, token) == cast.lead
    clock.go_on(hours=1)
    assert accounts.person_for(desk, token) is None


def test_the_strictest_role_anywhere_decides_and_from_the_moment_it_is_given(
    desk: Desk, cast: Cast, clock: Clock
) -> None:
    token, _ = accounts.open_sign_in(desk, cast.lead.id)
    clock.go_on(hours=25)
    assert accounts.person_for(desk, token) == cast.lead
    start(desk, "Elsewhere", {cast.lead: PROJECT_MANAGER})
    assert accounts.person_for(desk, token) is None


def test_a_crews_code_lasts_as_a_crews_whatever_its_person_is_elsewhere(
    desk: Desk, cast: Cast, clock: Clock
) -> None:
    start(desk, "Elsewhere", {cast.lead: PROJECT_MANAGER})
    made = crew_codes.make_code(desk, cast.manager.id, cast.project_id, cast.lead.id)
    token, _, _ = crew_codes.use_code(desk, made.token, "10.0.0.1")
    clock.go_on(days=29)
    assert accounts.person_for(desk.fresh(), token) == cast.lead


def test_a_programs_token_ends_as_a_page_does(desk: Desk, cast: Cast, clock: Clock) -> None:
    token, ends_at = accounts.open_sign_in(desk, cast.manager.id, PROGRAM)
    assert ends_at - clock.now == timedelta(hours=24)
    clock.go_on(hours=1)
    assert accounts.person_for(desk, token, PROGRAM) is None


def test_the_last_use_is_written_at_most_once_a_minute(
    desk: Desk, cast: Cast, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    token, _ = accounts.open_sign_in(desk, cast.manager.id)
    written = []
    writing = desk.writing
    monkeypatch.setattr(desk, "writing", lambda: written.append(clock.now) or writing())  # type: ignore[func-returns-value]
    for _ in range(12):
        clock.go_on(seconds=15)
        accounts.person_for(desk, token)
    assert len(written) == 3


def test_looking_goes_on_where_the_last_use_cannot_be_written(
    desk: Desk, cast: Cast, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    token, _ = accounts.open_sign_in(desk, cast.manager.id)
    clock.go_on(minutes=5)

    def busy() -> None:
        raise WriterBusy("another write did not end in time")

    monkeypatch.setattr(desk, "writing", busy)
    assert accounts.person_for(desk, token) == cast.manager


def test_being_taken_off_a_project_ends_every_sign_in(desk: Desk, cast: Cast) -> None:
    """ASVS 5.0.0, 7.4.2."""
    page, _ = accounts.open_sign_in(desk, cast.lead.id)
    program, _ = accounts.open_sign_in(desk, cast.lead.id, PROGRAM)
    people.take_off(desk, cast.manager.id, cast.project_id, cast.lead.id)
    assert accounts.person_for(desk, page) is None
    assert accounts.person_for(desk, program, PROGRAM) is None


# --- the list of one's own -------------------------------------------------------------------------------


def test_my_sign_ins_are_listed_with_what_they_were_opened_on(desk: Desk, cast: Cast, clock: Clock) -> None:
    accounts.open_sign_in(desk, cast.lead.id, PROGRAM)
    clock.go_on(minutes=1)
    here, _ = accounts.open_sign_in(desk, cast.lead.id, device="phone")
    accounts.open_sign_in(desk, cast.manager.id)
    found = sign_ins.my_sign_ins(desk, cast.lead.id, here)
    assert [(one.kind, one.device, one.here) for one in found] == [
        ("page", "phone", True), ("api", "", False),
    ]  # fmt: skip


def test_one_that_ended_by_itself_is_not_listed(desk: Desk, cast: Cast, clock: Clock) -> None:
    accounts.open_sign_in(desk, cast.manager.id)
    clock.go_on(hours=2)
    here, _ = accounts.open_sign_in(desk, cast.manager.id)
    assert [one.here for one in sign_ins.my_sign_ins(desk, cast.manager.id, here)] == [True]


def test_one_is_ended_by_its_own_person_alone(desk: Desk, cast: Cast) -> None:
    token, _ = accounts.open_sign_in(desk, cast.lead.id)
    (one,) = sign_ins.my_sign_ins(desk, cast.lead.id, token)
    for other in (cast.manager, cast.outsider):
        with pytest.raises(NotFound):
            sign_ins.end_one(desk, other.id, one.id)
    assert accounts.person_for(desk, token) == cast.lead
    sign_ins.end_one(desk, cast.lead.id, one.id)
    assert accounts.person_for(desk, token) is None


def test_all_but_this_one_end_at_once(desk: Desk, cast: Cast) -> None:
    here, other = (accounts.open_sign_in(desk, cast.lead.id)[0] for _ in range(2))
    sign_ins.end_others(desk, cast.lead.id, here)
    assert accounts.person_for(desk, other) is None
    assert accounts.person_for(desk, here) == cast.lead


def test_a_crew_by_code_sees_nobodys_sign_ins(desk: Desk, cast: Cast) -> None:
    made = crew_codes.make_code(desk, cast.manager.id, cast.project_id, cast.lead.id)
    token, _, _ = crew_codes.use_code(desk, made.token, "10.0.0.1")
    assert accounts.person_for(desk, token) == cast.lead
    with pytest.raises(NotAllowed):
        sign_ins.my_sign_ins(desk, cast.lead.id, token)


def test_what_a_sign_in_is_called_tells_nothing_of_its_token(desk: Desk, cast: Cast) -> None:
    token, _ = accounts.open_sign_in(desk, cast.lead.id)
    (one,) = sign_ins.my_sign_ins(desk, cast.lead.id, token)
    with desk.reading() as session:
        kept = session.exec(select(SignInRow.token_sha256)).one()
    assert one.id not in token
    assert len(one.id) * 4 <= len(kept) * 2, "half of the hash at the most"


def test_roles_are_read_from_every_project(desk: Desk, cast: Cast) -> None:
    start(desk, "Elsewhere", {cast.other_manager: PROJECT_MANAGER, cast.lead: CREW_LEAD})
    _, ends_at = accounts.open_sign_in(desk, cast.lead.id)
    assert ends_at - desk.clock() == timedelta(days=30)
