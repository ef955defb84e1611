"""Whose sign-in a request shows, told without a thread: whom the usual way finds, or nobody."""

from __future__ import annotations

from datetime import timedelta
from unittest import mock

import pytest

from service.actions.entrance import accounts
from service.actions.entrance.accounts import PAGE, PROGRAM
from service.actions.frame.desk import Desk
from service.actions.people import crew_codes
from tests.actions.people.test_crew_codes import made
from tests.cast import Cast, Clock

SPANS = (
    timedelta(), timedelta(seconds=59), timedelta(minutes=1), timedelta(minutes=59), timedelta(hours=1),
    timedelta(hours=23, minutes=59), timedelta(hours=24), timedelta(days=29), timedelta(days=30),
)  # fmt: skip


def test_nobody_is_let_in_at_once_whom_the_usual_way_does_not_find(
    desk: Desk, cast: Cast, clock: Clock
) -> None:
    """Every role, by page and by program, as long as its sign-in lasts and after."""
    start, found = clock.now, []
    for person in (cast.lead, cast.manager, cast.inspector):
        for kind in (PAGE, PROGRAM):
            clock.now = start
            token, _ = accounts.open_sign_in(desk, person.id, kind)
            for span in SPANS:
                clock.now = start + span
                for asked in (PAGE, PROGRAM):
                    at_once = accounts.person_at_once(desk, token, asked)
                    with mock.patch.object(accounts, "note_use"):  # looked at, and not used
                        usual = accounts.person_for(desk.fresh(), token, asked)
                    assert at_once in (None, usual), (person.name, kind, asked, span)
                    found.append((span, at_once))
    assert all(person is None for span, person in found if span >= timedelta(minutes=1)), "a use to be noted"
    if desk.database.is_sqlite:
        assert {person for _, person in found} >= {cast.lead, cast.manager, cast.inspector}


def test_neither_a_crew_code_nor_an_ended_sign_in_nor_a_made_up_token_is_let_in_at_once(
    desk: Desk, cast: Cast
) -> None:
    by_code = crew_codes.use_code(desk, made(desk, cast, cast.lead.id).token, "10.0.0.1")[0]
    ended, _ = accounts.open_sign_in(desk, cast.lead.id)
    accounts.sign_out(desk, ended)
    for token in (by_code, ended, "no token of ours", ""):
        assert accounts.person_at_once(desk, token, PAGE) is None


def test_where_the_database_cannot_be_asked_at_once_it_is_asked_the_usual_way(desk: Desk, cast: Cast) -> None:
    token, _ = accounts.open_sign_in(desk, cast.lead.id)
    with mock.patch.object(desk.database, "ask_quickly", side_effect=OSError):
        assert accounts.person_at_once(desk, token, PAGE) is None
    assert accounts.person_for(desk, token) == cast.lead


@pytest.mark.parametrize("role", ["lead", "manager"])
def test_whoever_signed_out_is_refused_at_the_next_request(desk: Desk, cast: Cast, role: str) -> None:
    token, _ = accounts.open_sign_in(desk, getattr(cast, role).id)
    before = accounts.person_at_once(desk, token, PAGE)
    assert (before is not None) == desk.database.is_sqlite
    accounts.sign_out(desk, token)
    assert accounts.person_at_once(desk, token, PAGE) is None
