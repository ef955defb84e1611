"""A zone's life: its states one after another, what began and ended each, its marks, and what was done."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from service.domain.nouns.rules import ready_made
from service.domain.shapes.outlines import Circle
from service.history.facts import evidence as e
from service.history.facts import facts as f
from service.history.facts.every_fact import FACTS
from service.history.replay.following import OFF
from service.history.replay.spans import (
    HOLDS,
    KINDS,
    LOOKS,
    MARKS,
    MENDING,
    RELEASE,
    TAKEN_BACK,
    WALKS,
    Life,
    life_of,
)
from service.history.replay.standing import CLEAR, HELD, LAYING, PLACED, READY
from tests.history.random_story import Teller
from tests.history.story import INCH, MANAGER, NOON, Story, ground, mark, patch, whole


def plain() -> Story:
    """Zones B and C where nothing is asked for but marks and a walk. The next entry is number 9."""
    return ground(replace(ready_made("us"), gate_demands=(), hold_points=()))


def life(story: Story, zone: str = "zb") -> Life:
    found = life_of(story.entries, zone)
    assert found is not None
    return found


def states(told: Life) -> list[tuple[str, int, int | None]]:
    """Each state with the numbers of the entries that began and ended it."""
    return [(s.state, s.began.seq, s.ended.seq if s.ended else None) for s in told.spans]


def test_each_state_is_told_with_the_entries_that_began_and_ended_it() -> None:
    story = plain().tell(
        mark("01", (300, 300)),  # 9
        f.WalkFinished("zb", "B", ""),  # 10: held by its mark
        patch("p1", "01", (300, 300)),  # 11: clear
    )
    story.release()  # 12
    story.tell(mark("02", (500, 500)))  # 13: the release falls
    story.tell(f.DefectWithdrawn("02", "zb", "B-02", "a leaf"))  # 14: clear, and no release
    story.release("r2")  # 15
    story.tell(f.ReleasePulledBack("r2", "zb", "B", "rain"), who=MANAGER)  # 16
    story.release("r3")  # 17
    story.tell(f.ZonePlaced("zb", "B", NOON, "", False, ()), who=MANAGER)  # 18
    assert states(life(story)) == [
        (LAYING, 7, 10), (HELD, 10, 11), (CLEAR, 11, 12), (READY, 12, 13), (HELD, 13, 14), (CLEAR, 14, 15),
        (READY, 15, 16), (CLEAR, 16, 17), (READY, 17, 18), (PLACED, 18, None),
    ]  # fmt: skip
    fell = [tick.entry.seq for tick in life(story).ticks if tick.fell]
    assert fell == [13], "a release pulled back, or placed under, did not fall"


def test_marks_are_counted_from_each_entry_that_changed_their_number() -> None:
    story = plain().tell(
        mark("01", (300, 300)), mark("02", (500, 500)),
        patch("p1", "01", (300, 300), cleaned=False), patch("p2", "01", (300, 300)),
    )  # fmt: skip
    told = life(story)
    counts = [(count.entry.seq, count.open, count.not_sealed) for count in told.counts]
    assert counts == [(7, 0, 0), (9, 1, 0), (10, 2, 0), (11, 1, 1), (12, 1, 0)]
    assert (told.spans[-1].open, told.spans[-1].not_sealed) == (1, 0)


def test_a_span_tells_the_marks_as_they_were_before_the_entry_that_ended_it() -> None:
    story = plain().tell(mark("01", (300, 300)), f.WalkFinished("zb", "B", ""), patch("p1", "01", (300, 300)))
    laying, held, clear = life(story).spans
    assert (laying.open, held.open, clear.open) == (1, 1, 0)


def test_a_neighbour_s_mark_holds_where_it_reaches_in_and_is_told_here_too() -> None:
    """10 px are 1 ft: a hole 4 ft across, 1 ft from the joint, reaches over it; one 30 ft off does not."""
    story = plain().tell(f.WalkFinished("zb", "B", ""))
    story.tell(mark("c1", (1200, 300), zone="zc", tag="C-01"))
    story.tell(mark("c2", (910, 300), outline=Circle(48 * INCH), zone="zc", tag="C-02"))
    assert states(life(story)) == [(LAYING, 7, 9), (CLEAR, 9, 11), (HELD, 11, None)]
    assert [(t.kind, t.entry.seq) for t in life(story).ticks if t.kind == MARKS] == [(MARKS, 11)]


def test_a_rule_sheet_that_asks_more_ends_a_state() -> None:
    story = plain().tell(mark("01", (300, 300)), patch("p1", "01", (300, 300)), f.WalkFinished("zb", "B", ""))
    sheet = story.site.project.sheet  # type: ignore[union-attr]
    more = replace(sheet, patch_overlap=replace(sheet.patch_overlap, nm=12 * INCH))
    story.tell(f.RuleSheetChanged(more, ("patch_overlap",)), who=MANAGER)
    assert states(life(story))[-2:] == [(CLEAR, 11, 12), (HELD, 12, None)]


def test_a_zone_taken_off_the_sketch_ends_there_and_one_never_outlined_has_no_life() -> None:
    story = plain().tell(f.ZoneWithdrawn("zb", "drawn twice"), who=MANAGER)
    assert states(life(story)) == [(LAYING, 7, 9), (OFF, 9, None)]
    assert life_of(story.entries, "nobody's") is None
    assert life_of(story.entries[:6], "zb") is None


def test_what_was_done_is_told_in_order_under_its_kind() -> None:
    story = whole()
    story.tell(f.ZoneHeld("v1", "zb", "B", "storm", "rain"), f.HoldLifted("v1", "zb", "B", "storm", "dried"))
    story.tell(f.PatchWithdrawn("p1", "01", "zb", "B-01", "came off"))
    ticks = life(story).ticks
    assert [t.entry.seq for t in ticks] == sorted(t.entry.seq for t in ticks)
    told = {
        kind: sum(t.kind == kind for t in ticks) for kind in (MARKS, MENDING, LOOKS, WALKS, HOLDS, TAKEN_BACK)
    }
    assert told == {MARKS: 2, MENDING: 2, LOOKS: 2, WALKS: 1, HOLDS: 2, TAKEN_BACK: 1}


def test_every_thing_that_is_done_in_a_zone_has_its_kind() -> None:
    """A fact that names a zone is told on its timeline; a photo, or a cause said, is no event of its life."""
    named = {name for name, fact in FACTS.items() if "zone" in fact.__dataclass_fields__}
    told = {fact.type for facts in KINDS.values() for fact in facts}
    assert named - told == {"photo-added", "cause-told"}
    assert told <= named


def test_what_is_said_of_the_history_itself_ends_no_state() -> None:
    story = plain().tell(f.WalkFinished("zb", "B", ""))
    story.release()
    story.tell(e.CheckpointGiven("page", "key"), e.RecordMade(9, "0" * 64, "key"), who=MANAGER)
    assert states(life(story))[-1] == (READY, 10, None)
    assert life(story).head == 12


def test_spans_follow_each_other_without_a_gap_whatever_happens() -> None:
    for seed in (3, 5):
        teller = Teller(seed)
        for fact in teller.tell(60):
            teller.story.tell(fact)
        told = life(teller.story)
        assert told.spans[0].began.fact.type == "zone-outlined" and told.spans[-1].ended is None
        assert all(a.ended == b.began and a.state != b.state for a, b in pairwise(told.spans))
        assert RELEASE in {tick.kind for tick in told.ticks}
