"""Every number a project is held to, with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass

from service.domain.words.speech import later

INCH_NM = 25_400_000  # the international inch is 25.4 mm by definition (1959 agreement; from memory)
MM_NM = 1_000_000
MEMORY = later("from memory, not verified")
PRACTICE = later("common practice, no source")

SHEET_PATCH, TAPE_ONLY, REPLACE = later("sheet patch"), later("tape only"), later("replace the sheet")
REPAIR_METHODS = (SHEET_PATCH, TAPE_ONLY, REPLACE)
# What a gate may be asked for besides every defect sealed and a finished walk.
GATE_DEMANDS = (
    later("penetrations"), later("seams"), later("terminations"), later("hold points"), later("film"),
)  # fmt: skip
# Of those, what can be logged and judged. A demand outside this list would hold the zone: a check that
# cannot be made is never a pass.
CHECKABLE_DEMANDS = GATE_DEMANDS

# The checks before the film is covered, in time order. A project may add its own between them.
WALK_STEP, LOOK_STEP = later("punch walk finished"), later("second look")
STEPS = (
    later("subgrade compacted, level and free of sharp stone"),
    later("film covers the zone"),
    later("laps"),
    later("penetrations"),
    later("terminations"),
    later("bar supports do not puncture"),
    later("film clean, no standing water"),
    WALK_STEP,
    LOOK_STEP,
)
FILM_CLASSES = ("A", "B", "C")

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
class Permeance:
    """The most vapour a film may pass, in millionths of a US perm, and where it comes from."""

    up: int
    source: str


@dataclass(frozen=True, slots=True)
class Temperature:
    """A temperature in thousandths of a degree Fahrenheit (exact for hundredths of a degree Celsius)."""

    mf: int
    source: str


@dataclass(frozen=True, slots=True)
class Choice:
    """A word chosen, empty where nothing is asked, and where it comes from."""

    word: str
    source: str


NOT_ASKED = later("not asked for")


@dataclass(frozen=True, slots=True)
class RuleSheet:
    """The numbers a project is held to. Lengths in nanometres.

    `station_every` 0: no spacing is asked of a seam's readings. `sets`: the ready-made sets it was combined
    from. `sources`: (name, line) for what is chosen and not a number. What has a default here came later than
    the first sheets, which are read with it.
    """

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
    station_every: Number = Number(0, NOT_ASKED)
    tape_temperature: Temperature = Temperature(40_000, PRACTICE)
    film_class: Choice = Choice("", NOT_ASKED)
    film_thickness: Number = Number(0, NOT_ASKED)
    most_permeance: Permeance = Permeance(0, NOT_ASKED)
    hold_points: tuple[str, ...] = STEPS
    sets: tuple[str, ...] = ()
    sources: tuple[tuple[str, str], ...] = ()


LENGTHS = (
    "patch_overlap", "lap", "tape_width", "collar_width", "mastic_up_to", "cut_allowance", "station_every",
    "film_thickness",
)  # fmt: skip
# The numbers that a zone or a material may ask more of, and the one of which more is less.
RAISABLE = (
    "patch_overlap", "lap", "tape_width", "collar_width", "collar_length_factor", "mastic_up_to",
    "station_every", "tape_temperature",
)  # fmt: skip
STRICTER_IS_LESS = ("mastic_up_to", "station_every")


def source_of(sheet: RuleSheet, name: str) -> str:
    """The line that says where a choice of the sheet (repair methods, second look, demands) comes from."""
    return dict(sheet.sources).get(name, later("set by the project, no source given"))


def ready_made(units: str) -> RuleSheet:
    """The sheet a new project starts from: `us` in inches, `metric` with its own values, never converted."""
    us = units == "us"

    def number(inches: int, mm: int, source: str) -> Number:
        return Number(inches * INCH_NM if us else mm * MM_NM, source)

    return RuleSheet(
        patch_overlap=number(6, 150, later("ASTM E1643 section 8 (from memory, not verified)")),
        lap=number(6, 150, later("ASTM E1643 section 6 (from memory, not verified)")),
        tape_width=number(4, 100, PRACTICE),
        collar_width=number(12, 300, PRACTICE),
        collar_length_factor=Factor(1500, PRACTICE),
        mastic_up_to=number(1, 25, PRACTICE),
        cut_allowance=number(1, 25, PRACTICE),
        repair_methods=(SHEET_PATCH,),
        second_look=False,
        gate_demands=CHECKABLE_DEMANDS,
        station_every=Number((10 * 12 * INCH_NM) if us else 3_000 * MM_NM, PRACTICE),
        tape_temperature=Temperature(40_000 if us else 41_000, PRACTICE),
        film_class=Choice("A", later("IRC 2021 R506.2.3 (from memory, not verified)")),
        film_thickness=Number(254_000 if us else 250_000, later("10 mil (0.25 mm), NRMCA CIP 29")),
        most_permeance=Permeance(100_000, later("ASTM E1745-09 and later: 0.1 perm")),
    )


def needs_a_source(name: str, nm: int) -> bool:
    """True where a lap or patch number lies below every published set and so must say why."""
    return name in ("patch_overlap", "lap") and nm < LEAST_PUBLISHED_NM


def not_asked_for(sheet: RuleSheet) -> tuple[str, ...]:
    """What the gate of this project does not ask for, in the trade's order: pages and releases say it."""
    return tuple(demand for demand in GATE_DEMANDS if demand not in sheet.gate_demands)
