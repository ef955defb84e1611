"""Is this zone clear? Every blocker at once, and nothing waved through."""

from __future__ import annotations

from dataclasses import replace

from service.domain.gate.gate import HoldFacts, Revisions, ZoneFacts, decide
from service.domain.nouns.rules import CHECKABLE_DEMANDS, ready_made
from service.domain.nouns.site import Scale
from service.domain.patches.overlap import Piece
from service.domain.patches.repair import DefectFacts, Numbers, PatchFacts
from service.domain.shapes.outlines import Circle
from service.domain.shapes.sides import Sides

INCH = 25_400_000
NUMBERS = Numbers.of(replace(ready_made("us"), gate_demands=()))
PATCH = PatchFacts("p", Piece(sides=Sides(*[6 * INCH] * 4)), True, True, True, 4 * INCH, "sheet patch", True)
ZONE = ZoneFacts(
    zone="z",
    letter="B",
    outline=((0, 0), (1000, 0), (0, 1000)),
    scale=Scale((0, 0), (1000, 0), INCH),
    alignment=None,
    numbers=NUMBERS,
    walked=True,
    defects=(),
    withdrawn=(),
    holds=(),
    revisions=Revisions(1, 1, 1, 1),
)


def mark(number: int, *patches: PatchFacts, kind: str = "hole") -> DefectFacts:
    return DefectFacts(f"d{number}", f"B-{number:02d}", kind, (0, 0), Circle(INCH), patches)


def codes(facts: ZoneFacts) -> list[str]:
    return [blocker.code for blocker in decide(facts)[0]]


def test_a_walked_zone_with_no_marks_is_clear() -> None:
    assert codes(ZONE) == []


def test_a_zone_nobody_has_walked_is_not() -> None:
    assert codes(replace(ZONE, walked=False)) == ["not-walked"]


def test_a_zone_with_one_open_defect_is_not_releasable() -> None:
    """A hold point stops the work until released (TRADE row 59)."""
    assert codes(replace(ZONE, defects=(mark(1),))) == ["defect-open"]


def test_a_sealed_mark_does_not_block() -> None:
    assert codes(replace(ZONE, defects=(mark(1, PATCH),))) == []


def test_every_reason_is_given_at_once_in_mark_order() -> None:
    short = replace(PATCH, piece=Piece(sides=Sides(6 * INCH, 5 * INCH, 6 * INCH, 6 * INCH)))
    facts = replace(
        ZONE,
        walked=False,
        defects=(mark(3), mark(1, short), mark(2, kind="open seam")),
        holds=(HoldFacts("h", "frost", lifted=False),),
    )
    told = [(blocker.code, blocker.name) for blocker in decide(facts)[0]]
    assert told == [
        ("zone-hold", "B"),
        ("not-walked", "B"),
        ("defect-not-sealed", "B-01"),
        ("needs-other-repair", "B-02"),
        ("defect-open", "B-03"),
    ]


def test_a_demand_that_cannot_be_checked_holds_the_zone() -> None:
    assert "weather" not in CHECKABLE_DEMANDS
    asked = replace(ZONE, numbers=replace(NUMBERS, gate_demands=("weather",)))
    assert codes(asked) == ["cannot-be-checked"]


def test_a_second_look_that_is_asked_for_is_never_taken_as_given() -> None:
    asked = replace(ZONE, numbers=replace(NUMBERS, second_look=True), defects=(mark(1, PATCH),))
    assert codes(asked) == ["second-look"]


def test_a_sketch_without_a_scale_holds_its_zones() -> None:
    assert codes(replace(ZONE, scale=None)) == ["no-scale"]


def test_a_lifted_hold_does_not_block() -> None:
    assert codes(replace(ZONE, holds=(HoldFacts("h", "frost", lifted=True),))) == []


def test_the_same_facts_get_the_same_answer() -> None:
    facts = replace(ZONE, defects=(mark(1), mark(2, PATCH)))
    assert decide(facts) == decide(facts)
