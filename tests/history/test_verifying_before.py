"""The part of a site that is judged by itself gives the very answers of the whole site."""

from __future__ import annotations

import pytest

from service.domain.gate.mark_facts import patches_by_mark
from service.domain.gate.told import withdrawn_in
from service.domain.gate.zone_facts import nm_per_px
from service.domain.patches.repair import Numbers
from service.domain.shapes.outlines import Circle
from service.domain.shapes.sides import Sides
from service.history.facts.entries import Entry
from service.history.facts.facts import ZoneOutlined
from service.history.replay.standing import GATES, digest_of, standing_of
from service.history.verifying.before import Before
from tests.history.random_story import MUCH_OF, Teller, teller_of
from tests.history.story import INCH, LEAD, NOON, mark, patch, ring, whole


@pytest.mark.parametrize("seed", range(len(MUCH_OF)))
def test_what_is_kept_while_replaying_is_what_the_whole_site_says(seed: int) -> None:
    """Two zones with a joint where most of it happens, asked now and then; a third lies far off."""
    teller, before = Teller(seed), Before()
    story = teller.story
    far = ring(((2400, 1400), (2900, 1400), (2900, 1900), (2400, 1900)))
    story.tell(ZoneOutlined("zd", "s", "D", "Far", far, None))
    story.tell(mark("far", (2600, 1600), zone="zd", tag="D-01"), who=LEAD)
    for entry in story.entries:
        before.take(entry)
    for turn, fact in enumerate(teller.tell(40)):
        entry = Entry("p", len(story.entries) + 1, NOON, *teller_of(fact, teller.draw), fact)
        story.tell(fact, who=(entry.by, entry.role))
        before.take(entry)
        if turn % 4 == 0:
            for zone in ("zb", "zc", "zd"):
                hold_together(before, zone)


def hold_together(before: Before, zone: str) -> None:
    site = before.site
    part, standing = before.standing(zone)
    truth = standing_of(site, zone)
    assert (standing.facts, standing.blockers, standing.state) == (truth.facts, truth.blockers, truth.state)
    assert standing.digest == truth.digest
    first = GATES[1].gather(before.round(zone), zone)
    assert digest_of(first, 1) == digest_of(GATES[1].gather(site, zone), 1)
    assert withdrawn_in(part, zone) == withdrawn_in(site, zone)
    assert before.states()[zone] == truth.state
    by_mark = patches_by_mark(site.patches.values())
    for id in site.defects:
        assert {p.id for p in before.laid_on(id)} == {p.id for p in by_mark.get(id, ())}
    around = before.around(zone)
    assert around is not None and around.numbers == before.numbers(zone) == truth.facts.numbers
    scale = site.sketches["s"].scale
    assert scale is not None and around.per_px == nm_per_px(scale)
    assert isinstance(around.numbers, Numbers)


def test_a_hole_past_the_joint_that_lies_under_a_patch_s_tape_is_not_left_out() -> None:
    """Zone B ends at x = 900; 1 px is 1.2 in. The patch reaches 12 in past its mark on the right, to 905.4,
    and its tape crosses the hole at 906.5, well outside the zone."""
    story = whole().tell(
        mark("09", (895, 600), "hole", Circle(INCH)),
        patch("p9", "09", (895, 600), sides=Sides(6 * INCH, 12 * INCH, 6 * INCH, 6 * INCH)),
        mark("c1", (906.5, 600), "hole", Circle(INCH), zone="zc", tag="C-01"),
    )
    before = Before()
    for entry in story.entries:
        before.take(entry)
    assert "band-on-damage" in story.faults()
    hold_together(before, "zb")


def test_a_zone_far_off_is_left_out() -> None:
    """Without it the part would be the whole, and nothing gained."""
    teller, before = Teller(0), Before()
    teller.story.tell(mark("m9", (200, 200)), who=LEAD)
    teller.story.tell(
        ZoneOutlined("zd", "s", "D", "", ring(((2400, 1400), (2900, 1400), (2900, 1900))), None)
    )
    for entry in teller.story.entries:
        before.take(entry)
    assert set(before.round("zd").defects) == set() and set(before.round("zb").defects) == {"m9"}
