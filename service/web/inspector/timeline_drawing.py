"""A zone's life drawn as strips, one a day: ticks by kind, the band of its states, its open marks in steps.

A strip is as wide as the hours in which anything was recorded, the same hours for every day shown, and true
to time from end to end. Nights and days with nothing recorded are left out between strips, and said to be.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from itertools import groupby, pairwise
from zoneinfo import ZoneInfo

from service.domain.words.speech import tr
from service.history.replay.spans import Life
from service.web.inspector.timeline_strips import (
    TALL,
    Gap,
    Place,
    Shape,
    Strip,
    apart_enough,
    hour_mark,
    hour_words,
    label_of,
    lanes_of,
    least_to_most,
    long_day,
    pieces_of,
    short_day,
    state_words,
)


class LifeDrawing:
    """Draws one life in one time zone. Days are the project's own."""

    def __init__(self, life: Life, as_of: datetime, time_zone: str) -> None:
        self._life, self._zone = life, ZoneInfo(time_zone)
        self.shapes = [
            Shape(number, span.state, span.began.at, span.ended.at if span.ended else as_of)
            for number, span in enumerate(life.spans, 1)
        ]
        self._most = max(count.open + count.not_sealed for count in life.counts)
        moments = [tick.entry.at for tick in life.ticks] + [shape.start for shape in self.shapes]
        moments += [count.entry.at for count in life.counts]
        self._moments = sorted(moments)
        self.days = sorted({self._local(at).date() for at in moments})

    def _local(self, at: datetime) -> datetime:
        return at.astimezone(self._zone)

    def _instant(self, day: date, hour: int) -> datetime:
        """A full hour of the site; 24 is the next midnight."""
        after = day + timedelta(days=1)
        local = datetime.combine(after if hour == 24 else day, time(hour % 24), self._zone)
        return local.astimezone(UTC)

    def whole(self) -> Strip:
        """The whole life in one strip, true to time, nights and all."""
        start, end = self.shapes[0].start, max(self.shapes[-1].end, self._moments[-1])
        end = max(end, start + timedelta(minutes=1)) + timedelta(microseconds=1)  # with what came last
        first, last = self._local(start).date(), self._local(end).date()
        days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
        every = max(1, -(-len(days) // 3))
        hours = [
            (self._instant(day, 0), short_day(day) if n % every == 0 else "")
            for n, day in enumerate(days)
            if n  # the first midnight lies before the zone
        ]
        title = tr("From beginning to end")
        return self._strip("whole", title, start, end, [] if len(days) > 400 else hours, lanes=False)

    def strips(self, days: Sequence[date]) -> list[Strip | Gap]:
        """A strip for each of these days, in order, with what is left out between them."""
        shown = set(days)
        local = [at for at in map(self._local, self._moments) if at.date() in shown]
        low = min(at.hour for at in local)
        high = max(at.hour + 1 for at in local)
        rows: list[Strip | Gap] = []
        for before, day in pairwise((None, *days)):
            assert day is not None, "the days follow a first None"
            if before and (gap := self._gap(before, day)):
                rows.append(gap)
            rows.append(self._day(day, low, high))
        return rows

    def _gap(self, before: date, after: date) -> Gap | None:
        """Whole days left out between two that are shown."""
        left = (after - before).days - 1
        if left < 1:
            return None
        first, last = before + timedelta(days=1), after - timedelta(days=1)
        when = (
            short_day(first)
            if left == 1
            else tr("{first} to {last}", first=short_day(first), last=short_day(last))
        )
        state = self._state_at(self._instant(first, 0))
        return Gap(
            tr("{when} left out: nothing recorded, {state} throughout.", when=when, state=state_words(state))
        )

    def _state_at(self, at: datetime) -> str:
        return next((s.state for s in reversed(self.shapes) if s.start <= at), self.shapes[0].state)

    def _day(self, day: date, low: int, high: int) -> Strip:
        start, end = self._instant(day, low), self._instant(day, high)
        every = max(1, -(-(high - low) // 4))
        marks = [
            (self._instant(day, hour), hour_words(hour) if (hour - low) % every == 0 else "")
            for hour in range(low, high + 1)
        ]
        return self._strip(f"d{day:%Y%m%d}", long_day(day), start, end, marks, lanes=True)

    def _strip(
        self, name: str, title: str, start: datetime, end: datetime,
        hours: Sequence[tuple[datetime, str]], *, lanes: bool,
    ) -> Strip:  # fmt: skip
        place = Place(start, end)
        within = [s for s in self.shapes if s.start < end and (s.end > start or place.holds(s.start))]
        ticks = [tick for tick in self._life.ticks if place.holds(tick.entry.at)]
        drawn = lanes_of(ticks, place) if lanes else ()
        steps, marks = self._steps(place)
        return Strip(
            name=name,
            title=title,
            label=label_of(title, within, drawn, marks),
            hours=tuple(hour_mark(place.at(at), words) for at, words in hours),
            rules="".join(f"M{place.at(at):g} 0V100" for at, _ in hours),
            lanes=drawn,
            band=tuple(pieces_of(within, place)),
            starts="".join(
                f"M{x:g} 0V100" for x in apart_enough(place.at(s.start) for s in within if s.start >= start)
            ),
            steps=steps,
            marks=marks,
        )

    def _steps(self, place: Place) -> tuple[str, str]:
        """The stepped line of marks open or not sealed, to the strip's end or to now, and what it says."""
        counts = [(count.entry.at, count.open + count.not_sealed) for count in self._life.counts]
        before = [value for at, value in counts if at < place.start][-1:]
        here = [(place.at(at), value) for at, value in counts if place.holds(at)]
        places: dict[float, list[int]] = {0.0: before} if before else {}
        for x, value in here:
            places.setdefault(x, []).append(value)
        path = ""
        for x, values in places.items():
            through = [v for v, _ in groupby((values[0], min(values), max(values), values[-1]))]
            path += f"H{x:g}" if path else f"M{x:g} {self._height(through.pop(0))}"
            path += "".join(f"V{self._height(value)}" for value in through)
        end = place.at(min(place.end, max(self.shapes[-1].end, place.start)))
        return path and f"{path}H{end:g}", least_to_most([*before, *(value for _, value in here)])

    def _height(self, value: int) -> str:
        return f"{round(TALL - 8 - (TALL - 16) * value / max(self._most, 1), 1):g}"
