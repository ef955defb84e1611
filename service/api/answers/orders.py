"""What programs get of a project's order: the choices, and the list that comes of them."""

from __future__ import annotations

from pydantic import Field

from service.api.answers.sites import Answer, Area, Length, Time


class StockTold(Answer):
    material: str
    whole_rolls: int


class DeliveryChosen(Answer):
    label: str
    at: Time | None
    zones: list[str]


class Choices(Answer):
    """As `PUT` takes them: numbers as text, allowances per cent, repairs in 1,000 sq ft."""

    material: str = Field(description="The film's id; empty: the roll that the layouts are for.")
    film_allowance: str
    tape_allowance: str
    repairs: str
    stock: list[StockTold]
    deliveries: list[DeliveryChosen]


class SavedTold(Answer):
    by: str
    role: str
    at: Time
    seq: int


class Trouble(Answer):
    """Why there is no list."""

    code: str
    text: str


class Rolls(Answer):
    """`needed` and `allowance`, which is apart, less `stock`, is `to_order`; `left_over` stays on site."""

    needed: int
    allowance: int
    stock: int
    to_order: int
    left_over: int


class SheetCut(Answer):
    """`name` on the list; `number` in the layout."""

    name: str
    layout: str
    number: int
    cut_length: Length


class PieceCut(Answer):
    """A piece of an offcut; `tags`: the penetrations it is for, none for a patch."""

    length: Length
    width: Length
    tags: list[str]


class RollTold(Answer):
    """One roll: its sheets in laying order, what is left of it, and the pieces that serves. `delivery`: which
    of the deliveries it comes with, from 0."""

    number: int
    delivery: int
    sheets: list[SheetCut]
    offcut: Length
    serves: list[PieceCut]


class FilmTold(Answer):
    """`proved`: no cutting gives the sheets off fewer than `sheet_rolls`; else at least `bound` it takes."""

    rolls: Rolls
    sheet_rolls: int
    bound: int
    proved: bool
    collar_rolls: int
    repair_rolls: int
    cut_from: Area
    serves: Area
    waste: Area
    waste_percent: float
    unserved: list[str]
    cuts: list[RollTold]


class TapeUseTold(Answer):
    use: str
    length: Length


class TapeTold(Answer):
    rolls: Rolls
    total: Length
    allowance: Length
    uses: list[TapeUseTold]


class CollarTold(Answer):
    length: Length
    width: Length
    count: int
    tags: list[str]


class MasticTold(Answer):
    """`volume_ml` is an estimate: common practice, no source."""

    beads: int
    bead: Length
    dams: int
    volume_ml: float


class ZoneTold(Answer):
    zone: str
    letter: str
    sheets: int
    film: Area
    tape: Length
    collars: int
    repairs: int


class DeliveryTold(Answer):
    """`label` is empty for the zones in no delivery. The deliveries add up to the whole."""

    label: str
    zones: list[str]
    sheets: int
    film: Rolls
    tape: Rolls


class ListTold(Answer):
    """`faults`: codes with their words, of what must not be overread."""

    film: FilmTold
    tape: TapeTold
    collars: list[CollarTold]
    mastic: MasticTold
    repairs: int
    zones: list[ZoneTold]
    deliveries: list[DeliveryTold]
    faults: list[Trouble]


class OrderTold(Answer):
    """`without_layout` and `layout_no_longer_fits`: ids of zones that are not in the list, nor are those
    `placed`. `sheets_laid`: of its layouts. `stock_is_old`: film came or was laid since it was counted."""

    project: str
    choices: Choices
    saved: SavedTold | None
    order: ListTold | None
    trouble: Trouble | None
    without_layout: list[str]
    layout_no_longer_fits: list[str]
    placed: list[str]
    sheets_laid: int
    stock_is_old: bool
