"""What an order list is worked out from: sheets, seams, edges, penetrations, repairs, rolls, deliveries.

Lengths whole nanometres, areas of zones whole square millimetres, allowances thousandths of a per cent.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from service.domain.nouns.installed import SEAM_KINDS, TERMINATION_KINDS
from service.domain.patches.repair import Numbers
from service.domain.shapes.outlines import Outline
from service.domain.words.measures import NM_PER_FOOT, NM_PER_INCH, NM_PER_MM, SIXTEENTH_NM, Units
from service.domain.words.speech import tr

# Tape comes 4 in wide and 180 ft long (common practice, no source).
TAPE_WIDTH_NM, TAPE_LENGTH_NM = 4 * NM_PER_INCH, 180 * NM_PER_FOOT
# An edge of which nobody has said how film ends there.
NOT_DESCRIBED = ""
MOST_SHEETS, MOST_PENETRATIONS, MOST_REPAIRS = 5_000, 20_000, 20_000


class BadOrder(ValueError):
    """An order list that cannot be worked out: `code` for programs, the sentence (str) for people."""

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code


@dataclass(frozen=True, slots=True)
class SheetToCut:
    """A sheet of a layout: `name` as it is called on the list, once in all; `cut_length_nm` as it is
    cut (see `as_cut`), `width_nm` as laid."""

    name: str
    cut_length_nm: int
    width_nm: int


@dataclass(frozen=True, slots=True)
class SeamToTape:
    """`kind`: installed.SIDE_LAP or END_LAP."""

    kind: str
    length_nm: int


@dataclass(frozen=True, slots=True)
class EdgeToEnd:
    """A stretch of edge: `kind` of installed.TERMINATION_KINDS, or NOT_DESCRIBED."""

    kind: str
    length_nm: int


@dataclass(frozen=True, slots=True)
class PipeToSeal:
    """A penetration that stands by itself, by its tag and the outline of its outside."""

    tag: str
    outline: Outline


@dataclass(frozen=True, slots=True)
class GroupToDam:
    """Penetrations too close for a collar each: the sheet of film under their dam, as penetration_groups."""

    tags: tuple[str, ...]
    length_nm: int
    width_nm: int


@dataclass(frozen=True, slots=True)
class ZoneAsked:
    """A zone and all that is laid and sealed in it. `area_mm2`: its outline less its openings.

    `numbers`: as they hold in the zone. A sheet that lies in two zones stands in one of them.
    """

    zone_id: str
    area_mm2: int
    numbers: Numbers
    sheets: tuple[SheetToCut, ...] = ()
    seams: tuple[SeamToTape, ...] = ()
    edges: tuple[EdgeToEnd, ...] = ()
    pipes: tuple[PipeToSeal, ...] = ()
    groups: tuple[GroupToDam, ...] = ()


@dataclass(frozen=True, slots=True)
class RepairsExpected:
    """A person's own number: repairs per 1,000 sq ft in thousandths, and the piece cut for one on average."""

    per_1000ft2_m: int
    length_nm: int
    width_nm: int


@dataclass(frozen=True, slots=True)
class DeliveryAsked:
    """What comes in one go, in the order of the list: for these zones."""

    label: str
    zone_ids: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OrderAsked:
    """All of it. Stock: whole rolls of this film and this tape that lie on site."""

    zones: tuple[ZoneAsked, ...]
    roll_width_nm: int
    roll_length_nm: int
    tape_width_nm: int
    tape_length_nm: int
    repairs: RepairsExpected
    film_allowance_mpct: int = 0
    tape_allowance_mpct: int = 0
    film_in_stock: int = 0
    tape_in_stock: int = 0
    deliveries: tuple[DeliveryAsked, ...] = ()


def as_cut(nm: int, units: Units) -> int:
    """A length as it is read off a tape measure and cut: rounded up to 1/16 in or 1 mm. Sheets are cut from
    rolls by it, because the film of what is read is what comes off."""
    step = SIXTEENTH_NM if units == "us" else NM_PER_MM
    return -(-nm // step) * step


def check_asked(asked: OrderAsked) -> None:
    """Nothing where an order list can be worked out of this; BadOrder with the first reason why not."""
    for wrong, code, sentence in _checks(asked):
        if wrong:
            raise BadOrder(code, sentence)


def _checks(asked: OrderAsked) -> Iterator[tuple[bool, str, str]]:
    sheets = [sheet for zone in asked.zones for sheet in zone.sheets]
    pieces = [nm for sheet in sheets for nm in (sheet.cut_length_nm, sheet.width_nm)]
    rolls = (asked.roll_width_nm, asked.roll_length_nm, asked.tape_width_nm, asked.tape_length_nm)
    shares = (asked.film_allowance_mpct, asked.tape_allowance_mpct)
    counts = (asked.film_in_stock, asked.tape_in_stock)
    yield min(rolls) <= 0, "no-roll", tr("Say how wide and how long a roll of film and a roll of tape is.")
    yield (
        any(not 0 <= share <= 100_000 for share in shares),
        "bad-allowance",
        tr("An allowance is from 0 to 100 per cent."),
    )
    yield min(counts) < 0, "bad-stock", tr("Count the rolls on site: none is 0.")
    yield any(nm <= 0 for nm in pieces), "no-length", tr("A sheet has a length and a width above nothing.")
    yield _twice(sheet.name for sheet in sheets), "name-twice", tr("Two sheets have the same name.")
    yield _twice(zone.zone_id for zone in asked.zones), "zone-twice", tr("The same zone is there twice.")
    yield (
        _twice(zone_id for delivery in asked.deliveries for zone_id in delivery.zone_ids),
        "two-deliveries",
        tr("A zone's film comes with one delivery: this zone is in two."),
    )
    yield (
        any(sheet.width_nm > asked.roll_width_nm for sheet in sheets),
        "wider-than-roll",
        tr("A sheet of the layout is wider than this roll: lay the sheets out again for it."),
    )
    yield (
        any(sheet.cut_length_nm > asked.roll_length_nm for sheet in sheets),
        "longer-than-roll",
        tr("A sheet of the layout is longer than this roll: lay the sheets out again for it."),
    )
    yield from _checks_of_the_rest(asked, len(sheets))


def _checks_of_the_rest(asked: OrderAsked, sheets: int) -> Iterator[tuple[bool, str, str]]:
    repairs, zones = asked.repairs, asked.zones
    lengths = [
        *(seam.length_nm for zone in zones for seam in zone.seams),
        *(edge.length_nm for zone in zones for edge in zone.edges),
        *(nm for zone in zones for group in zone.groups for nm in (group.length_nm, group.width_nm)),
    ]
    kinds_known = all(seam.kind in SEAM_KINDS for zone in zones for seam in zone.seams) and all(
        edge.kind in (*TERMINATION_KINDS, NOT_DESCRIBED) for zone in zones for edge in zone.edges
    )
    yield (
        repairs.per_1000ft2_m < 0 or min(repairs.length_nm, repairs.width_nm) <= 0,
        "bad-repairs",
        tr("Say how many repairs you expect in 1,000 sq ft, none is 0, and the size of a patch."),
    )
    yield any(nm < 0 for nm in lengths), "bad-length", tr("A length is never less than nothing.")
    yield any(zone.area_mm2 < 0 for zone in zones), "bad-area", tr("An area is never less than nothing.")
    yield not kinds_known, "no-such-kind", tr("That is no kind of seam or of edge.")
    yield (
        sheets > MOST_SHEETS
        or sum(len(zone.pipes) + len(zone.groups) for zone in zones) > MOST_PENETRATIONS
        or repairs.per_1000ft2_m * sum(zone.area_mm2 for zone in zones) > MOST_REPAIRS * 92_903_040_000,
        "too-much",
        tr("That is more than one order list holds: make one for each slab."),
    )


def _twice(names: Iterable[str]) -> bool:
    named = list(names)
    return len(set(named)) < len(named)
