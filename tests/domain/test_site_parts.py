"""A zone asked of its part of the site gives the answer of the whole site, and does not read the rest."""

from __future__ import annotations

import pytest

from service.domain.gate.site_parts import SiteParts
from service.domain.shapes.outlines import Circle
from service.domain.shapes.sides import Sides
from service.history.facts.facts import ZoneOutlined
from service.history.replay.standing import GATES, digest_of, standing_of, standings_of
from tests.history.random_story import MUCH_OF, Teller
from tests.history.story import INCH, LEAD, mark, patch, ring, whole

FAR = ring(((2400, 1400), (2900, 1400), (2900, 1900), (2400, 1900)))


@pytest.mark.parametrize("seed", range(len(MUCH_OF)))
def test_every_zone_of_a_random_story_stands_alike_in_its_part(seed: int) -> None:
    """Two zones with a joint where most of it happens; a third lies far off."""
    teller = Teller(seed)
    story = teller.story
    story.tell(ZoneOutlined("zd", "s", "D", "Far", FAR, None))
    story.tell(mark("far", (2600, 1600), zone="zd", tag="D-01"), who=LEAD)
    for turn, fact in enumerate(teller.tell(60)):
        story.tell(fact)
        if turn % 6:
            continue
        told = standings_of(story.site)
        for zone_id in ("zb", "zc", "zd"):
            truth, part = standing_of(story.site, zone_id), SiteParts(story.site).of(zone_id)
            assert told[zone_id] == truth and told[zone_id].digest == truth.digest
            first = GATES[1]
            assert digest_of(first.gather(part, zone_id), 1) == digest_of(
                first.gather(story.site, zone_id), 1
            )


def test_a_hole_past_the_joint_that_lies_under_a_patch_s_tape_is_in_the_part() -> None:
    """Zone B ends at x = 900; 1 px is 1.2 in. The patch reaches 12 in past its mark on the right, to 905.4,
    and its tape crosses the hole at 906.5, well outside the zone."""
    story = whole().tell(
        mark("09", (895, 600), "hole", Circle(INCH)),
        patch("p9", "09", (895, 600), sides=Sides(6 * INCH, 12 * INCH, 6 * INCH, 6 * INCH)),
        mark("c1", (906.5, 600), "hole", Circle(INCH), zone="zc", tag="C-01"),
    )
    assert "c1" in SiteParts(story.site).of("zb").defects
    told = standings_of(story.site, ["zb"])
    assert list(told) == ["zb"] and "band-on-damage" in story.faults()
    assert told["zb"].blockers == standing_of(story.site, "zb").blockers


def test_marks_far_off_and_the_patches_on_them_are_left_out() -> None:
    """Without it the part would be the whole, and nothing gained."""
    story = whole().tell(
        ZoneOutlined("zd", "s", "D", "Far", FAR, None),
        mark("far", (2600, 1600), zone="zd", tag="D-01"),
        patch("pf", "far", (2600, 1600)),
    )
    parts = SiteParts(story.site)
    near, far = parts.of("zb"), parts.of("zd")
    assert "far" not in near.defects and "pf" not in near.patches
    assert set(far.defects) == {"far"} and set(far.patches) == {"pf"}
    assert near.zones == far.zones == story.site.zones
