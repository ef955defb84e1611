"""While concrete comes: damage found does not end it, all else takes the release's force as ever."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from service.domain.gate.zone_facts import marks_in_zone, nm_per_px
from service.domain.nouns.installed import Raised
from service.domain.nouns.rules import ready_made
from service.domain.shapes.outlines import Circle
from service.history.facts import facts as f
from service.history.facts import installed as g
from service.history.facts.entries import Entry
from service.history.facts.every_fact import Fact
from service.history.facts.placing import PlacingStarted
from service.history.replay.replay import apply, replay
from service.history.replay.standing import GATES, READY, digest_of, standing_of
from tests.history.cases import CASES, Case
from tests.history.random_story import Teller, teller_of
from tests.history.story import (
    CORNERS,
    EYE,
    INCH,
    MANAGER,
    NOON,
    SCALE,
    Story,
    edge_seal,
    ground,
    laid,
    look,
    mark,
    patch,
    repair,
    ring,
    seal,
    seam_walk,
    signed,
    whole,
)

BEGUN = PlacingStarted("zb", "B", "r1", NOON)
# What damage found while placing brings: said here anew, by the kind of fact, not by what the service reads.
BROUGHT = (
    f.DefectMarked, f.PatchLogged, g.RepairLogged, g.SealLogged, g.SeamWalked, g.TerminationSealed,
    g.CauseTold, f.PhotoAdded, f.WalkFinished, PlacingStarted,
)  # fmt: skip


def placing() -> Story:
    """The whole zone B, released as r1, and concrete begins to come at once."""
    return whole().release().tell(BEGUN)


def found(story: Story) -> set[tuple[str, str]]:
    return {(blocker.code, blocker.name) for blocker in story.standing().found}


def test_damage_found_while_placing_is_told_and_does_not_end_it() -> None:
    story = placing()
    assert (story.state, found(story)) == (READY, set())
    story.tell(mark("07", (500, 300)))
    assert (story.state, found(story)) == (READY, {("defect-open", "B-07")})
    assert story.site.defects["07"].during_placing and not story.site.defects["01"].during_placing
    story.tell(patch("p7", "07", (500, 300)))
    story.tell(look("k7", "p7", "07"), who=EYE)
    assert (story.state, found(story)) == (READY, set())


def test_a_collar_an_edge_and_a_seam_done_anew_while_placing_leave_the_release_standing() -> None:
    story = placing().tell(seal("c2", "1"), edge_seal("es9", "2"), seam_walk("w2", "1"))
    assert (story.state, found(story)) == (READY, set())
    story.tell(seal("c3", "1", taped_to_pipe=False), seam_walk("w3", "1", lap_nm=5 * INCH))
    assert (story.state, found(story)) == (
        READY,
        {("penetration-not-sealed", "B-P1"), ("seam-at-fault", "B-S1")},
    )


@pytest.mark.parametrize("case", CASES, ids=str)
def test_of_every_fault_the_gate_knows_only_those_that_damage_brings_leave_it_standing(case: Case) -> None:
    story = placing().tell(*case.wrong, who=case.who)
    damage = all(isinstance(fact, BROUGHT) or getattr(fact, "accepted", False) for fact in case.wrong)
    assert (story.state == READY) == damage
    if damage:
        assert found(story) >= case.holds, "what stands is told as found during placing"
    else:
        assert story.standing().fallen and not story.standing().found
        assert story.tell(*case.mends, who=case.who).state == "clear", "and nothing brings the release back"


def _gone(name: str, seal_id: str) -> g.SealWithdrawn:
    return g.SealWithdrawn(seal_id, name, (), "zb", f"B-P{name}", "torn off")


EDGE_GONE = g.EdgeSealWithdrawn("es1", "1", "zb", "B-E1", "lifted")
ANEW = ring(((100, 100), (900, 100), (900, 690), (100, 700)))
WALKED = f.WalkFinished("zb", "B", "")
# What takes the release's force, with all that could be thought to bring it back.
TAKES: dict[str, tuple[Fact, ...]] = {
    "a hold that is lifted": (
        f.ZoneHeld("h", "zb", "B", "storm", "x"), f.HoldLifted("h", "zb", "B", "storm", "dry"),
    ),
    "an old seal taken back and made anew": (_gone("1", "c1"), seal("c9", "1")),
    "a seal made anew, taken back and made again": (seal("c9", "1"), _gone("1", "c9"), seal("c10", "1")),
    "an old seal taken back after another": (seal("c9", "1"), _gone("1", "c1")),
    "an edge's seal taken back and made anew": (EDGE_GONE, edge_seal("es9", "1")),
    "an edge's seal made anew, taken back and made again": (
        edge_seal("es9", "1"), replace(EDGE_GONE, seal="es9"), edge_seal("es10", "1"),
    ),
    "the zone's numbers": (g.NumbersRaised("zb", "B", (Raised("lap", 6 * INCH, "x"),), ()),),
    "a refused hold point, then signed": (
        signed("h8", "film covers the zone", False), signed("h9", "film covers the zone"),
    ),
    "the scale, set as it was": (f.ScaleSet("s", SCALE), WALKED),
    "the outline, drawn anew and back": (
        f.ZoneChanged("zb", "", ANEW, None), f.ZoneChanged("zb", "", ring(CORNERS), None), WALKED,
    ),
    "film laid anew": (laid("y9", "l1", "F-1"),),
    "an old mark withdrawn": (f.DefectWithdrawn("01", "zb", "B-01", "a leaf"),),
    "new work refused, then accepted and taken back": (
        mark("07", (500, 300)), patch("p7", "07", (500, 300)), look("k7", "p7", "07", False),
        look("k8", "p7", "07"), f.PatchWithdrawn("p7", "07", "zb", "B-07", "up"),
        f.DefectWithdrawn("07", "zb", "B-07", "a leaf"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", TAKES)
def test_what_is_no_damage_takes_the_release_away_for_good(name: str) -> None:
    story, states = placing(), []
    for fact in TAKES[name]:
        states.append(story.tell(fact, who=EYE).state)
    assert states[-1] != READY and story.standing().fallen
    assert story.standing().placing is None and story.standing().found == ()


def test_after_a_pull_back_the_ordinary_rule_holds_again() -> None:
    story = placing().tell(mark("07", (500, 300)))
    story.tell(f.ReleasePulledBack("r1", "zb", "B", "rain"), who=MANAGER)
    assert (story.state, story.site.zones["zb"].placing) == ("held", None)
    story.tell(mark("08", (520, 300)))
    assert not story.site.defects["08"].during_placing


def test_another_release_ends_the_placing_under_the_one_before() -> None:
    story = placing().tell(f.ZoneHeld("h", "zb", "B", "storm", "x"))
    story.tell(mark("07", (500, 300)))
    assert story.site.defects["07"].during_placing, "the concrete goes on coming, whatever the gate says"
    story.tell(f.HoldLifted("h", "zb", "B", "storm", "dry"), f.DefectWithdrawn("07", "zb", "B-07", "a leaf"))
    assert story.release("r2").state == READY
    assert story.tell(mark("08", (500, 300))).state == "held", "nobody started placing under the new release"


def test_placing_named_under_a_release_that_does_not_stand_lends_it_no_force() -> None:
    story = whole().release().tell(mark("07", (500, 300)), BEGUN)
    assert story.state == "held"
    assert story.tell(patch("p7", "07", (500, 300))).state == "held"


def test_placing_named_under_an_older_release_than_the_one_that_stands_lends_it_no_force() -> None:
    story = whole().release().tell(f.ReleasePulledBack("r1", "zb", "B", "rain"), who=MANAGER)
    assert story.release("r2").tell(BEGUN).state == READY
    assert story.tell(mark("07", (500, 300))).state == "held"


def test_a_repair_or_a_patch_more_on_an_old_mark_leaves_the_release_standing() -> None:
    story = placing().tell(repair("q8", "02"), patch("p8", "01", (600, 200)))
    assert (story.state, found(story)) == (
        READY,
        {("second-look", "B-01"), ("second-look", "B-02"), ("hold-point-open", "B")},
    )


def test_a_neighbour_s_mark_that_reaches_in_is_found_during_placing_here_and_holds_its_own_zone() -> None:
    """The joint is at x = 900; a mark 4 in long is 3.3 px."""
    story = placing().tell(mark("c1", (901, 300), zone="zc", tag="C-01"))
    assert (story.state, found(story)) == (READY, {("defect-open", "C-01")})
    assert ("defect-open", "C-01") in {(b.code, b.name) for b in story.standing("zc").blockers}
    assert not story.site.defects["c1"].during_placing, "its own zone is not being placed"


def test_damage_under_the_tape_of_an_old_patch_is_told_with_it() -> None:
    """The patch of B-01 reaches 6 in past its mark: its 4 in tape crosses a hole 7 in from it."""
    story = placing().tell(mark("07", (605.5, 200), outline=Circle(INCH)))
    assert story.state == READY
    assert found(story) >= {("defect-open", "B-07"), ("defect-not-sealed", "B-01")}


def test_a_release_under_the_first_gate_is_held_to_its_own_facts_while_placing() -> None:
    sheet = replace(ready_made("us"), gate_demands=(), hold_points=())
    story = ground(sheet).tell(mark("01", (600, 200)), patch("p1", "01", (600, 200)), WALKED)
    digest = digest_of(GATES[1].gather(story.site, "zb"), 1)
    story.tell(f.ZoneReleased("r1", "zb", "B", digest, 1, "seen", (), ()), who=MANAGER).tell(BEGUN)
    assert story.tell(mark("07", (500, 300))).state == READY
    assert found(story) == {("defect-open", "B-07")}
    assert story.tell(f.PatchWithdrawn("p1", "01", "zb", "B-01", "off")).state == "held"


# --- held to another way of asking ------------------------------------------------------------------------


class LeftOut:
    """The same story in which what damage brings is never told after placing began, under the plain rule."""

    def __init__(self, story: Story, zone: str, begun: int) -> None:
        self.zone, self.site = zone, replay(story.entries[:begun])
        self.site.put(replace(self.site.zones[zone], placing=None))
        self.new: set[str] = set()
        self.refused = False
        self.seals = {id: {p.seal.id} if p.seal else set() for id, p in self.site.penetrations.items()}

    def take(self, entry: Entry, story: Story) -> None:
        fact = entry.fact
        match fact:
            case f.DefectMarked(defect=name) | f.PatchLogged(patch=name) | g.RepairLogged(repair=name):
                self.new.add(name)
            case g.SealLogged():
                for id in (fact.penetration, *fact.also):
                    self.seals.setdefault(id, set()).add(fact.seal)
            case g.SealWithdrawn():
                for id in (fact.penetration, *fact.also):
                    if fact.seal in self.seals.get(id, ()):
                        self.site.put(replace(self.site.penetrations[id], seal=None))
            case g.PatchLookedAt(accepted=False) | g.RepairLookedAt(accepted=False):
                self.refused = self.refused or self._here(story, fact)
            case g.SeamWalked() | g.TerminationSealed() | PlacingStarted():
                pass
            case _ if not self.new.isdisjoint(
                getattr(fact, name, "") for name in ("defect", "patch", "repair")
            ):
                pass
            case _:
                apply(self.site, entry)

    def _here(self, story: Story, fact: g.PatchLookedAt | g.RepairLookedAt) -> bool:
        of = {fact.defect}
        if isinstance(fact, g.PatchLookedAt):
            of |= set(story.site.patches[fact.patch].also)
        zone = story.site.zones[self.zone]
        scale = story.site.sketches[zone.sketch_id].scale
        assert scale is not None
        marks = marks_in_zone(story.site, zone, nm_per_px(scale))
        return fact.zone == self.zone or not of.isdisjoint(mark.id for mark in marks)

    @property
    def stands(self) -> bool:
        return not self.refused and standing_of(self.site, self.zone).state == READY


@pytest.mark.parametrize("seed", range(3))
def test_whatever_happens_the_release_stands_as_if_damage_had_never_been_told(seed: int) -> None:
    assert campaign(seed, 4, 15)["placing"], "a campaign in which nothing is placed tests nothing"


def campaign(seed: int, stories: int, entries: int) -> Counter[str]:
    """Random stories that start from the whole zone B, released and being placed."""
    seen = Counter[str]()
    for number in range(stories):
        teller = Teller(1000 * seed + number)
        teller.count = 100  # past the names of the story it goes on with
        story = teller.story = placing()
        begun = len(story.entries)
        other = LeftOut(story, "zb", begun)
        for fact in teller.tell(entries):
            story.tell(fact, who=teller_of(fact, teller.draw))
            zone = story.site.zones["zb"]
            if zone.placing is None or zone.placing.seq != begun or zone.placement is not None:
                break
            other.take(story.entries[-1], story)
            standing = story.standing()
            assert (standing.state == READY) == other.stands, (seed, number, fact)
            assert (standing.placing is not None) == other.stands
            seen["placing" if other.stands else "fallen"] += 1
            seen["found"] += bool(standing.found)
    return seen
