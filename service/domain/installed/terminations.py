"""How film ends along a zone's edge: what each kind of termination needs, its faults, and where film ends.

Positions are thousandths of a pixel of the base frame, lengths nanometres.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import shapely

from service.domain.nouns.installed import (
    FREE_EDGE,
    IMPEDIMENT,
    JOINT,
    OVER_FOOTING,
    SHORT_OF_FOOTING,
    SLAB_TOP,
    TO_WALL,
    EdgeSeal,
    Px,
    Termination,
)
from service.domain.nouns.rules import PRACTICE
from service.domain.patches.repair import Numbers
from service.domain.shapes.outlines import Circle, Outline, corners
from service.domain.words.measures import NM_PER_INCH, TOLERANCE_NM
from service.domain.words.speech import later

E1643_PERIMETER = later("ASTM E1643 6.5, paraphrased from an excerpt")
# Film ends where it is sealed to something that stands. At a joint it goes on; at a free edge, and where it
# stops short of the footing, nothing stands that a patch could be sealed to.
ENDS_AT = (OVER_FOOTING, TO_WALL, IMPEDIMENT, SLAB_TOP)
# A mark drawn this far beside the edge is still about that edge (chosen here, no source).
BESIDE_NM = NM_PER_INCH

# What must be done at each kind of termination, and where that is from.
NEEDS = {
    OVER_FOOTING: later(
        "Carry the film over the footing and turn it up; seal it to the foundation wall all along, "
        "on the engineer's or the local code's word that film may lie there."
    ),
    TO_WALL: later(
        "Turn the film up and seal it to the wall or grade beam all along, at the height of the top of slab."
    ),
    SHORT_OF_FOOTING: later(
        "Stop the film short of the footing only where the local code or the engineer forbids "
        "film under the bearing, and write down whose word that is."
    ),
    JOINT: later(
        "Run the film whole past the joint by at least the lap, and protect it until the next zone's film "
        "laps it."
    ),
    FREE_EDGE: later(
        "Carry the film flat and whole to the form and hold it down all along: nothing stands here to "
        "seal it to."
    ),
    IMPEDIMENT: later(
        "End the film at what is in its way, such as a waterstop or dowels, sealed to it all round."
    ),
    SLAB_TOP: later("Turn the film up and seal it to the slab at the height of its top, all along."),
}
NEEDS_SOURCES = {
    OVER_FOOTING: E1643_PERIMETER,
    TO_WALL: E1643_PERIMETER,
    SHORT_OF_FOOTING: PRACTICE,
    JOINT: PRACTICE,
    FREE_EDGE: PRACTICE,
    IMPEDIMENT: E1643_PERIMETER,
    SLAB_TOP: E1643_PERIMETER,
}
# What a form asks for besides how the sealing was done.
ASKS: dict[str, tuple[str, ...]] = {
    OVER_FOOTING: ("authority",),
    TO_WALL: (),
    SHORT_OF_FOOTING: ("authority",),
    JOINT: ("runs_past", "protected"),
    FREE_EDGE: (),
    IMPEDIMENT: ("what",),
    SLAB_TOP: (),
}
FAULT_WORDS = {
    "not-sealed-yet": later("nobody has logged how it was sealed"),
    "no-authority": later("it does not give the engineer's or the local code's word for it"),
    "no-impediment-named": later("it does not name what the film ends at"),
    "not-sealed": later("it is not sealed and whole all along"),
    "runs-past-short": later("the film does not run past the joint by the lap that the rule sheet asks"),
    "not-protected": later("the film that runs past the joint is not protected"),
    "tape-narrow": later("the tape is narrower than the rule sheet asks"),
    "not-cleaned": later("the film was not cleaned"),
    "not-dry": later("the film was not dry"),
    "too-cold": later("the film was colder than the rule sheet allows for tape"),
}


def termination_faults(termination: Termination, numbers: Numbers) -> tuple[str, ...]:
    """Why this stretch is not ended as its kind asks, as codes of FAULT_WORDS in order; empty when it is."""
    asks, seal = ASKS[termination.kind], termination.seal
    checks = [
        (seal is not None, "not-sealed-yet"),
        ("authority" not in asks or bool(termination.authority.strip()), "no-authority"),
        ("what" not in asks or bool(termination.what.strip()), "no-impediment-named"),
    ]
    if seal is not None:
        checks += [*_joint_checks(seal, asks, numbers), *_work_checks(seal, numbers)]
    return tuple(fault for holds, fault in checks if not holds)


def _joint_checks(seal: EdgeSeal, asks: tuple[str, ...], numbers: Numbers) -> list[tuple[bool, str]]:
    past = -1 if seal.runs_past_nm is None else seal.runs_past_nm
    return [
        (seal.sealed, "not-sealed"),
        ("runs_past" not in asks or past >= numbers.lap_nm, "runs-past-short"),
        ("protected" not in asks or seal.protected is True, "not-protected"),
    ]


def _work_checks(seal: EdgeSeal, numbers: Numbers) -> list[tuple[bool, str]]:
    """Without tape there is no width to judge: it is sealed by mastic, or nothing stands to tape to."""
    work = seal.work
    return [
        (work.tape_width_nm == 0 or work.tape_width_nm >= numbers.tape_width_nm, "tape-narrow"),
        (work.cleaned, "not-cleaned"),
        (work.dry, "not-dry"),
        (work.film_mf is None or work.film_mf >= numbers.tape_mf, "too-cold"),
    ]


def closes(termination: Termination, numbers: Numbers) -> bool:
    """Whether film ends at this stretch: it stands, is of a kind that film ends at, and has no fault."""
    ends = termination.withdrawn is None and termination.kind in ENDS_AT
    return ends and not termination_faults(termination, numbers)


def closing_lines(terminations: Sequence[Termination], numbers: Numbers) -> tuple[tuple[Px, Px], ...]:
    """The straight pieces at which film ends, as `ground.closed_sides` takes its walls."""
    return tuple(piece for each in terminations if closes(each, numbers) for piece in pairwise(each.path))


def beneath(
    outline: Outline, at: Px, terminations: Sequence[Termination], nm_per_px: float
) -> tuple[Termination, ...]:
    """The stretches that stand and that the mark's outline touches or comes within 1 in of; may be none."""
    standing = [each for each in terminations if each.withdrawn is None]
    lines = np.array([shapely.LineString(each.path) for each in standing], dtype=object)
    shape, reach_nm = _shape(outline, at, nm_per_px)
    near = shapely.dwithin(lines, shape, (reach_nm + BESIDE_NM + TOLERANCE_NM) * 1000 / nm_per_px)
    return tuple(each for each, touched in zip(standing, near, strict=True) if touched)


def _shape(outline: Outline, at: Px, nm_per_px: float) -> tuple[shapely.Geometry, float]:
    """The mark on the ground and how far it reaches past that: a circle is its centre and exact radius."""
    if isinstance(outline, Circle):
        return shapely.Point(at), outline.diameter_nm / 2
    per_nm = 1000 / nm_per_px
    return shapely.Polygon([(at[0] + x * per_nm, at[1] + y * per_nm) for x, y in corners(outline)]), 0.0
