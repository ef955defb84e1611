"""What a neighbour brings across a joint, and what comes after the second look: each once passed unseen."""

from __future__ import annotations

from service.domain.nouns.installed import SIDE_LAP
from service.domain.nouns.rules import LOOK_STEP, ready_made
from service.domain.shapes.outlines import Circle
from service.domain.shapes.sides import Sides
from service.history.facts import installed as g
from tests.history.story import EYE, INCH, LEAD, look, mark, patch, ring, signed, whole

HOLD = ("hold-point-open", "B")


def test_a_patch_laid_after_the_second_look_asks_for_the_look_anew() -> None:
    story = whole(ready_made("us")).release().tell(mark("09", (700, 600)), patch("p9", "09", (700, 600)))
    assert story.told() == {HOLD}
    story.tell(signed("anew", LOOK_STEP), who=EYE)
    assert (story.state, story.standing().fallen) == ("clear", True)


def test_a_patch_that_another_person_accepted_by_itself_leaves_the_second_look_standing() -> None:
    story = whole(ready_made("us")).tell(mark("09", (700, 600)), patch("p9", "09", (700, 600)))
    assert story.tell(look("k9", "p9", "09"), who=EYE).told() == set()


def test_a_second_look_by_whoever_laid_the_patch_is_none() -> None:
    story = whole(ready_made("us")).tell(mark("09", (700, 600)), patch("p9", "09", (700, 600)))
    assert story.tell(signed("own", LOOK_STEP), who=LEAD).told() == {HOLD}


def test_a_patch_whose_tape_crosses_an_open_hole_past_the_joint_does_not_seal() -> None:
    """Zone B ends at x = 900. The patch reaches 6 in past its mark on every side, its tape 2 in past that;
    the hole lies past the joint, right under the tape."""
    story = whole(ready_made("us")).tell(
        mark("09", (895, 600), "hole", Circle(INCH)),
        patch("p9", "09", (895, 600), sides=Sides(*[6 * INCH] * 4)),
    )
    story.tell(signed("anew", LOOK_STEP), who=EYE)
    assert story.told() == set()
    # 6.5 in to the patch's edge from its mark's middle; 1 px is 1.2 in: the hole's middle 7.2 in away.
    story.tell(mark("c1", (901, 600), "hole", Circle(INCH), zone="zc", tag="C-01"))
    assert story.told() == {("defect-not-sealed", "B-09")}
    assert "band-on-damage" in story.faults()


def test_tape_over_a_hole_past_the_joint_that_is_patched_itself_seals() -> None:
    story = whole(ready_made("us")).tell(
        mark("09", (895, 600), "hole", Circle(INCH)), patch("p9", "09", (895, 600)),
        mark("c1", (901, 600), "hole", Circle(INCH), zone="zc", tag="C-01"),
        patch("p10", "c1", (901, 600), zone="zc"),
    )  # fmt: skip
    story.tell(signed("anew", LOOK_STEP), who=EYE)
    assert story.told() == set()


def _next_door(name: str, far_in: float) -> g.SeamDrawn:
    """A seam of zone C that runs so far into zone B, in pixels."""
    path = ring(((1500, 300), (900 - far_in, 300)))
    return g.SeamDrawn(name, "s", "zc", f"C-S{name}", SIDE_LAP, path, "")


def test_a_neighbours_seam_that_runs_in_holds_both_zones_until_it_is_walked() -> None:
    assert whole().tell(_next_door("9", 100)).told() == {("seam-at-fault", "C-S9")}


def test_a_neighbours_seam_that_ends_at_the_joint_holds_its_own_zone_alone() -> None:
    assert whole().tell(_next_door("9", 0)).told() == set()
    assert whole().tell(_next_door("8", 4)).told() == set(), "a hand's breadth past the line it was drawn to"
