"""Is this defect sealed? Workmanship, method, kind and overlap, each on its own."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.domain.nouns.rules import ready_made
from service.domain.nouns.site import KINDS, OTHER_REPAIR, PATCHABLE
from service.domain.patches.overlap import Piece
from service.domain.patches.repair import COVERED, DefectFacts, Numbers, PatchFacts, judge_defect
from service.domain.shapes.outlines import Circle, Rectangle
from service.domain.shapes.sides import Sides

INCH = 25_400_000
NUMBERS = Numbers.of(replace(ready_made("us"), gate_demands=()))


def patch(
    *, right: int = 6 * INCH, name: str = "p", cleaned: bool = True, tape: int = 4 * INCH, **more: object
) -> PatchFacts:
    sides = Sides(6 * INCH, right, 6 * INCH, 6 * INCH)
    made = PatchFacts(name, Piece(sides=sides), cleaned, True, True, tape, "sheet patch", True)
    return replace(made, **more)  # type: ignore[arg-type]


def defect(*patches: PatchFacts, kind: str = "tear") -> DefectFacts:
    return DefectFacts("d", "B-01", kind, (0, 0), Rectangle(4 * INCH, 2 * INCH), patches)


def test_a_mark_with_nothing_logged_is_open() -> None:
    assert judge_defect(defect(), NUMBERS).state == "open"


def test_exactly_the_minimum_seals() -> None:
    verdict = judge_defect(defect(patch()), NUMBERS)
    assert (verdict.state, verdict.reasons) == ("sealed", ())
    assert verdict.overlap is not None and verdict.overlap.overlap_nm == 6 * INCH


def test_one_sixteenth_less_does_not_seal_and_says_by_how_much() -> None:
    verdict = judge_defect(defect(patch(right=6 * INCH - INCH // 16)), NUMBERS)
    assert (verdict.state, verdict.reasons) == ("not sealed", ("short",))
    assert verdict.overlap is not None
    assert (verdict.overlap.short_by_nm, verdict.overlap.side) == (INCH // 16, "right")


@pytest.mark.parametrize(
    ("fault", "reason"),
    [
        ({"cleaned": False}, "not-cleaned"),
        ({"dry": False}, "not-dry"),
        ({"edges_taped": False}, "edges-not-taped"),
        ({"tape": 4 * INCH - 1}, "tape-narrow"),
        ({"method": "tape only"}, "method-not-counted"),
        ({"walls_stand": False}, "wall-gone"),
    ],
)
def test_a_patch_badly_made_never_seals(fault: dict[str, object], reason: str) -> None:
    verdict = judge_defect(defect(patch(**fault)), NUMBERS)  # type: ignore[arg-type]
    assert (verdict.state, verdict.reasons) == ("not sealed", (reason,))


def test_a_well_made_patch_beside_a_bad_one_seals() -> None:
    assert judge_defect(defect(patch(cleaned=False), patch(name="q")), NUMBERS).state == "sealed"


def test_a_bad_patch_lends_its_film_to_no_union() -> None:
    """Half the overlap from a clean piece and half from a dirty one is half."""
    left = PatchFacts(
        "l",
        Piece(Rectangle(20 * INCH, 20 * INCH), (-8 * INCH, 0)),
        True,
        True,
        True,
        4 * INCH,
        "sheet patch",
        True,
    )
    right = replace(left, id="r", piece=Piece(Rectangle(20 * INCH, 20 * INCH), (8 * INCH, 0)))
    hole = replace(defect(), outline=Circle(2 * INCH))
    assert judge_defect(replace(hole, patches=(left, right)), NUMBERS).state == "not sealed"
    wide = replace(right, piece=Piece(Rectangle(28 * INCH, 20 * INCH), (4 * INCH, 0)))
    assert judge_defect(replace(hole, patches=(left, wide)), NUMBERS).state == "sealed"
    assert (
        judge_defect(replace(hole, patches=(left, replace(wide, dry=False))), NUMBERS).state == "not sealed"
    )


@pytest.mark.parametrize("kind", sorted(set(KINDS) - set(COVERED)))
def test_film_laid_over_never_mends_what_needs_another_repair(kind: str) -> None:
    verdict = judge_defect(defect(patch(right=60 * INCH), kind=kind), NUMBERS)
    assert verdict.state == "not sealed"
    assert set(verdict.reasons) <= {"other-repair", "sealed-elsewhere"}


def test_every_kind_of_the_contract_is_either_patchable_or_has_its_own_repair() -> None:
    contract = {
        "hole", "tear", "burn", "open seam", "short lap", "unsealed penetration", "unsealed termination",
        "unbonded tape", "displaced sheet", "contamination", "other",
    }  # fmt: skip
    assert set(KINDS) == contract
    assert set(PATCHABLE) | set(OTHER_REPAIR) == contract
    assert not set(PATCHABLE) & set(OTHER_REPAIR)
