"""What mends which kind of mark: every kind against every repair, each well made, and each badly made.

The kinds are the trade's list of damage and insufficient installation (TRADE.md 2.1); which repair mends
which is common practice, no source. Written out here, not read from the rules.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from service.domain.nouns.installed import CLEAN, LAP_AGAIN, REPAIRS, REPLACE_SHEET, TAPE_THE_SEAM
from service.domain.nouns.rules import REPLACE, SHEET_PATCH, TAPE_ONLY, ready_made
from service.domain.nouns.site import KINDS
from service.domain.patches.overlap import Piece
from service.domain.patches.repair import (
    DefectFacts,
    LookFacts,
    Numbers,
    PatchFacts,
    RepairFacts,
    judge_defect,
)
from service.domain.shapes.outlines import Rectangle
from service.domain.shapes.sides import Sides

INCH = 25_400_000
NUMBERS = Numbers.of(
    replace(ready_made("us"), gate_demands=(), repair_methods=(SHEET_PATCH, TAPE_ONLY, REPLACE))
)
FILM_OVER, TAPE_OVER = "film laid over it", "tape laid over it"
DAMAGE = {FILM_OVER, TAPE_OVER, REPLACE_SHEET}
SEAM_TAPE = {FILM_OVER, TAPE_OVER, TAPE_THE_SEAM, REPLACE_SHEET}
MENDS: dict[str, set[str]] = {
    "hole": DAMAGE,
    "tear": DAMAGE,
    "burn": DAMAGE,
    "other": DAMAGE,
    "open seam": SEAM_TAPE,
    "unbonded tape": SEAM_TAPE,
    "short lap": {FILM_OVER, TAPE_OVER, LAP_AGAIN, REPLACE_SHEET},
    "displaced sheet": {LAP_AGAIN, REPLACE_SHEET},
    "contamination": {FILM_OVER, TAPE_OVER, CLEAN, REPLACE_SHEET},
    "unsealed penetration": set(),
    "unsealed termination": set(),
}
WAYS = (FILM_OVER, TAPE_OVER, *REPAIRS)


def repair(method: str, **changes: Any) -> RepairFacts:
    well = RepairFacts("r", method, 6 * INCH, True, True, True, 4 * INCH, 60_000, True, LookFacts())
    return replace(well, **changes)


def patch(method: str) -> PatchFacts:
    return PatchFacts("p", Piece(sides=Sides(*[6 * INCH] * 4)), True, True, True, 4 * INCH, method, True)


def mark(kind: str, way: str, **changes: Any) -> DefectFacts:
    bare = DefectFacts("d", "B-01", kind, (0, 0), Rectangle(8 * INCH, INCH), ())
    if way in (FILM_OVER, TAPE_OVER):
        method = SHEET_PATCH if way == FILM_OVER else TAPE_ONLY
        return replace(bare, patches=(replace(patch(method), **changes),))
    return replace(bare, repairs=(repair(way, **changes),))


def test_every_kind_has_its_row() -> None:
    assert set(MENDS) == set(KINDS)


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("kind", KINDS)
def test_a_well_made_repair_mends_the_kinds_it_is_for_and_no_other(kind: str, way: str) -> None:
    state = judge_defect(mark(kind, way), NUMBERS).state
    assert state == ("sealed" if way in MENDS[kind] else "not sealed")


LAPPED = (TAPE_THE_SEAM, LAP_AGAIN, REPLACE_SHEET)
BADLY: list[tuple[tuple[str, ...], dict[str, Any], str]] = [
    (REPAIRS, {"cleaned": False}, "not-cleaned"),
    (REPAIRS, {"dry": False}, "not-dry"),
    (REPAIRS, {"film_mf": 39_999}, "too-cold"),
    (REPAIRS, {"look": LookFacts("refused", 1)}, "look-refused"),
    (LAPPED, {"taped": False}, "edges-not-taped"),
    (LAPPED, {"tape_width_nm": 4 * INCH - 1}, "tape-narrow"),
    (LAPPED, {"lap_nm": 6 * INCH - INCH // 16}, "lap-short"),
    (LAPPED, {"lap_nm": None}, "lap-short"),
    ((REPLACE_SHEET,), {"same_material": False}, "other-material"),
]


@pytest.mark.parametrize(("ways", "flaw", "reason"), BADLY)
def test_a_repair_badly_made_never_mends(ways: tuple[str, ...], flaw: dict[str, Any], reason: str) -> None:
    for way in ways:
        for kind in (kind for kind, mending in MENDS.items() if way in mending):
            verdict = judge_defect(mark(kind, way, **flaw), NUMBERS)
            assert (verdict.state, verdict.reasons) == ("not sealed", (reason,)), (way, kind)


def test_exactly_the_least_lap_tape_and_temperature_mend() -> None:
    assert judge_defect(mark("short lap", LAP_AGAIN, film_mf=40_000), NUMBERS).state == "sealed"


def test_cleaning_is_asked_for_no_tape_and_no_lap() -> None:
    cleaned = mark("contamination", CLEAN, taped=False, tape_width_nm=0, lap_nm=None)
    assert judge_defect(cleaned, NUMBERS).state == "sealed"


@pytest.mark.parametrize(("way", "kind"), [(TAPE_OVER, "hole"), (REPLACE_SHEET, "tear")])
def test_a_way_that_the_sheet_does_not_count_never_mends(way: str, kind: str) -> None:
    """ANSI/AARST RRNC-2020 permits tape only, and ASTM E1643 does not name it (TRADE.md row 60): the sheet
    decides."""
    only = replace(NUMBERS, repair_methods=(SHEET_PATCH,))
    verdict = judge_defect(mark(kind, way), only)
    assert (verdict.state, verdict.reasons) == ("not sealed", ("method-not-counted",))


def test_a_replaced_sheet_of_an_unknown_lot_counts_only_where_film_is_not_asked_for_by_lot() -> None:
    unknown = mark("tear", REPLACE_SHEET, same_material=None)
    assert judge_defect(unknown, NUMBERS).state == "sealed"
    verdict = judge_defect(unknown, replace(NUMBERS, gate_demands=("film",)))
    assert (verdict.state, verdict.reasons) == ("not sealed", ("lot-not-known",))


def test_a_patch_of_an_unknown_lot_that_is_short_is_told_to_be_both() -> None:
    """The lot alone would send the crew for a paper, and back again for a longer patch."""
    film = replace(NUMBERS, gate_demands=("film",))
    short = mark("hole", FILM_OVER, same_material=None)
    piece = Piece(sides=Sides(6 * INCH, 5 * INCH, 6 * INCH, 6 * INCH))
    short = replace(short, patches=tuple(replace(patch, piece=piece) for patch in short.patches))
    verdict = judge_defect(short, film)
    assert (verdict.state, verdict.reasons) == ("not sealed", ("short", "lot-not-known"))
    assert verdict.overlap is not None
    assert verdict.overlap.short_by_nm == INCH


def test_a_patch_of_an_unknown_lot_seals_nothing_however_well_it_reaches() -> None:
    film = replace(NUMBERS, gate_demands=("film",))
    verdict = judge_defect(mark("hole", FILM_OVER, same_material=None), film)
    assert (verdict.state, verdict.reasons) == ("not sealed", ("lot-not-known",))


def test_a_good_repair_beside_a_bad_one_mends_but_not_beside_a_refused_one() -> None:
    again = repair(LAP_AGAIN, id="r2")
    two = replace(mark("short lap", LAP_AGAIN), repairs=(repair(LAP_AGAIN, dry=False), again))
    assert judge_defect(two, NUMBERS).state == "sealed"
    refused = repair(LAP_AGAIN, look=LookFacts("refused", 1))
    verdict = judge_defect(replace(two, repairs=(refused, again)), NUMBERS)
    assert (verdict.state, verdict.reasons) == ("not sealed", ("look-refused",))


@pytest.mark.parametrize("way", [FILM_OVER, REPLACE_SHEET])
def test_damage_at_a_pipe_needs_its_collar_anew_as_well(way: str) -> None:
    verdict = judge_defect(replace(mark("hole", way), collars=("B-P03",)), NUMBERS)
    assert (verdict.state, verdict.reasons, verdict.others) == ("not sealed", ("collar-first",), ("B-P03",))


def test_a_patch_whose_tape_crosses_bare_damage_never_counts_and_names_it() -> None:
    verdict = judge_defect(mark("hole", FILM_OVER, band_on=("B-07",)), NUMBERS)
    assert (verdict.state, verdict.reasons, verdict.others) == ("not sealed", ("band-on-damage",), ("B-07",))


@pytest.mark.parametrize("kind", ["unsealed penetration", "unsealed termination"])
def test_what_is_sealed_elsewhere_is_mended_there_and_only_there(kind: str) -> None:
    bare = DefectFacts("d", "B-01", kind, (0, 0), Rectangle(INCH, INCH), ())
    assert judge_defect(bare, NUMBERS).state == "open"
    assert judge_defect(replace(bare, sealed_here=True), NUMBERS).state == "sealed"
    patched = judge_defect(mark(kind, FILM_OVER), NUMBERS)
    assert (patched.state, patched.reasons) == ("not sealed", ("sealed-elsewhere",))
