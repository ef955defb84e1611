"""Ready-made rule sets of the trade, and how several of them make one: the largest number governs.

Left out, because they cannot be used as they were seen: sets known by a training page or by a code site that
names no parent code, one contractor's own specification, and a work standard for film with no slab over it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from service.domain.nouns.rules import (
    FILM_CLASSES,
    INCH_NM,
    MEMORY,
    MM_NM,
    NOT_ASKED,
    REPAIR_METHODS,
    REPLACE,
    SHEET_PATCH,
    TAPE_ONLY,
    Choice,
    Number,
    RuleSheet,
)
from service.domain.words.measures import Units

SEEN = "published text seen"
METRIC = "metric figure from memory"


@dataclass(frozen=True, slots=True)
class RuleSet:
    """One published set. Lengths in nanometres, each unit system with its own figure, never converted.

    `patch_*_nm` None: it states no number for patches. `methods` None: it does not say which repairs count.
    `film_class`: the least class of ASTM E1745 it asks, empty for none. `film_*_nm`: least thickness, or 0.
    """

    key: str
    name: str
    lap_us_nm: int
    lap_metric_nm: int
    patch_us_nm: int | None
    patch_metric_nm: int | None
    methods: tuple[str, ...] | None
    film_class: str
    notes: str
    source: str
    film_us_nm: int = 0
    film_metric_nm: int = 0

    def lap_nm(self, units: Units) -> int:
        """The least lap in this unit system's own figure."""
        return self.lap_us_nm if units == "us" else self.lap_metric_nm

    def patch_nm(self, units: Units) -> int | None:
        """The least overlap of a patch in this unit system's own figure, None where none is stated."""
        return self.patch_us_nm if units == "us" else self.patch_metric_nm

    def film_nm(self, units: Units) -> int:
        """The least thickness of the film in this unit system's own figure, 0 where none is stated."""
        return self.film_us_nm if units == "us" else self.film_metric_nm

    def line(self) -> str:
        """Name and source in one line, as it stands beside a number."""
        return f"{self.name} ({self.source})"


_SIX, _TWELVE = 6 * INCH_NM, 12 * INCH_NM
_MM_150, _MM_152, _MM_305 = 150 * MM_NM, 152 * MM_NM, 305 * MM_NM
_MIL_6, _MIL_10 = (152_400, 152_000), (254_000, 254_000)  # 6 mil (0.152 mm), 10 mil (0.254 mm), from memory

GENERAL = RuleSet(
    "general",
    "General practice, ASTM E1643",
    _SIX, _MM_150, _SIX, _MM_150, (SHEET_PATCH,), "",
    "Or as the film's maker instructs, where that is more.",
    f"sections 6 and 8, {MEMORY}",
)  # fmt: skip

SETS: tuple[RuleSet, ...] = (
    GENERAL,
    RuleSet(
        "irc-2018",
        "IRC to 2018, R506.2.3",
        _SIX, _MM_152, None, None, None, "",
        "6 mil polyethylene or approved. States no number for patches.",
        f"2012 text seen; {METRIC}",
        *_MIL_6,
    ),
    RuleSet(
        "irc-2021",
        "IRC 2021, R506.2.3",
        _SIX, _MM_152, None, None, None, "A",
        "10 mil of ASTM E1745 class A. States no number for patches.",
        MEMORY,
        *_MIL_10,
    ),
    RuleSet(
        "ibc",
        "IBC to 2021, 1907.1",
        _SIX, _MM_152, None, None, None, "",
        "6 mil polyethylene or approved. States no number for patches. The 2024 edition was not seen.",
        f"{SEEN}; {METRIC}",
        *_MIL_6,
    ),
    RuleSet(
        "soil-gas-6",
        "Soil gas in one- and two-family houses, ANSI/AARST RRNC-2020 402.1.3",
        _SIX, _MM_152, _SIX, _MM_152, (SHEET_PATCH, TAPE_ONLY), "C",
        "Patches in ASTM C920 class 25 caulk, or tape alone. Film of class A, B or C.",
        f"{SEEN}; {METRIC}",
    ),
    RuleSet(
        "soil-gas-12",
        "Soil gas in larger buildings, ANSI/AARST CC-1000-2018 6.4",
        _TWELVE, _MM_305, _TWELVE, _MM_305, (SHEET_PATCH, TAPE_ONLY), "C",
        "Patches a nominal 12 in in ASTM C920 class 25 caulk, or tape alone. Film of class A, B or C. "
        "A later revision was not seen.",
        f"{SEEN}; {METRIC}",
    ),
    RuleSet(
        "irc-appendix-af",
        "IRC Appendix AF, AF103.3 (BE from 2024)",
        _TWELVE, _MM_305, None, None, None, "",
        "Where the local ordinance adopts it. Punctures sealed or covered with more film, no number given.",
        MEMORY,
        *_MIL_6,
    ),
    RuleSet(
        "minnesota",
        "Minnesota Rules 1303.2402 subpart 2",
        _TWELVE, _MM_305, _TWELVE, _MM_305, (SHEET_PATCH,), "",
        "Law in that state. Patches of the same kind of film.",
        f"{SEEN}; {METRIC}",
    ),
    RuleSet(
        "federal-older",
        "UFGS-03300A, older federal guide specification",
        _TWELVE, _MM_305, _TWELVE, _MM_305, (SHEET_PATCH, REPLACE), "",
        "Patches for minor damage, otherwise the sheet is replaced. A newer edition was not seen.",
        f"3.1.3, {SEEN}; {METRIC}",
    ),
)  # fmt: skip
_BY_KEY = {rule_set.key: rule_set for rule_set in SETS}


@dataclass(frozen=True, slots=True)
class Combined:
    """What several sets ask together, each number with the set that governs it; `sets` are their keys."""

    lap: Number
    patch_overlap: Number
    methods: tuple[str, ...]
    film_class: Choice
    sets: tuple[str, ...]
    film_thickness: Number
    methods_source: str


def set_of(key: str) -> RuleSet:
    """The set of this key; KeyError where there is none."""
    return _BY_KEY[key]


def combine(keys: Sequence[str], units: Units) -> Combined:
    """The sets as one: the largest number governs; a repair counts where every set that names repairs has it.

    A set that states no number for patches adds none; where none states one, general practice's stands.
    KeyError for a key there is not, ValueError for no key at all.
    """
    if not keys:
        raise ValueError("choose at least one rule set")
    wanted = {set_of(key).key for key in keys}
    chosen = [rule_set for rule_set in SETS if rule_set.key in wanted]
    methods, methods_source = _methods(chosen)
    return Combined(
        lap=_largest((rule_set, rule_set.lap_nm(units)) for rule_set in chosen),
        patch_overlap=_patch(chosen, units),
        methods=methods,
        film_class=_film_class(chosen),
        sets=tuple(rule_set.key for rule_set in chosen),
        film_thickness=_largest((rule_set, rule_set.film_nm(units)) for rule_set in chosen),
        methods_source=methods_source,
    )


def _largest(stated: Iterable[tuple[RuleSet, int]]) -> Number:
    """The largest, with the first set that asks it; nothing asked is no set's word."""
    governs, nm = max(stated, key=lambda item: item[1])
    return Number(nm, governs.line() if nm else NOT_ASKED)


def _patch(chosen: list[RuleSet], units: Units) -> Number:
    stated = [(rule_set, nm) for rule_set in chosen if (nm := rule_set.patch_nm(units)) is not None]
    if stated:
        return _largest(stated)
    nm = GENERAL.patch_nm(units)
    assert nm is not None, "general practice states a number for patches"
    return Number(nm, f"{GENERAL.line()}; the sets chosen state no number for patches")


def _methods(chosen: list[RuleSet]) -> tuple[tuple[str, ...], str]:
    """The repairs that count (a sheet patch always: every set has it), and the line that says who says so."""
    speaking = [(rule_set, rule_set.methods) for rule_set in chosen if rule_set.methods is not None]
    if not speaking:
        return (SHEET_PATCH,), f"{GENERAL.line()}; the sets chosen name no repair"
    counted = tuple(method for method in REPAIR_METHODS if all(method in methods for _, methods in speaking))
    return counted, "; ".join(rule_set.name for rule_set, _ in speaking)


def _film_class(chosen: list[RuleSet]) -> Choice:
    """The strongest class that any of them asks."""
    asking = [rule_set for rule_set in chosen if rule_set.film_class]
    if not asking:
        return Choice("", NOT_ASKED)
    governs = min(asking, key=lambda rule_set: FILM_CLASSES.index(rule_set.film_class))
    return Choice(governs.film_class, governs.line())


def apply(sheet: RuleSheet, keys: Sequence[str], units: Units) -> RuleSheet:
    """The sheet held to these sets: lap, patch overlap, repairs that count and film class become theirs.

    A class of film and a thickness are only ever raised: what the sheet asked more stays, as does every other
    number. With no key the sheet keeps its numbers and names no set.
    """
    if not keys:
        return replace(sheet, sets=())
    asked = combine(keys, units)
    thin = sheet.film_thickness.nm < asked.film_thickness.nm
    kept = tuple(line for line in sheet.sources if line[0] != "repair_methods")
    return replace(
        sheet,
        lap=asked.lap,
        patch_overlap=asked.patch_overlap,
        repair_methods=asked.methods,
        film_class=asked.film_class if _stronger(asked.film_class, sheet.film_class) else sheet.film_class,
        film_thickness=asked.film_thickness if thin else sheet.film_thickness,
        sets=asked.sets,
        sources=(*kept, ("repair_methods", asked.methods_source)),
    )


def _stronger(one: Choice, other: Choice) -> bool:
    """Whether the one asks for stronger film: A before B before C, and any of them before none."""
    return bool(one.word) and (not other.word or one.word < other.word)
