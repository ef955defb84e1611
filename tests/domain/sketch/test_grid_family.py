"""Families of grid lines: parallel, evenly spaced, on the side asked for, on the picture or refused."""

from __future__ import annotations

import math

import pytest

from service.domain.sketch.grid_family import SIDES, family, label_after
from service.domain.words.refusals import BadInput


@pytest.mark.parametrize(
    ("label", "following"),
    [
        ("A", "B"),
        ("H", "J"),
        ("N", "P"),
        ("Z", "AA"),
        ("AZ", "BA"),
        ("ZZ", "AAA"),
        ("9", "10"),
        ("B.2", "B.3"),
    ],
)
def test_labels_go_on_without_i_and_o(label: str, following: str) -> None:
    """Letters read as figures are left out of grids: common practice, no source."""
    assert label_after(label) == following


@pytest.mark.parametrize("label", ["", "%", "A-"])
def test_a_label_that_nothing_follows_says_so(label: str) -> None:
    with pytest.raises(BadInput):
        label_after(label)


@pytest.mark.parametrize("toward", SIDES)
@pytest.mark.parametrize("turn", [20, 110, 200, 290])
def test_each_line_lies_the_spacing_further_on_the_side_asked_for(toward: str, turn: int) -> None:
    """Distances by the cross product of the line, worked out here."""
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    a, b = (500 - 100 * c, 500 - 100 * s), (500 + 100 * c, 500 + 100 * s)
    for n, (_, p, q) in enumerate(family("1", (a, b), 40.0, 3, toward, 1000, 1000)):
        for x, y in (p, q):
            assert abs((b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0])) / 200 == pytest.approx(40 * n)
        middle = (p[0] + q[0]) / 2 - 500, (p[1] + q[1]) / 2 - 500
        assert n == 0 or middle[0] * SIDES[toward][0] + middle[1] * SIDES[toward][1] > 0


def test_a_line_that_runs_past_the_picture_is_cut_off_at_its_edge() -> None:
    ((_, p, q),) = family("A", ((-50, 100), (900, 100)), 1.0, 0, "down", 600, 400)
    assert (p, q) == ((0, 100), (600, 100))


def test_a_line_off_the_picture_is_refused_by_its_label() -> None:
    with pytest.raises(BadInput, match="Line C would lie off the picture"):
        family("A", ((100, 0), (100, 400)), 300.0, 5, "right", 600, 400)
    assert len(family("A", ((0, 0), (0, 400)), 300.0, 2, "right", 600, 400)) == 3
