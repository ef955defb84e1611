"""The short way to the bands: only patches near another mark are looked at, and the answer stays the same."""

from __future__ import annotations

from hypothesis import given, settings

from service.domain.patches.bands import PatchOnSketch, bands_on_damage
from service.domain.patches.overlap import Piece
from service.domain.shapes.nearby import Placed
from service.domain.shapes.outlines import Sides
from tests.domain.patches.test_bands import INCH, LAID_OUT, PER_PX, SIX, Logged, laid_out


def short_way(patches: list[PatchOnSketch], marks: list[Placed]) -> dict[str, tuple[str, ...]]:
    return bands_on_damage(patches, marks, PER_PX, SIX, own=False)


def long_way(patches: list[PatchOnSketch], marks: list[Placed]) -> dict[str, tuple[str, ...]]:
    """Everything told, and each patch's own mark taken out of it."""
    own = {patch.id: patch.on.id for patch in patches}
    told = bands_on_damage(patches, marks, PER_PX, SIX)
    others = {id: tuple(mark for mark in marks if mark != own[id]) for id, marks in told.items()}
    return {id: marks for id, marks in others.items() if marks}


@settings(max_examples=300, deadline=None)
@given(LAID_OUT)
def test_the_short_way_finds_what_the_long_way_finds(drawn: list[Logged]) -> None:
    marks, patches = laid_out(drawn)
    assert short_way(patches, marks) == long_way(patches, marks)


@settings(max_examples=150, deadline=None)
@given(LAID_OUT)
def test_so_it_does_for_patches_told_by_the_tape_measure(drawn: list[Logged]) -> None:
    marks, patches = laid_out(drawn)
    read = [
        PatchOnSketch(
            p.id,
            Piece(sides=Sides(k * INCH, 9 * INCH, 2 * INCH, 7 * INCH, 30_000_000)),
            p.on,
            p.tape_width_nm,
        )
        for k, p in enumerate(patches)
    ]
    assert short_way(read, marks) == long_way(read, marks)
