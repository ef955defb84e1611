"""Every number a project is held to, with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass

INCH_NM = 25_400_000  # the international inch is 25.4 mm by definition (1959 agreement; from memory)
MM_NM = 1_000_000
MEMORY = "from memory, not verified"
PRACTICE = "common practice, no source"

SHEET_PATCH, TAPE_ONLY, REPLACE = "sheet patch", "tape only", "replace the sheet"
REPAIR_METHODS = (SHEET_PATCH, TAPE_ONLY, REPLACE)
# What a gate may be asked for besides every defect sealed and a finished walk.
GATE_DEMANDS = ("penetrations", "seams", "terminations", "hold points", "film")
# Of those, what can be logged and judged today. A demand outside this list holds the zone: a check
# that cannot be made is never a pass.
CHECKABLE_DEMANDS: tuple[str, ...] = ()

# The least number that a published rule set of the trade gives, for laps and for patches: 6 in
# (ASTM E1643, IRC R506.2.3, IBC 1907.1, ANSI/AARST RRNC-2020), printed 150 mm in E1643's metric text.
LEAST_PUBLISHED_NM = 150 * MM_NM


@dataclass(frozen=True, slots=True)
class Number:
    """A length a project is held to, and the line that says where it comes from."""

    nm: int
    source: str


@dataclass(frozen=True, slots=True)
class Factor:
    """A plain ratio in thousandths (1.5 is 1500), and where it comes from."""

    thousandths: int
    source: str


@dataclass(frozen=True, slots=True)
class RuleSheet:
    """The numbers a project is held to. Lengths in nanometres."""

    patch_overlap: Number
    lap: Number
    tape_width: Number
    collar_width: Number
    collar_length_factor: Factor
    mastic_up_to: Number
    cut_allowance: Number
    repair_methods: tuple[str, ...]
    second_look: bool
    gate_demands: tuple[str, ...]


LENGTHS = ("patch_overlap", "lap", "tape_width", "collar_width", "mastic_up_to", "cut_allowance")


def ready_made(units: str) -> RuleSheet:
    """The sheet a new project starts from: `us` in inches, `metric` with its own values, never converted."""
    us = units == "us"

    def number(inches: int, mm: int, source: str) -> Number:
        return Number(inches * INCH_NM if us else mm * MM_NM, source)

    return RuleSheet(
        patch_overlap=number(6, 150, f"ASTM E1643 section 8 ({MEMORY})"),
        lap=number(6, 150, f"ASTM E1643 section 6 ({MEMORY})"),
        tape_width=number(4, 100, PRACTICE),
        collar_width=number(12, 300, PRACTICE),
        collar_length_factor=Factor(1500, PRACTICE),
        mastic_up_to=number(1, 25, PRACTICE),
        cut_allowance=number(1, 25, PRACTICE),
        repair_methods=(SHEET_PATCH,),
        second_look=False,
        gate_demands=CHECKABLE_DEMANDS,
    )


def needs_a_source(name: str, nm: int) -> bool:
    """True where a lap or patch number lies below every published set and so must say why."""
    return name in ("patch_overlap", "lap") and nm < LEAST_PUBLISHED_NM


def not_asked_for(sheet: RuleSheet) -> tuple[str, ...]:
    """What the gate of this project does not ask for, in the trade's order: pages and releases say it."""
    return tuple(demand for demand in GATE_DEMANDS if demand not in sheet.gate_demands)
