"""A placed slab's thickness readings against the tolerance for a slab on ground; exactly at it passes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from service.domain.words.measures import NM_PER_INCH
from service.domain.words.speech import later, tr

SOURCE = later(
    "ACI 117-10 section 4.5.4 (a magazine on it); what a thick place counts for by ACI 117-06, from memory"
)
AVERAGE_THIN_NM = 3 * NM_PER_INCH // 8
SAMPLE_THIN_NM = 3 * NM_PER_INCH // 4
COUNTS_THICK_NM = 3 * NM_PER_INCH // 4  # what is thicker counts as so much over in the average
METRIC_NOTE = later(
    "The tolerance is printed in inches, 3/8 and 3/4 in. In millimetres it is shown as exactly that, 9.525 "
    "and 19.05 mm."
)
SAMPLES_NOTE = later(
    "ACI 117 asks for at least four samples for every 5,000 sq ft or part of it (from memory): fewer "
    "may miss a thin place."
)

FAULT_WORDS = {
    "no-readings": later("no thickness was measured"),
    "average-thin": later("the average is more than 3/8 in under the thickness asked for"),
    "sample-thin": later("a reading is more than 3/4 in under the thickness asked for"),
}


class BadThickness(ValueError):
    """A thickness that cannot be judged: `code` for programs, the sentence (str) for people."""

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code


@dataclass(frozen=True, slots=True)
class ThicknessVerdict:
    """Nanometres; the average as the tolerance counts it, rounded down. `faults` are codes of FAULT_WORDS."""

    average_nm: int
    thinnest_nm: int
    meets: bool
    faults: tuple[str, ...]


def judge(readings_nm: Sequence[int], specified_nm: int) -> ThicknessVerdict:
    """Whether the slab is thick enough; no readings is a fault, never a pass. There is no limit above.

    BadThickness where the thickness asked for, or a reading, is not above 0.
    """
    if specified_nm <= 0:
        raise BadThickness("specified", tr("The thickness asked for must be more than 0."))
    if any(reading <= 0 for reading in readings_nm):
        raise BadThickness(
            "zero", tr("A thickness of 0 is no slab: measure again, or leave the reading out.")
        )
    if not readings_nm:
        return ThicknessVerdict(0, 0, False, ("no-readings",))
    most = specified_nm + COUNTS_THICK_NM
    average = Fraction(sum(min(reading, most) for reading in readings_nm), len(readings_nm))
    thinnest = min(readings_nm)
    found = (
        ("average-thin", average < specified_nm - AVERAGE_THIN_NM),
        ("sample-thin", thinnest < specified_nm - SAMPLE_THIN_NM),
    )
    faults = tuple(code for code, holds in found if holds)
    return ThicknessVerdict(math.floor(average), thinnest, not faults, faults)
