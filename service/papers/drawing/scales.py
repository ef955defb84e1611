"""The scales that drawings are usually drawn at, the one that fits a paper, and the bar that proves it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from service.domain.words.measures import NM_PER_FOOT, NM_PER_M, NM_PER_MM, Units
from service.domain.words.speech import tr

# Architects' and engineers' scales of the US, and the metric series: common practice, no source.
ARCHITECTS = ("1", "3/4", "1/2", "3/8", "1/4", "3/16", "1/8", "3/32", "1/16")  # inches of paper to a foot
ENGINEERS = (20, 30, 40, 50, 60, 100, 200, 500, 1000, 2000, 5000)  # feet to an inch of paper
METRIC = (10, 20, 25, 50, 100, 200, 250, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000)
# Tenths of a foot or of a metre that a scale bar may stand for; feet are told whole.
BARS = tuple(n * 10**zeros for zeros in range(5) for n in (1, 2, 5))


@dataclass(frozen=True, slots=True)
class PaperScale:
    """`ratio`: how many times longer the ground is than the paper; `words` as a title block has them."""

    words: str
    ratio: Fraction

    def paper_mm(self, ground_nm: float) -> float:
        """Millimetres of paper that a length on the ground takes."""
        return ground_nm / NM_PER_MM / float(self.ratio)


@dataclass(frozen=True, slots=True)
class Bar:
    """A scale bar: what it stands for (`0`, `10`, `20 ft`), how long it is on paper, and that in words."""

    ground_nm: int
    paper_mm: float
    labels: tuple[str, str, str]
    words: str


@lru_cache(maxsize=2)
def usual_scales(units: Units) -> tuple[PaperScale, ...]:
    """From the largest drawing to the smallest."""
    if units == "metric":
        return tuple(PaperScale(f"1:{n:,}", Fraction(n)) for n in METRIC)
    feet = [(f"{inches} in = 1 ft", 12 / Fraction(inches)) for inches in ARCHITECTS]
    feet += [(f"1 in = {n:,} ft", Fraction(12 * n)) for n in ENGINEERS]
    return tuple(PaperScale(f"{words} (1:{ratio.numerator:,})", ratio) for words, ratio in feet)


def scale_that_fits(
    width_nm: float, height_nm: float, width_mm: float, height_mm: float, units: Units
) -> PaperScale:
    """The usual scale that draws this much ground as large as the paper takes it.

    Ground larger than the smallest usual scale holds gets a whole ratio of its own.
    """
    least = max(width_nm / NM_PER_MM / width_mm, height_nm / NM_PER_MM / height_mm)
    for scale in usual_scales(units):
        if scale.ratio >= least:
            return scale
    ratio = -(-int(least + 1) // 10_000) * 10_000
    return PaperScale(f"1:{ratio:,}", Fraction(ratio))


def bar_for(scale: PaperScale, units: Units, most_mm: float) -> Bar:
    """The longest bar of round feet or metres that is no longer than this on paper."""
    tenth_nm, unit = (NM_PER_FOOT // 10, "ft") if units == "us" else (NM_PER_M // 10, "m")
    bars = [n for n in BARS if units == "metric" or n % 10 == 0]
    n = [n for n in bars if n == bars[0] or scale.paper_mm(n * tenth_nm) <= most_mm][-1]
    paper, whole = scale.paper_mm(n * tenth_nm), f"{_plain(n * 10)} {unit}"
    long = _paper_words(paper, units)
    words = tr("Printed true, the bar of {whole} is {length} long.", whole=whole, length=long)
    return Bar(n * tenth_nm, paper, ("0", _plain(n * 5), whole), words)


def _plain(hundredths: int) -> str:
    """`20`, `0.5`, `2.5`, `1,000`."""
    return f"{hundredths / 100:,.2f}".rstrip("0").rstrip(".")


def _paper_words(mm: float, units: Units) -> str:
    return f"{mm / 25.4:.2f} in ({mm:.1f} mm)" if units == "us" else f"{mm:.1f} mm"
