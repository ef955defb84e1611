"""A request sent again lands once.

The four answers are those of the IETF draft on the Idempotency-Key header
(draft-ietf-httpapi-idempotency-key-header).
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

import pytest
from sqlmodel import select

from service.actions.frame.desk import Desk
from service.actions.frame.once import Reply, once, once_prepared
from service.domain.words.refusals import BadInput, Conflict, KeyReused, StillUnderWay
from service.storage.accounts import people, requests
from service.storage.accounts.people import Person
from service.storage.tables.tables import PersonRow
from tests.cast import Cast, Clock

BODY = b"POST /somewhere\nname=one"


def making(desk: Desk, name: str) -> Callable[[], Reply]:
    """An effect that shows: one more person."""

    def respond() -> Reply:
        with desk.writing() as session:
            person = Person(desk.new_id(), f"{desk.new_id()}@example.com", name)
            people.add(session, person, "no hash", desk.clock())
        return 201, person.id

    return respond


def made(desk: Desk, name: str) -> int:
    with desk.reading() as session:
        return len(session.exec(select(PersonRow).where(PersonRow.name == name)).all())


def test_the_same_request_again_gets_the_first_reply_and_does_nothing(desk: Desk, cast: Cast) -> None:
    first = once(desk, cast.lead.id, "k", BODY, making(desk, "One"))
    again = once(desk, cast.lead.id, "k", BODY, making(desk, "One"))
    assert (first[2], again[2]) == (False, True)
    assert first[:2] == again[:2]
    assert made(desk, "One") == 1


def test_the_same_key_with_another_body_is_refused(desk: Desk, cast: Cast) -> None:
    once(desk, cast.lead.id, "k", BODY, making(desk, "One"))
    with pytest.raises(KeyReused):
        once(desk, cast.lead.id, "k", BODY + b"!", making(desk, "One"))
    assert made(desk, "One") == 1


def test_two_people_may_use_the_same_key(desk: Desk, cast: Cast) -> None:
    once(desk, cast.lead.id, "k", BODY, making(desk, "One"))
    once(desk, cast.manager.id, "k", BODY, making(desk, "One"))
    assert made(desk, "One") == 2


def test_while_the_first_is_under_way_the_second_is_told_so(desk: Desk, cast: Cast) -> None:
    def asked_meanwhile() -> None:
        with pytest.raises(StillUnderWay):
            once(desk.fresh(), cast.lead.id, "k", BODY, lambda: (201, "never reached"))

    once_prepared(desk, cast.lead.id, "k", BODY, asked_meanwhile, lambda _: making(desk, "One")())
    assert made(desk, "One") == 1


def test_an_effect_that_fails_is_undone_and_may_be_tried_again(desk: Desk, cast: Cast) -> None:
    def fails() -> Reply:
        making(desk, "One")()
        raise Conflict("Not as things stand.")

    with pytest.raises(Conflict):
        once(desk, cast.lead.id, "k", BODY, fails)
    assert made(desk, "One") == 0
    assert once(desk, cast.lead.id, "k", BODY, making(desk, "One"))[2] is False
    assert made(desk, "One") == 1


def test_a_reservation_left_by_a_crash_is_taken_over_after_a_minute(
    desk: Desk, cast: Cast, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One that had something to prepare took its turn before; `once` leaves none behind."""

    def crash() -> None:
        raise SystemExit

    with monkeypatch.context() as patched:
        patched.setattr(requests, "give_up", lambda *_: None)  # a crash tidies nothing
        with pytest.raises(SystemExit):
            once_prepared(desk, cast.lead.id, "k", BODY, crash, lambda _: making(desk, "One")())
    clock.go_on(seconds=60)
    with pytest.raises(StillUnderWay):
        once(desk, cast.lead.id, "k", BODY, making(desk, "One"))
    clock.go_on(seconds=1)
    once(desk, cast.lead.id, "k", BODY, making(desk, "One"))
    assert made(desk, "One") == 1


def test_a_crash_in_the_effect_leaves_nothing_and_may_be_sent_again_at_once(
    desk: Desk, cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    def crash() -> Reply:
        making(desk, "One")()
        raise SystemExit

    monkeypatch.setattr(requests, "give_up", lambda *_: None)
    with pytest.raises(SystemExit):
        once(desk, cast.lead.id, "k", BODY, crash)
    assert made(desk, "One") == 0
    assert once(desk, cast.lead.id, "k", BODY, making(desk, "One"))[2] is False
    assert made(desk, "One") == 1


def test_while_an_effect_is_under_way_the_same_again_waits_and_gets_its_reply(desk: Desk, cast: Cast) -> None:
    """As long as it holds the turn: whatever it reads and writes, nobody does it a second time."""
    began, replies = threading.Event(), []

    def send(respond: Callable[[Desk], Callable[[], Reply]]) -> None:
        mine = desk.fresh()
        replies.append(once(mine, cast.lead.id, "k", BODY, respond(mine)))

    def slow(mine: Desk) -> Callable[[], Reply]:
        def respond() -> Reply:
            began.set()
            time.sleep(0.3)
            return making(mine, "One")()

        return respond

    first = threading.Thread(target=send, args=[slow])
    second = threading.Thread(target=send, args=[lambda mine: making(mine, "One")])
    first.start()
    assert began.wait(10)
    second.start()
    first.join()
    second.join()
    assert [again for *_, again in replies] == [False, True]
    assert replies[0][:2] == replies[1][:2]
    assert made(desk, "One") == 1


def test_who_was_slow_and_was_taken_over_has_no_effect(desk: Desk, cast: Cast, clock: Clock) -> None:
    replies = []

    def slow() -> None:
        clock.go_on(seconds=61)
        mine = desk.fresh()
        replies.append(once(mine, cast.lead.id, "k", BODY, making(mine, "One")))

    with pytest.raises(StillUnderWay):
        once_prepared(desk, cast.lead.id, "k", BODY, slow, lambda _: making(desk, "One")())
    assert made(desk, "One") == 1
    assert once(desk, cast.lead.id, "k", BODY, making(desk, "One")) == (*replies[0][:2], True)


def test_twenty_sendings_at_once_land_once(desk: Desk, cast: Cast) -> None:
    together, replies, waits = threading.Barrier(20), [], []

    def send() -> None:
        mine = desk.fresh()
        together.wait()
        try:
            replies.append(once(mine, cast.lead.id, "k", BODY, making(mine, "One")))
        except StillUnderWay:
            waits.append(1)

    threads = [threading.Thread(target=send) for _ in range(20)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert made(desk, "One") == 1
    assert len(replies) + len(waits) == 20
    assert len({reply[:2] for reply in replies}) == 1


def test_replies_are_kept_for_ninety_days(desk: Desk, cast: Cast, clock: Clock) -> None:
    once(desk, cast.lead.id, "k", BODY, making(desk, "One"))
    clock.go_on(days=90)
    assert once(desk, cast.lead.id, "k", BODY, making(desk, "One"))[2] is True
    clock.go_on(seconds=1)
    assert once(desk, cast.lead.id, "k", BODY, making(desk, "One"))[2] is False


@pytest.mark.parametrize("key", ["", "x" * 201, "line\nbreak"])
def test_a_key_that_cannot_be_one_is_refused(desk: Desk, cast: Cast, key: str) -> None:
    with pytest.raises(BadInput):
        once(desk, cast.lead.id, key, BODY, making(desk, "One"))
