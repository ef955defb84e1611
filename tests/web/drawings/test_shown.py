"""Places as the site says them."""

from __future__ import annotations

import pytest

from service.domain.nouns.site import GridLine, Scale, Sketch
from service.web.drawings.shown import where_words

FOOT_NM = 304_800_000
ACROSS = (GridLine("3", (0, 0), (0, 900_000)), GridLine("4", (400_000, 0), (400_000, 900_000)))
ALONG = (GridLine("C", (0, 0), (900_000, 0)), GridLine("D", (0, 300_000), (900_000, 300_000)))


def sketch(grid: tuple[GridLine, ...]) -> Sketch:
    """10 px to the foot."""
    scale = Scale((0, 0), (100_000, 0), 10 * FOOT_NM)
    return Sketch("s", "Slab", "0" * 64, None, 1000, 1000, 3, 1, scale, None, grid, 1)


@pytest.mark.parametrize("grid", [ACROSS + ALONG, ALONG + ACROSS])
def test_letters_come_first_whichever_lines_were_laid_first(grid: tuple[GridLine, ...]) -> None:
    assert where_words(sketch(grid), (430_000, 0), "us") == "C/4, 3 ft east"


def test_a_sketch_without_a_grid_tells_no_place() -> None:
    assert where_words(sketch(()), (430_000, 0), "us") == ""
