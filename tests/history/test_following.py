"""A zone followed entry by entry is told as the gate tells it when asked anew after every entry."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace

import pytest

from service.domain.nouns.rules import ready_made
from service.domain.nouns.site import Site
from service.domain.patches.repair import NOT_SEALED, OPEN
from service.domain.shapes.outlines import Circle, Rectangle
from service.domain.shapes.sides import Sides
from service.history.facts import facts as f
from service.history.facts.entries import Entry
from service.history.facts.every_fact import Fact
from service.history.facts.placing import PlacingStarted
from service.history.replay.following import OFF, Following
from service.history.replay.standing import standing_of
from service.history.replay.touching import step
from tests.history.cases import CASES, Case
from tests.history.random_story import MUCH_OF, Teller, teller_of
from tests.history.story import INCH, LEAD, NOON, Story, edge, edge_seal, ground, mark, patch, px, seal, whole


class Followed:
    """A zone that is followed, and asked whole."""

    def __init__(self, site: Site, zone_id: str) -> None:
        self.site, self.zone_id, self.following = site, zone_id, Following(site, zone_id)

    def hold_together(self, told: object) -> str:
        """Everything that the gate reads, the state and the counts; the state."""
        standing = standing_of(self.site, self.zone_id)
        assert self.following.facts() == standing.facts, told
        tally = Counter(verdict.state for verdict in standing.verdicts.values())
        state = OFF if standing.zone.withdrawn is not None else standing.state
        stood = self.following.stood()
        assert (stood.state, stood.open, stood.not_sealed) == (state, tally[OPEN], tally[NOT_SEALED]), told
        return state


@pytest.mark.parametrize("seed", range(len(MUCH_OF)))
def test_whatever_is_told_a_followed_zone_stands_as_if_asked_after_every_entry(seed: int) -> None:
    """Two zones with a joint where most of it happens. They are asked in turns: what was missed stays so."""
    seen = campaign(seed, 80)
    assert sum(seen.values()) == 80 and seen["held"], "a story in which nothing is wrong tests little"


def campaign(seed: int, entries: int) -> Counter[str]:
    """A random story, followed in both zones and asked in one of them after every entry; the states seen."""
    teller = Teller(seed)
    story, seen = teller.story, Counter[str]()
    zones = [Followed(story.site, "zb"), Followed(story.site, "zc")]
    for turn, fact in enumerate(teller.tell(entries)):
        entry = Entry("p", len(story.entries) + 1, NOON, *teller_of(fact, teller.draw), fact)
        story.entries.append(entry)
        moves = step(story.site, entry)
        for zone in zones:
            zone.following.after(moves)
        seen[zones[turn % 2].hold_together((seed, entry))] += 1
    return seen


def follow(story: Story, facts: Iterable[Fact], who: tuple[str, str]) -> list[str]:
    """Zone B after each of these, held to the whole question; its states."""
    zone, states = Followed(story.site, "zb"), []
    for fact in facts:
        entry = Entry("p", len(story.entries) + 1, NOON, *who, fact)
        story.entries.append(entry)
        zone.following.after(step(story.site, entry))
        states.append(zone.hold_together(fact))
    return states


@pytest.mark.parametrize("case", CASES, ids=str)
def test_every_fault_the_gate_knows_is_followed_in_and_out(case: Case) -> None:
    """Of a released zone: the fault takes the release away, and mending it does not bring that back."""
    states = follow(whole().release(), (*case.wrong, *case.mends), case.who)
    assert states[-1] == "clear"


def test_a_release_that_comes_back_with_its_very_facts_is_followed_back() -> None:
    again = patch("p9", "01", (600, 200))
    states = follow(
        whole().release(),
        (again, f.PatchWithdrawn("p9", "01", "zb", "B-01", "one too many")),
        LEAD,
    )
    assert states == ["held", "ready to place"]


def test_a_zone_that_is_being_placed_is_followed_through_damage_and_a_hold() -> None:
    states = follow(
        whole().release(),
        (
            PlacingStarted("zb", "B", "r1", NOON), mark("07", (500, 300)), patch("p7", "07", (500, 300)),
            seal("c9", "1"), f.ZoneHeld("h", "zb", "B", "storm", "hail"),
            f.HoldLifted("h", "zb", "B", "storm", "dry"),
        ),
        LEAD,
    )  # fmt: skip
    assert states == [*["ready to place"] * 4, "held", "held"]


def test_an_edge_sealed_beside_a_patch_is_where_its_film_ends() -> None:
    """A patch over a mark 3.6 in off the edge ends there: it counts once that edge is sealed, not before."""
    story = ground(replace(ready_made("us"), gate_demands=(), hold_points=())).tell(
        mark("01", (103, 300)), f.WalkFinished("zb", "B", "")
    )
    at_wall = patch("p1", "01", (103, 300), sides=Sides(None, 6 * INCH, 6 * INCH, 6 * INCH))
    states = follow(story, (at_wall, edge("4", 4), edge_seal("t", "4")), LEAD)
    assert states == ["held", "held", "clear"]


def test_film_logged_elsewhere_that_bares_or_covers_damage_under_tape_is_followed() -> None:
    """10 px are 1 ft. The patch on 01 reaches 5 ft both ways: its tape runs over 02 and 04. Film logged on 03
    and 05, 10 ft off from 01 and near none of its patch, covers those as long as it lies and they stand."""
    places = (("01", 500), ("02", 550), ("03", 604), ("04", 450), ("05", 396))
    story = ground(replace(ready_made("us"), gate_demands=(), hold_points=())).tell(
        *(mark(name, (x, 300), outline=Circle(INCH)) for name, x in places),
        patch("p1", "01", (500, 300), sides=None, outline=Rectangle(120 * INCH, 24 * INCH)),
        patch("p5", "05", (396, 300), sides=None, outline=Rectangle(148 * INCH, 24 * INCH)),
    )
    right = patch("p3", "03", (604, 300), sides=None, outline=Rectangle(148 * INCH, 24 * INCH))
    facts = (
        right, f.PatchWithdrawn("p3", "03", "zb", "B-03", "came off"), replace(right, patch="p4"),
        f.DefectWithdrawn("03", "zb", "B-03", "a leaf"),
    )  # fmt: skip
    told = []
    for fact in facts:
        follow(story, [fact], LEAD)
        told.append((story.standing().verdicts["01"].state, story.standing().verdicts["01"].others))
    assert told == [("sealed", ()), ("not sealed", ("B-02",)), ("sealed", ()), ("not sealed", ("B-02",))]


def test_a_wall_far_off_that_a_patch_over_the_joint_is_sealed_to_is_followed() -> None:
    """The patch was logged on a mark 15 ft inside zone C, where only its film reaches zone B."""
    story = ground(replace(ready_made("us"), gate_demands=(), hold_points=())).tell(
        mark("c1", (1050, 300), zone="zc", tag="C-01"), mark("01", (890, 300)),
        patch("p1", "c1", (1050, 300), zone="zc", also=("01",), sides=Sides(None, *[6 * INCH] * 3)),
    )  # fmt: skip
    follow(story, [f.WallDrawn("w", "s", "zc", px(1046, 280), px(1046, 320))], LEAD)
    (facts,) = (mark for mark in story.standing().facts.defects if mark.id == "01")
    assert facts.patches[0].walls_stand, "the wall is what the patch ends at"
