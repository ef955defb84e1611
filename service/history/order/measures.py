"""How an order list says lengths, areas and shares: rounded so that what is fetched is enough."""

from __future__ import annotations

from service.domain.words.measures import (
    NM_PER_FOOT,
    NM_PER_M,
    SIXTEENTH_NM,
    Units,
    say_area,
    say_perimeter,
    say_run,
)

NM_PER_MM = NM_PER_M // 1000


def cut_run(nm: int, units: Units) -> str:
    """A length to cut, rounded up to 1/16 in or 1 mm: `41 ft 6 1/2 in`."""
    step = SIXTEENTH_NM if units == "us" else NM_PER_MM
    return say_run(-(-nm // step) * step, units)


def left_run(nm: int, units: Units) -> str:
    """A length that is left, rounded down to 1 in or 1 cm."""
    step = 16 * SIXTEENTH_NM if units == "us" else NM_PER_MM * 10
    return say_run(nm // step * step, units)


def tape_run(nm: int, units: Units) -> str:
    """A length of tape, rounded up to a foot or a tenth of a metre."""
    step = NM_PER_FOOT if units == "us" else NM_PER_M // 10
    return say_perimeter(-(-nm // step) * step, units)


def film_area(nm2: int, units: Units) -> str:
    return say_area(nm2 / NM_PER_M**2, units)


def share_up(mpct: int) -> str:
    """Thousandths of a per cent, rounded up to a tenth of a per cent: `27.8 %`."""
    return share(-(-mpct // 100) * 100)


def share(mpct: int) -> str:
    """Thousandths of a per cent: `7.5 %`."""
    return f"{mpct / 1000:.3f}".rstrip("0").rstrip(".") + " %"
