"""How much one caller asks for: nobody at work meets the limit, and workers that know nothing of each other
count together."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlmodel import func, select

from service.actions.entrance import counting
from service.actions.entrance.counting import MOST_OF_ADDRESS, MOST_OF_PERSON, SHARE, SPAN, Counted
from service.actions.frame.desk import Desk
from service.domain.words.refusals import SlowDown
from service.storage.accounts import people
from service.storage.doors.database import WriterBusy
from service.storage.tables.tables import TryRow
from tests.cast import Cast, Clock

FEW = 40  # a limit that a test can reach; its share is two


def taken(desk: Desk, *workers: Counted, person: str = "p", tries: int = 200) -> int:
    """How many requests the workers take in turns before one of them says no."""
    for count in range(tries):
        try:
            workers[count % len(workers)].person(desk, person)
        except SlowDown:
            return count
    return tries


def rows(desk: Desk) -> int:
    with desk.reading() as session:
        return int(session.exec(select(func.count()).select_from(TryRow)).one())


def test_a_phone_with_60_hours_kept_and_an_office_browser_together_never_meet_it(
    desk: Desk, cast: Cast
) -> None:
    """300 things a day with two photos each, over three days, every photo asked for and sent, all of it in
    one minute; beside it a browser that opens a page with forty tiles every ten seconds."""
    phone, office = 3 * 300 * (1 + 2 * 2), 6 * 10 * 41
    worker = Counted()
    for _ in range(phone + office):
        worker.person(desk, cast.lead.id)
    assert phone + office < MOST_OF_PERSON * 2 / 3


def test_past_the_limit_it_says_how_long_to_wait_and_that_is_long_enough(desk: Desk, clock: Clock) -> None:
    worker = Counted(FEW)
    assert taken(desk, worker) == FEW + 1
    clock.go_on(seconds=30)
    with pytest.raises(SlowDown) as refused:
        worker.person(desk, "p")
    assert refused.value.after_s == SPAN.total_seconds() - 30
    clock.go_on(seconds=refused.value.after_s)
    worker.person(desk, "p")


def test_workers_that_know_nothing_of_each_other_count_together(desk: Desk) -> None:
    """Each may be a share behind, and no more."""
    workers = [Counted(FEW) for _ in range(4)]
    assert FEW <= taken(desk, *workers) <= FEW + 2 * len(workers)


def test_a_worker_started_anew_forgets_a_share_at_the_most(desk: Desk) -> None:
    for _ in range(FEW // 2):
        Counted(FEW).person(desk, "p")
    assert rows(desk) == 0
    assert taken(desk, Counted(FEW), tries=FEW) == FEW
    assert taken(desk, Counted(FEW), tries=FEW) <= 3


def test_one_persons_requests_are_nobody_elses(desk: Desk) -> None:
    worker = Counted(FEW)
    taken(desk, worker, person="p")
    assert taken(desk, worker, person="q", tries=FEW) == FEW


def test_an_address_without_a_sign_in_has_a_quarter_of_it(desk: Desk) -> None:
    worker, quarter = Counted(400), 400 * MOST_OF_ADDRESS // MOST_OF_PERSON
    for _ in range(quarter):
        worker.address(desk, "10.0.0.9")
    with pytest.raises(SlowDown):
        for _ in range(10):
            worker.address(desk, "10.0.0.9")


def test_a_look_costs_no_write_but_one_in_a_share(desk: Desk) -> None:
    worker = Counted()
    for _ in range(SHARE * 3 - 1):
        worker.person(desk, "p")
    assert rows(desk) == 2


def test_what_was_counted_long_ago_is_forgotten(desk: Desk, clock: Clock) -> None:
    worker = Counted(FEW)
    for _ in range(FEW):
        worker.person(desk, "p")
        clock.go_on(seconds=(SPAN + timedelta(seconds=10)).total_seconds())
    assert rows(desk) == 0


def test_where_nothing_can_be_written_people_still_look(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise WriterBusy("no room")

    monkeypatch.setattr(people, "note_try", full)
    assert taken(desk, Counted(FEW)) == 200


def test_the_memory_it_takes_ends_however_many_come(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(counting, "MOST_KEPT", 50)
    worker = Counted()
    for number in range(500):
        worker.address(desk, f"10.0.{number // 250}.{number % 250}")
    assert len(worker._here) == 50


def test_set_to_nothing_nobody_is_counted(desk: Desk) -> None:
    assert taken(desk, Counted(0)) == 200 and rows(desk) == 0


def test_counted_lightly_or_in_full_the_limit_is_the_same(desk: Desk, clock: Clock) -> None:
    """As pages are counted: lightly where that will do, and in full where it will not."""
    worker, went = Counted(FEW), 0
    with pytest.raises(SlowDown):
        for _ in range(2 * FEW):
            if not worker.lightly(desk, "p"):
                worker.person(desk, "p")
            went += 1
    assert FEW <= went <= FEW + 2
    assert not worker.lightly(desk, "p"), "whoever is held back is told so, in full"


def test_a_light_count_of_long_ago_is_forgotten(desk: Desk, clock: Clock) -> None:
    worker, long = Counted(4 * FEW), (SPAN + timedelta(seconds=10)).total_seconds()
    assert [worker.lightly(desk, "p") for _ in range(7)] == [True] * 7
    clock.go_on(seconds=long)
    assert [worker.lightly(desk, "p") for _ in range(8)] == [True] * 7 + [False], "a share is eight here"
    assert rows(desk) == 0
