"""How the ground becomes drawing units: the frame that fits a zone on a drawing as wide as a phone shows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from service.web.drawings.drawing import Px
from service.web.drawings.paths import Point

WIDE, MARGIN = 340.0, 30.0
TALLEST = 520.0  # a long thin zone is drawn smaller rather than longer than a phone
LEAST_SHOWN = 2.6  # drawing units: less than this across is too small to be seen for what it is


@dataclass(frozen=True, slots=True)
class Frame:
    """How the sketch's pixels become drawing units."""

    left: float
    top: float
    units_per_px: float
    nm_per_px: float
    width: float
    height: float

    def point(self, at: Px) -> Point:
        """Drawing units of a point in thousandths of a pixel."""
        u = self.units_per_px / 1000
        return (at[0] - self.left) * u + MARGIN, (at[1] - self.top) * u + MARGIN

    @property
    def units_per_nm(self) -> float:
        """Drawing units per nanometre on the ground."""
        return self.units_per_px / self.nm_per_px

    def around(self, at: Px) -> Callable[[float, float], Point]:
        """The function that takes nanometres from a mark's centre to drawing units."""
        (x, y), k = self.point(at), self.units_per_nm
        return lambda dx, dy: (x + dx * k, y + dy * k)


def frame_of(ring: tuple[Px, ...], nm_per_px: float) -> Frame:
    """The frame that fits a ring (thousandths of a pixel) on a drawing as wide as a phone shows."""
    left, top = min(x for x, _ in ring), min(y for _, y in ring)
    across = max(max(x for x, _ in ring) - left, 1) / 1000
    down = max(max(y for _, y in ring) - top, 1) / 1000
    k = min((WIDE - 2 * MARGIN) / across, (TALLEST - 2 * MARGIN) / down)
    return Frame(left, top, k, nm_per_px, max(across * k + 2 * MARGIN, WIDE * 0.6), down * k + 2 * MARGIN)
