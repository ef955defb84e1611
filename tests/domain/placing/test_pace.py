"""The pace of the work and the day it is done: worked by hand, against a count day by day, and monotone."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.placing.pace import MARKS, SEAMS, Closed, Pace, Paces, Span, latest_of, paces, span

TODAY = date(2026, 11, 25)  # a Wednesday
QUICK = settings(max_examples=60, deadline=None, derandomize=True)
DAYS = {name: TODAY - timedelta(days=back) for name, back in
        {"tue": 1, "mon": 2, "sun": 3, "sat": 4, "fri": 5, "thu": 6, "wed": 7}.items()}  # fmt: skip


def done(**counts: int) -> list[Closed]:
    """So many marks closed on each of these days: `done(mon=6, tue=4)`."""
    return [Closed(MARKS, DAYS[day]) for day, count in counts.items() for _ in range(count)]


def at(usual: Fraction, *, week: str = "Mon-Fri", today: date = TODAY) -> tuple[Pace, Paces]:
    days = {"Mon-Fri": range(5), "Mon-Sat": range(6), "every day": range(7)}[week]
    pace = Pace(MARKS, 10, 60, usual / 2, usual, usual * 2)
    return pace, Paces(today, frozenset(days), {MARKS: pace})


def test_a_pace_is_what_was_closed_over_the_working_days_it_was_closed_on() -> None:
    """By hand: Thu 2, Fri 6, Mon 0, Tue 8 are 16 over four weekdays; a third of four days is one day."""
    told = paces(done(thu=2, fri=6, tue=8), TODAY)
    assert told.of == {MARKS: Pace(MARKS, 4, 16, Fraction(0), Fraction(4), Fraction(8))}
    assert told.week == {0, 1, 2, 3, 4}


def test_a_saturday_counts_where_something_was_closed_on_it_and_is_worked_from_then_on() -> None:
    told = paces(done(thu=3, fri=3, sat=3, mon=3, tue=3), TODAY)
    assert told.of[MARKS].days == 5 and told.week == {0, 1, 2, 3, 4, 5}
    assert paces(done(thu=3, fri=3, mon=3, tue=3), TODAY).of[MARKS].days == 4


def test_days_before_a_kind_of_work_began_do_not_slow_it() -> None:
    seams = [Closed(SEAMS, DAYS[day]) for day in ("fri", "mon", "tue") for _ in range(5)]
    told = paces([*done(wed=1, thu=1, fri=1), *seams], TODAY)
    assert told.of[SEAMS] == Pace(SEAMS, 3, 15, Fraction(5), Fraction(5), Fraction(5))
    assert told.of[MARKS].usual == Fraction(3, 5)


def test_no_more_than_ten_working_days_are_looked_back_over() -> None:
    long_ago = [Closed(MARKS, TODAY - timedelta(days=back)) for back in range(15, 40) for _ in range(50)]
    recent = [Closed(MARKS, TODAY - timedelta(days=back)) for back in (1, 2, 5)]
    told = paces([*long_ago, *recent], TODAY)
    assert told.of[MARKS].days == 10 and told.of[MARKS].closed == 3


@pytest.mark.parametrize("counts", [{}, {"tue": 40}, {"mon": 5, "tue": 5}])
def test_too_little_history_tells_no_pace(counts: dict[str, int]) -> None:
    assert paces(done(**counts), TODAY).of == {}


def test_what_is_closed_today_sets_no_pace_because_today_is_not_over() -> None:
    assert paces([*done(mon=5, tue=5), *[Closed(MARKS, TODAY)] * 9], TODAY).of == {}


@pytest.mark.parametrize(
    ("left", "a_day", "week", "expected"),
    [
        # Six a day, 14 left: Wednesday, Thursday, and the last two on Friday. Six less and it is Thursday.
        (14, Fraction(6), "Mon-Fri", date(2026, 11, 27)),
        (12, Fraction(6), "Mon-Fri", date(2026, 11, 26)),
        (1, Fraction(6), "Mon-Fri", TODAY),
        (19, Fraction(6), "Mon-Fri", date(2026, 11, 30)),  # over the weekend
        (19, Fraction(6), "Mon-Sat", date(2026, 11, 28)),
        (36, Fraction(6), "every day", date(2026, 11, 30)),
        (3, Fraction(1, 2), "Mon-Fri", date(2026, 12, 2)),
    ],
)
def test_the_day_of_the_last_one_is_counted_in_working_days_from_today(
    left: int, a_day: Fraction, week: str, expected: date
) -> None:
    pace, told = at(a_day, week=week)
    assert span(left, pace, told).about == expected


def test_on_a_day_off_the_count_begins_on_the_next_working_day() -> None:
    pace, told = at(Fraction(6), today=date(2026, 11, 28))
    assert span(6, pace, told).about == date(2026, 11, 30)


def test_slow_days_on_which_nothing_was_closed_tell_no_latest_day() -> None:
    told = paces(done(thu=2, fri=6, tue=8), TODAY)
    ends = span(8, told.of[MARKS], told)
    assert ends == Span(TODAY, date(2026, 11, 26), None)
    sure = Span(TODAY, TODAY, date(2026, 12, 1))
    assert latest_of([ends, sure]) == ends
    assert latest_of([sure, sure]).latest == date(2026, 12, 1)


def test_nothing_left_has_no_day() -> None:
    pace, told = at(Fraction(6))
    with pytest.raises(ValueError, match="nothing is left"):
        span(0, pace, told)


# --- the same by a count that is slow and plain ----------------------------------------------------------

histories = st.lists(
    st.builds(Closed, st.just(MARKS), st.integers(0, 30).map(lambda back: TODAY - timedelta(days=back))),
    min_size=3,
    max_size=60,
)


def counted(left: int, a_day: Fraction, told: Paces) -> date:
    """Walk the calendar a day at a time and close what a working day closes, until nothing is left."""
    day, done = told.today, Fraction(0)
    while True:
        done += a_day if day.weekday() in told.week else 0
        if done >= left:
            return day
        day += timedelta(days=1)


@QUICK
@given(histories, st.integers(1, 80))
def test_a_day_told_is_the_one_that_counting_day_by_day_comes_to(history: list[Closed], left: int) -> None:
    told = paces(history, TODAY)
    for pace in told.of.values():
        ends = span(left, pace, told)
        assert ends.about == counted(left, pace.usual, told)
        assert ends.soonest == counted(left, pace.fast, told)
        assert ends.latest == (counted(left, pace.slow, told) if pace.slow else None)


@QUICK
@given(histories, st.integers(1, 500), st.integers(0, 500))
def test_more_left_is_never_earlier(history: list[Closed], left: int, more: int) -> None:
    told = paces(history, TODAY)
    for pace in told.of.values():
        ends, later = span(left, pace, told), span(left + more, pace, told)
        assert ends.soonest <= later.soonest and ends.about <= later.about
        assert (ends.latest or date.max) <= (later.latest or date.max)


@QUICK
@given(histories, st.integers(1, 500))
def test_the_soonest_the_expected_and_the_latest_day_never_cross(history: list[Closed], left: int) -> None:
    told = paces(history, TODAY)
    for pace in told.of.values():
        assert pace.slow <= pace.usual <= pace.fast
        ends = span(left, pace, told)
        assert TODAY <= ends.soonest <= ends.about <= (ends.latest or date.max)
        assert ends.about.weekday() in told.week


def test_more_is_left_than_anybody_will_ever_close_and_a_day_is_told_all_the_same() -> None:
    pace, told = at(Fraction(1, 30))
    assert span(10**9, pace, told).about == date(2036, 11, 11)  # 2,600 working days, ten years of 52 weeks
