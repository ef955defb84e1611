"""What moved between two moments of a zone, told by the things themselves and not by the gate alone."""

from __future__ import annotations

from dataclasses import replace

from service.domain.nouns.rules import STEPS, ready_made
from service.history.facts import film as h
from service.history.facts import installed as g
from service.history.facts.every_fact import Fact
from service.history.replay.differences import Difference, difference
from service.history.replay.replay import replay
from service.history.replay.standing import standing_of
from tests.history.story import (
    LEAD,
    Story,
    edge,
    edge_seal,
    film,
    ground,
    laid,
    lot,
    pipe,
    repair,
    seal,
    seam,
    seam_walk,
    signed,
    whole,
    work,
)


def between(story: Story, *facts: Fact) -> Difference:
    """What differs once these are told as well."""
    before = replay(story.entries)
    then = standing_of(before, "zb")
    story.tell(*facts, who=LEAD)
    return difference((before, then), (story.site, story.standing()))


def moved(change: Difference) -> set[tuple[str, str, str]]:
    return {(m.thing.name, m.before, m.thing.state) for m in change.moved}


def test_every_kind_that_came_is_told_with_how_it_stands() -> None:
    change = between(
        whole(), pipe("2", (400, 300)), seam("2"), seam_walk("w2", "2", taped=False), edge("5", 1),
        edge_seal("es5", "5"), film("m2", thickness_nm=1), lot("l2", "m2", "F-2"), laid("y2", "l2", "F-2"),
    )  # fmt: skip
    assert moved(change) == {
        ("B-P2", "", "open"),
        ("B-S2", "", "not sealed"),
        ("B-E5", "", "sealed"),
        ("F-2", "", "below the sheet"),
    }


def test_every_kind_that_went_or_turned_is_told_as_it_was_and_as_it_is() -> None:
    change = between(
        whole(), seal("c2", "1", fingers=False), seam_walk("w2", "1", work=work(dry=False)),
        g.EdgeSealWithdrawn("es1", "1", "zb", "B-E1", "came loose"),
        g.TerminationWithdrawn("2", "zb", "B-E2", "drawn wrongly"),
        h.LayingWithdrawn("y1", "l1", "zb", "B", "F-1", "another zone"), signed("n1", STEPS[0], False),
    )  # fmt: skip
    assert moved(change) == {
        ("B-P1", "sealed", "not sealed"),
        ("B-S1", "sealed", "not sealed"),
        ("B-E1", "sealed", "open"),
        ("B-E2", "sealed", "withdrawn"),
        ("F-1", "laid", "withdrawn"),
        (STEPS[0], "signed", "refused"),
    }


def test_repairs_logged_and_withdrawn_in_between_are_told_each_once() -> None:
    story = whole()
    change = between(story, g.RepairWithdrawn("q1", "02", "zb", "B-02", "dirty again"), repair("q2", "02"))
    assert [r.repair.id for r in change.repaired] == ["q2"]
    assert [(r.mark.tag, r.repair.id) for r in change.unrepaired] == [("B-02", "q1")]
    again = between(story, signed("n1", STEPS[1]))
    assert (again.repaired, again.unrepaired, again.moved) == ((), (), ())


def test_what_the_gate_does_not_ask_for_is_told_all_the_same() -> None:
    story = ground(replace(ready_made("us"), gate_demands=()))
    assert moved(between(story, pipe("1", (300, 300)))) == {("B-P1", "", "open")}


def test_nothing_in_between_is_nothing_and_a_new_zone_tells_no_unsigned_hold_points() -> None:
    story = whole()
    assert between(story).nothing
    new = difference(None, (ground().site, ground().standing()))
    assert new.moved == ()
