"""Facts about laid sheets, orders, readings and placing as English sentences."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from service.domain.words.measures import Units, say_distance, say_length
from service.domain.words.speech import later, tr, trn
from service.history.facts import placing as p
from service.history.sentences.parts import noting, quoted


def _zones(letters: Sequence[str]) -> str:
    return ", ".join(letters)


def say_numbers(numbers: Sequence[int]) -> str:
    """Sheet numbers with runs drawn together: `1-4, 7`."""
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]}-{run[-1]}" if len(run) > 1 else f"{run[0]}" for run in runs)


def _kept(fact: p.LayoutKept, units: Units) -> str:
    said = trn(
        "kept a layout of {n} sheet for {zones}, off rolls {width} wide",
        "kept a layout of {n} sheets for {zones}, off rolls {width} wide",
        len(fact.sheets),
        zones=_zones(fact.letters),
        width=say_distance(fact.roll_width_nm, units),
    )
    if not fact.seams:
        return said
    return said + trn(
        ", and put its {n} seam on the punch list",
        ", and put its {n} seams on the punch list",
        len(fact.seams),
    )


def _laid(fact: p.SheetsLaid) -> str:
    said = trn(
        "logged sheet {sheets} as laid in zone {letter}, lot {number}",
        "logged sheets {sheets} as laid in zone {letter}, lot {number}",
        len(fact.sheets),
        sheets=say_numbers(fact.sheets),
        letter=fact.letter,
        number=fact.number,
    )
    return said + noting(fact.note)


def _unlaid(fact: p.SheetsLaidWithdrawn) -> str:
    return trn(
        "withdrew that sheet {sheets} was laid in zone {letter}: {reason}",
        "withdrew that sheets {sheets} were laid in zone {letter}: {reason}",
        len(fact.sheets),
        sheets=say_numbers(fact.sheets),
        letter=fact.letter,
        reason=fact.reason,
    )


def _order(fact: p.OrderPlanned) -> str:
    return trn(
        "planned the order of film in {n} delivery, {film} % of film and {tape} % of tape as allowance",
        "planned the order of film in {n} deliveries, {film} % of film and {tape} % of tape as allowance",
        max(1, len(fact.deliveries)),
        film=f"{fact.film_allowance_mpct / 1000:g}",
        tape=f"{fact.tape_allowance_mpct / 1000:g}",
    )


def _readings(fact: p.ReadingsTaken) -> str:
    if fact.source:
        said = trn(
            "took {n} weather reading for zone {letter} from the file {file}",
            "took {n} weather readings for zone {letter} from the file {file}",
            len(fact.taken),
            letter=fact.letter,
            file=quoted(fact.source),
        )
    else:
        said = trn(
            "took {n} weather reading for zone {letter}",
            "took {n} weather readings for zone {letter}",
            len(fact.taken),
            letter=fact.letter,
        )
    return said + noting(fact.note)


def _thickness(fact: p.ThicknessMeasured, units: Units) -> str:
    depths = ", ".join(say_length(reading.depth_nm, units) for reading in fact.taken)
    return tr(
        "measured the slab's thickness in zone {letter}: {depths}", letter=fact.letter, depths=depths
    ) + noting(fact.note)


def _gone(fact: Any, told: str) -> str:
    return tr(told, letter=fact.letter, reason=fact.reason)


TELL: dict[type, Callable[..., str]] = {
    p.LayoutKept: lambda fact, n, u: _kept(fact, u),
    p.LayoutWithdrawn: lambda fact, n, u: tr(
        "withdrew the layout of sheets for {zones}: {reason}", zones=_zones(fact.letters), reason=fact.reason
    ),
    p.SheetsLaid: lambda fact, n, u: _laid(fact),
    p.SheetsLaidWithdrawn: lambda fact, n, u: _unlaid(fact),
    p.OrderPlanned: lambda fact, n, u: _order(fact),
    p.PlacingPlanned: lambda fact, n, u: tr(
        "planned the placing of zone {letter}, {thickness} thick",
        letter=fact.letter,
        thickness=say_length(fact.thickness_nm, u),
    ),
    p.ReadingsTaken: lambda fact, n, u: _readings(fact),
    p.ReadingsWithdrawn: lambda fact, n, u: _gone(
        fact, later("withdrew weather readings for zone {letter}: {reason}")
    ),
    p.ThicknessMeasured: lambda fact, n, u: _thickness(fact, u),
    p.ThicknessWithdrawn: lambda fact, n, u: _gone(
        fact, later("withdrew thickness readings of zone {letter}: {reason}")
    ),
    p.PlacingStarted: lambda fact, n, u: tr("started placing zone {letter}", letter=fact.letter),
}
