"""A zone's life drawn: true to time within a strip, every state and tick in its place, days of the site."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

from service.domain.nouns.rules import ready_made
from service.history.facts import facts as f
from service.history.facts.entries import Entry
from service.history.facts.every_fact import Fact
from service.history.replay.replay import apply
from service.history.replay.spans import Life, life_of
from service.web.inspector.timeline_drawing import LifeDrawing
from service.web.inspector.timeline_strips import GRAIN, Gap, Strip, Words
from tests.history.story import LEAD, MANAGER, Story, ground, mark, patch

CHICAGO = "America/Chicago"  # six hours behind UTC in winter, five in summer
NUMBERS = re.compile(r"-?\d+(?:\.\d+)?")


def utc(day: int, hour: int, minute: int = 0, month: int = 11) -> datetime:
    return datetime(2026, month, day, hour, minute, tzinfo=UTC)


def plain(at: datetime) -> Story:
    """Zone B outlined at this time, where nothing is asked for but marks and a walk."""
    story = ground(replace(ready_made("us"), gate_demands=(), hold_points=()))
    story.entries[:] = [replace(entry, at=at) for entry in story.entries]
    return story


def tell(story: Story, at: datetime, *facts: Fact, who: tuple[str, str] = LEAD) -> None:
    for fact in facts:
        entry = Entry("p", len(story.entries) + 1, at, *who, fact)
        story.entries.append(entry)
        apply(story.site, entry)


def life(story: Story) -> Life:
    found = life_of(story.entries, "zb")
    assert found is not None
    return found


def drawn(story: Story, as_of: datetime) -> tuple[list[Strip | Gap], LifeDrawing]:
    drawing = LifeDrawing(life(story), as_of, CHICAGO)
    return drawing.strips(drawing.days), drawing


def strips(rows: list[Strip | Gap]) -> list[Strip]:
    return [row for row in rows if isinstance(row, Strip)]


def xs(path: str) -> list[float]:
    """The places of ticks in their path, `M x 14V86` each."""
    return [float(part.split()[0]) for part in path.split("M")[1:]]


def test_a_strip_is_true_to_time_from_its_first_full_hour_to_its_last() -> None:
    """Outlined 6:00, marked 8:15, walked 9:00, patched 9:30 of the site: a strip from 6 to 10."""
    story = plain(utc(25, 12))
    tell(story, utc(25, 14, 15), mark("01", (300, 300)))
    tell(story, utc(25, 15), f.WalkFinished("zb", "B", ""))
    tell(story, utc(25, 15, 30), patch("p1", "01", (300, 300)))
    [strip], _ = drawn(story, utc(26, 20))
    assert isinstance(strip, Strip) and strip.title == "Wed 25 Nov 2026"
    assert [(hour.x, hour.words) for hour in strip.hours] == [
        (0, "6 am"), (25, "7 am"), (50, "8 am"), (75, "9 am"), (100, "10 am"),
    ]  # fmt: skip
    lanes = {lane.words: xs(lane.path) for lane in strip.lanes}
    assert lanes == {
        "1 on the zone itself": [0.0],
        "1 mark": [1000 * 135 / 240],
        "1 patch or repair": [1000 * 210 / 240],
        "1 punch walk": [750.0],
    }
    assert [(piece.kind, piece.x, piece.width) for piece in strip.band] == [
        ("laying", 0, 75), ("held", 75, 12.5), ("clear", 87.5, 12.5),
    ]  # fmt: skip
    assert strip.steps == "M0 92H562.5V8H875V92H1000", "one mark is the most there was: the full height"
    assert strip.marks == "0 to 1, 0 at the end"


def test_every_strip_has_the_same_hours_and_days_left_out_are_told() -> None:
    story = plain(utc(16, 15))
    tell(story, utc(17, 13), mark("01", (300, 300)))
    tell(story, utc(20, 22, 30), f.WalkFinished("zb", "B", ""))
    rows, drawing = drawn(story, utc(20, 23))
    assert [len(strip.hours) for strip in strips(rows)] == [11, 11, 11], "from 7 am to 5 pm each"
    assert [row.words for row in rows if isinstance(row, Gap)] == [
        "Wed 18 Nov to Thu 19 Nov left out: nothing recorded, laying throughout."
    ]
    assert [f"{day}" for day in drawing.days] == ["2026-11-16", "2026-11-17", "2026-11-20"]


def test_a_day_is_the_site_s_own() -> None:
    """5:30 UTC on 26 November is 11:30 pm of the 25th in Chicago."""
    story = plain(utc(25, 12))
    tell(story, utc(26, 5, 30), mark("01", (300, 300)))
    [strip], _ = drawn(story, utc(27, 12))
    assert isinstance(strip, Strip) and strip.title == "Wed 25 Nov 2026"
    assert strip.hours[-1].x == 100
    assert xs(strip.lanes[1].path) == [round(1000 * 17.5 / 18, 1)], "half an hour before midnight of 18 hours"


def test_a_day_of_25_hours_is_drawn_whole() -> None:
    """1 November 2026: at 2 am in Chicago the clocks go back to 1, so 1:30 comes at 6:30 and 7:30 UTC."""
    story = plain(utc(1, 6, 30))
    tell(story, utc(1, 7, 30), mark("01", (300, 300)))
    [strip], _ = drawn(story, utc(1, 20))
    assert isinstance(strip, Strip)
    assert [xs(lane.path) for lane in strip.lanes] == [[250.0], [750.0]], "from 1 to 2 am, two hours long"


def test_a_state_goes_on_to_now_and_no_further() -> None:
    story = plain(utc(25, 12))
    tell(story, utc(25, 15, 10), mark("01", (300, 300)))
    [strip], _ = drawn(story, utc(25, 15, 30))
    assert isinstance(strip, Strip)
    assert [(piece.kind, piece.x, piece.width) for piece in strip.band] == [("laying", 0, 87.5)]
    assert strip.steps.endswith("H875")


def test_the_whole_life_is_one_strip_true_to_time_with_its_nights() -> None:
    story = plain(utc(16, 18))
    tell(story, utc(18, 18), f.WalkFinished("zb", "B", ""))
    _, drawing = drawn(story, utc(20, 18))
    whole = drawing.whole()
    assert [(piece.kind, round(piece.x), round(piece.width)) for piece in whole.band] == [
        ("laying", 0, 50), ("clear", 50, 50),
    ]  # fmt: skip
    assert whole.lanes == () and [hour.words for hour in whole.hours if hour.words] == [
        "Wed 18 Nov",
        "Fri 20 Nov",
    ]


def test_words_stand_in_the_band_only_where_they_fit_and_their_number_where_that_does() -> None:
    """Of 120 minutes: laying 60, held 22, clear 38; the phone's strip is 214 px, the desk's 440."""
    story = plain(utc(25, 12))
    tell(story, utc(25, 12, 59), mark("01", (300, 300)))
    tell(story, utc(25, 13), f.WalkFinished("zb", "B", ""))
    tell(story, utc(25, 13, 22), patch("p1", "01", (300, 300)))
    [strip], _ = drawn(story, utc(26, 12))
    assert isinstance(strip, Strip)
    assert [piece.words for piece in strip.band] == [
        (Words("1 laying", ""),),
        (Words("2", "slim"), Words("2 held", "roomy")),
        (Words("3 clear", ""),),
    ]


def test_ten_thousand_ticks_of_a_day_are_drawn_no_closer_than_they_can_be_told() -> None:
    story = plain(utc(25, 12))
    for n in range(600):
        tell(story, utc(25, 12) + timedelta(seconds=n), mark(f"{n}", (300, 300)))
        tell(story, utc(25, 12) + timedelta(seconds=n), f.DefectWithdrawn(f"{n}", "zb", "", "a leaf"))
    [strip], _ = drawn(story, utc(26, 12))
    assert isinstance(strip, Strip)
    places = xs(next(lane.path for lane in strip.lanes if lane.words == "600 marks"))
    assert all(b - a >= GRAIN for a, b in pairwise(places)) and len(places) > 50


def test_a_release_that_fell_is_told_in_its_lane_and_in_the_label() -> None:
    story = plain(utc(25, 12))
    tell(story, utc(25, 13), f.WalkFinished("zb", "B", ""))
    digest = story.standing().digest
    tell(story, utc(25, 14), f.ZoneReleased("r", "zb", "B", digest, 2, "seen", (), ()), who=MANAGER)
    tell(story, utc(25, 15), mark("01", (300, 300)))
    [strip], _ = drawn(story, utc(26, 12))
    assert isinstance(strip, Strip)
    assert strip.lanes[-1].words == "released, fell away"
    assert strip.label == (
        "Wed 25 Nov 2026. States: 1 laying, 2 clear, 3 ready to place, 4 held. Done: 1 on the zone itself, "
        "1 mark, 1 punch walk, released, fell away. Marks open or not sealed: 0 to 1, 1 at the end."
    )
