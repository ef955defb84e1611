"""Who is on a project: inviting, joining, changing a role, taking off."""

from __future__ import annotations

import threading

import pytest

from service.actions.entrance import accounts
from service.actions.frame.desk import Desk
from service.actions.office.projects import my_projects
from service.actions.people import people
from service.actions.people.people import Invited
from service.domain.nouns.roles import CREW_LEAD, INSPECTOR, PROJECT_MANAGER
from service.domain.words.refusals import BadInput, Conflict, NotAllowed, NotFound, Refusal
from service.storage.history import books, slices
from tests.cast import Cast, Clock, enter

NEW = "new@example.com"
GOOD = "four plain grey doors"


def roles_on(desk: Desk, cast: Cast) -> dict[str, str]:
    return {
        person.id: role for person, role in people.people_of(desk, cast.manager.id, cast.project_id).members
    }


def types_of(desk: Desk, project_id: str) -> list[str]:
    with desk.reading() as session:
        return [entry.type for entry in books.entries(session, project_id)]


def link(desk: Desk, cast: Cast, role: str = CREW_LEAD, email: str = NEW) -> str:
    invited = people.invite(desk, cast.manager.id, cast.project_id, email, role)
    assert invited.token is not None
    return invited.token


def test_somebody_with_an_account_joins_at_once(desk: Desk, cast: Cast) -> None:
    invited = people.invite(desk, cast.manager.id, cast.project_id, cast.outsider.email.upper(), INSPECTOR)
    assert invited == Invited(cast.outsider.id, cast.outsider.email, INSPECTOR, cast.outsider, None)
    assert roles_on(desk, cast)[cast.outsider.id] == INSPECTOR
    assert types_of(desk, cast.project_id)[-1] == "person-joined"


def test_somebody_new_joins_by_a_link_in_the_role_they_were_invited_in(desk: Desk, cast: Cast) -> None:
    token = link(desk, cast, INSPECTOR)
    view = people.invitation_shown(desk, token)
    assert (view.project_name, view.invitation.role, view.has_account) == (
        "North warehouse slab", INSPECTOR, False,
    )  # fmt: skip
    person, project_id = people.join_anew(desk, token, "New Person", GOOD)
    assert (person.email, project_id) == (NEW, cast.project_id)
    assert roles_on(desk, cast)[person.id] == INSPECTOR
    assert types_of(desk, cast.project_id)[-2:] == ["person-invited", "person-joined"]
    accounts.sign_in(desk, NEW, GOOD, "10.0.0.1")


def test_a_link_works_once(desk: Desk, cast: Cast) -> None:
    token = link(desk, cast)
    people.join_anew(desk, token, "New Person", GOOD)
    with pytest.raises(NotFound):
        people.join_anew(desk, token, "Another", GOOD)
    with pytest.raises(NotFound):
        people.invitation_shown(desk, token)


def test_a_link_used_by_many_at_once_lets_one_in(desk: Desk, cast: Cast) -> None:
    token, together, came = link(desk, cast), threading.Barrier(8), []

    def use() -> None:
        together.wait()
        try:
            came.append(people.join_anew(desk.fresh(), token, "New Person", GOOD))
        except Refusal:
            return

    threads = [threading.Thread(target=use) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(came) == 1
    assert len(roles_on(desk, cast)) == 4


def test_a_link_ends_after_seven_days(desk: Desk, cast: Cast, clock: Clock) -> None:
    token = link(desk, cast)
    clock.go_on(days=7, seconds=-1)
    people.invitation_shown(desk, token)
    clock.go_on(seconds=1)
    with pytest.raises(NotFound):
        people.join_anew(desk, token, "New Person", GOOD)


def test_a_new_link_to_the_same_address_takes_the_place_of_the_old_one(desk: Desk, cast: Cast) -> None:
    old, new = link(desk, cast), link(desk, cast, INSPECTOR)
    with pytest.raises(NotFound):
        people.invitation_shown(desk, old)
    people.invitation_shown(desk, new)
    assert len(people.people_of(desk, cast.manager.id, cast.project_id).open) == 1


def test_who_has_an_account_by_now_joins_with_it(desk: Desk, cast: Cast) -> None:
    token = link(desk, cast)
    person = accounts.make_person(desk, NEW, "New Person", GOOD)
    assert people.invitation_shown(desk, token).has_account
    with pytest.raises(Conflict):
        people.join_anew(desk, token, "New Person", GOOD)
    people.join(desk, token, person)
    assert roles_on(desk, cast)[person.id] == CREW_LEAD


def test_a_link_made_for_another_address_is_refused_and_not_used_up(desk: Desk, cast: Cast) -> None:
    token = link(desk, cast)
    with pytest.raises(Conflict):
        people.join(desk, token, cast.outsider)
    people.invitation_shown(desk, token)


def test_name_and_password_are_both_told_when_both_are_wrong(desk: Desk, cast: Cast) -> None:
    with pytest.raises(BadInput) as refusal:
        people.join_anew(desk, link(desk, cast), " ", "short")
    assert set(refusal.value.fields) == {"name", "password"}


def test_nobody_is_invited_twice_onto_one_project(desk: Desk, cast: Cast) -> None:
    with pytest.raises(Conflict):
        people.invite(desk, cast.manager.id, cast.project_id, cast.lead.email, INSPECTOR)


@pytest.mark.parametrize("role", ["", "boss", "gone", "Crew Lead"])
def test_there_are_three_roles_and_no_other(desk: Desk, cast: Cast, role: str) -> None:
    with pytest.raises(BadInput):
        people.invite(desk, cast.manager.id, cast.project_id, NEW, role)
    with pytest.raises(BadInput):
        people.change_role(desk, cast.manager.id, cast.project_id, cast.lead.id, role)


def test_a_crew_lead_and_an_inspector_cannot_bring_or_take_people(desk: Desk, cast: Cast) -> None:
    before = types_of(desk, cast.project_id)
    for person in (cast.lead, cast.inspector):
        with pytest.raises(NotAllowed):
            people.invite(desk, person.id, cast.project_id, NEW, CREW_LEAD)
        with pytest.raises(NotAllowed):
            people.change_role(desk, person.id, cast.project_id, person.id, PROJECT_MANAGER)
        with pytest.raises(NotAllowed):
            people.take_off(desk, person.id, cast.project_id, cast.manager.id)
    assert types_of(desk, cast.project_id) == before


def test_for_people_of_other_projects_the_project_is_not_there(desk: Desk, cast: Cast) -> None:
    for person in (cast.outsider, cast.other_manager):
        for ask in (
            lambda who: people.invite(desk, who, cast.project_id, NEW, CREW_LEAD),
            lambda who: people.people_of(desk, who, cast.project_id),
            lambda who: people.take_off(desk, who, cast.project_id, cast.lead.id),
        ):
            with pytest.raises(NotFound):
                ask(person.id)


def test_somebody_taken_off_no_longer_sees_the_project(desk: Desk, cast: Cast) -> None:
    people.take_off(desk, cast.manager.id, cast.project_id, cast.lead.id)
    assert my_projects(desk, cast.lead.id) == []
    assert cast.lead.id not in roles_on(desk, cast)
    with pytest.raises(NotFound):
        people.take_off(desk, cast.manager.id, cast.project_id, cast.lead.id)


def test_somebody_taken_off_can_be_invited_again(desk: Desk, cast: Cast) -> None:
    people.take_off(desk, cast.manager.id, cast.project_id, cast.lead.id)
    people.invite(desk, cast.manager.id, cast.project_id, cast.lead.email, INSPECTOR)
    assert roles_on(desk, cast)[cast.lead.id] == INSPECTOR


def test_the_last_project_manager_stays(desk: Desk, cast: Cast) -> None:
    with pytest.raises(Conflict):
        people.take_off(desk, cast.manager.id, cast.project_id, cast.manager.id)
    with pytest.raises(Conflict):
        people.change_role(desk, cast.manager.id, cast.project_id, cast.manager.id, CREW_LEAD)
    people.change_role(desk, cast.manager.id, cast.project_id, cast.lead.id, PROJECT_MANAGER)
    people.take_off(desk, cast.lead.id, cast.project_id, cast.manager.id)
    left = people.people_of(desk, cast.lead.id, cast.project_id).members
    assert [role for person, role in left if person == cast.lead] == [PROJECT_MANAGER]


def test_two_managers_taking_each_other_off_at_once_leave_one(desk: Desk, cast: Cast) -> None:
    people.change_role(desk, cast.manager.id, cast.project_id, cast.lead.id, PROJECT_MANAGER)
    together = threading.Barrier(2)

    def take(by: str, whom: str) -> None:
        together.wait()
        try:
            people.take_off(desk.fresh(), by, cast.project_id, whom)
        except Refusal:
            return

    pairs = [(cast.manager.id, cast.lead.id), (cast.lead.id, cast.manager.id)]
    threads = [threading.Thread(target=take, args=pair) for pair in pairs]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with desk.reading() as session:
        members = slices.project_site(session, cast.project_id).members.values()
    assert [member.role for member in members].count(PROJECT_MANAGER) == 1


def test_only_who_may_invite_sees_the_open_invitations(desk: Desk, cast: Cast) -> None:
    link(desk, cast)
    assert people.people_of(desk, cast.lead.id, cast.project_id).open == []
    assert [i.email for i in people.people_of(desk, cast.manager.id, cast.project_id).open] == [NEW]


def test_a_name_is_kept_out_of_the_history(desk: Desk, cast: Cast) -> None:
    person = enter(desk, "Rare Surname")
    people.invite(desk, cast.manager.id, cast.project_id, person.email, CREW_LEAD)
    people.invite(desk, cast.manager.id, cast.project_id, NEW, CREW_LEAD)
    with desk.reading() as session:
        written = b"".join(entry.content() for entry in books.entries(session, cast.project_id))
    assert b"Rare" not in written
    assert b"example.com" not in written
