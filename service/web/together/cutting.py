"""The pieces of film a zone's open marks need, by size, so that like pieces come off the roll together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from service.actions.frame.reading import ZoneView
from service.domain.gate.wording import say_state
from service.domain.nouns.rules import RuleSheet
from service.domain.nouns.site import Defect
from service.domain.patches.repair import NOT_SEALED
from service.domain.shapes.outlines import cut_size
from service.domain.words.measures import (
    NM_PER_FOOT,
    NM_PER_INCH,
    NM_PER_M,
    Units,
    say_area,
    say_distance,
    say_length,
    say_sides,
)
from service.domain.words.speech import tr, trn
from service.web.drawings.shown import where_words
from service.web.shared.crew_words import tape_length, what

SHOWN_STEP: dict[Units, int] = {"us": 1_587_500, "metric": 1_000_000}  # 1/16 in, 1 mm: as sizes are shown


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece: for which mark, where it goes, its least size and tape. told: why a piece is asked again."""

    tag: str
    what: str
    where: str
    least: str
    tape: str
    told: str


@dataclass(frozen=True, slots=True)
class SameSize:
    """Pieces of one cut size, told once over them."""

    heading: str
    pieces: tuple[Piece, ...]


@dataclass(frozen=True, slots=True)
class Cutting:
    """Groups from the widest down. `totals`: pairs (term, words), nothing added for waste."""

    groups: tuple[SameSize, ...]
    totals: tuple[tuple[str, str], ...]


def cutting_of(view: ZoneView, marks: Sequence[Defect]) -> Cutting:
    """What to cut for these marks, by the project's rule sheet."""
    sheet, units = view.seen.project.sheet, view.seen.project.units
    by_size: dict[tuple[int, int], list[Defect]] = {}
    for mark in marks:
        by_size.setdefault(size_as_cut(mark, sheet, units), []).append(mark)
    groups = [
        SameSize(
            trn(
                "{n} piece of {size}",
                "{n} pieces of {size}",
                len(group),
                size=say_sides(long, wide, units, "up"),
            ),
            tuple(_piece(view, mark) for mark in group),
        )
        for (wide, long), group in sorted(by_size.items(), reverse=True)
    ]
    return Cutting(tuple(groups), _totals(by_size, marks, sheet, units) if marks else ())


def size_as_cut(mark: Defect, sheet: RuleSheet, units: Units) -> tuple[int, int]:
    """Width and length in nanometres, the width the smaller, each rounded up to the step that is shown."""
    length, width, _ = cut_size(mark.outline, sheet.patch_overlap.nm, sheet.cut_allowance.nm)
    step = SHOWN_STEP[units]
    small, large = (-(-nm // step) * step for nm in sorted((length, width)))
    return small, large


def _piece(view: ZoneView, mark: Defect) -> Piece:
    sheet, units = view.seen.project.sheet, view.seen.project.units
    least = sorted(cut_size(mark.outline, sheet.patch_overlap.nm)[:2])
    verdict = view.verdict(mark)
    return Piece(
        tag=mark.tag,
        what=what(mark, units),
        where=where_words(view.seen.sketch, mark.at, units),
        least=say_sides(least[1], least[0], units, "up"),
        tape=say_length(tape_length(mark.outline, sheet), units, "up"),
        told=say_state(verdict, units) if verdict.state == NOT_SEALED else "",
    )


def _totals(
    by_size: dict[tuple[int, int], list[Defect]], marks: Iterable[Defect], sheet: RuleSheet, units: Units
) -> tuple[tuple[str, str], ...]:
    """Film and tape of all pieces: the pieces alone, because what a roll wastes is not known here."""
    film_m2 = sum(wide / NM_PER_M * long / NM_PER_M * len(group) for (wide, long), group in by_size.items())
    tape = sum(tape_length(mark.outline, sheet) for mark in marks)
    count = sum(map(len, by_size.values()))
    return (
        (tr("Pieces"), f"{count:,}"),
        (tr("Film"), say_area(film_m2, units)),
        (tr("Tape"), tape_to_fetch(tape, sheet, units)),
    )


def tape_to_fetch(nm: int, sheet: RuleSheet, units: Units) -> str:
    """How much tape, and how wide it is at least: `23 ft, 4 in wide or wider`."""
    width = say_length(sheet.tape_width.nm, units)
    return tr("{length}, {width} wide or wider", length=run_words(nm, units), width=width)


def run_words(nm: int, units: Units) -> str:
    """A length of tape rounded up, so that what is fetched is enough: `23 ft`, `7.1 m`."""
    if units == "us":
        return trn("{n} ft", "{n} ft", -(-nm // NM_PER_FOOT))
    tenths = -(-nm * 10 // NM_PER_M)
    return f"{tenths // 10:,}.{tenths % 10} m"


def film_words(nm2: int, units: Units, up: bool) -> str:
    """An area of film as `say_area` shows it, rounded up or down: `3.1 sq ft`, `under 0.1 sq ft`."""
    one = NM_PER_FOOT**2 if units == "us" else NM_PER_M**2
    step = one // 10 if nm2 < 100 * one else one
    steps = -(-nm2 // step) if up else nm2 // step
    told = say_area(max(steps, 1) * step / NM_PER_M**2, units)
    return told if steps else tr("under {amount}", amount=told)


def tape_words(nm: int, units: Units, up: bool) -> str:
    """A length of tape to the inch or the centimetre, rounded up or down; long ones to the foot or the tenth
    of a metre."""
    if units == "us":
        step = NM_PER_INCH if nm < 20 * NM_PER_FOOT else NM_PER_FOOT
    else:
        step = NM_PER_M // (100 if nm < NM_PER_M else 10)
    steps = -(-nm // step) if up else nm // step
    told = say_distance(max(steps, 1) * step, units)
    return told if steps else tr("under {amount}", amount=told)
