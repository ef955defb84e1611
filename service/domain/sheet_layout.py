"""Lays out sheets of film over a floor: along the placing direction, lapped away from it, the least film sought."""

from __future__ import annotations

from collections.abc import Sequence

from service.domain.installed import JOINT, OVER_FOOTING, SLAB_TOP, TO_WALL
from service.domain.sheet_nouns import (
    BadLayout,
    Cost,
    EdgeRun,
    Flat,
    LaidSeam,
    LayoutAsked,
    Ring,
    Sheet,
    SheetLayout,
    check_asked,
)

__all__ = [
    "BadLayout",
    "Cost",
    "EdgeRun",
    "Flat",
    "LaidSeam",
    "LayoutAsked",
    "Ring",
    "Sheet",
    "SheetLayout",
    "costs",
    "default_past_nm",
    "lay_out",
]


def lay_out(asked: LayoutAsked) -> SheetLayout:
    """The sheets and seams that cover what is asked; BadLayout where none can."""
    check_asked(asked)
    raise NotImplementedError


def costs(asked: LayoutAsked, offsets: Sequence[int]) -> tuple[Cost, ...]:
    """What each of these offsets would come to; BadLayout as `lay_out`."""
    check_asked(asked)
    raise NotImplementedError


def default_past_nm(kind: str, *, slab_nm: int, lap_nm: int) -> int:
    """How far film is offered to run past an edge ended so (`installed.TERMINATION_KINDS`); a person may say more.

    Turned up by the slab's thickness where it is sealed at the top of the slab (ASTM E1643 6.5, paraphrased from
    an excerpt), past a joint by the lap, to the line elsewhere (common practice, no source).
    """
    if kind in (OVER_FOOTING, TO_WALL, SLAB_TOP):
        return slab_nm
    return lap_nm if kind == JOINT else 0
