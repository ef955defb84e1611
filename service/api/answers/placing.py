"""What programs get of a placing day: its plan and concrete, the weather with its rates, the thickness."""

from __future__ import annotations

from pydantic import Field

from service.api.answers.film import Amount
from service.api.answers.marks import Reason
from service.api.answers.sites import Answer, Length, Time, Volume


class PlacingLimit(Answer):
    """Where precautions begin, in the unit of every rate here: lb/ft²/h, or kg/m²/h on a metric project."""

    name: str
    value: float
    source: str


class PlacingPlan(Answer):
    """`truck` and `rate` as they were written; empty where nobody planned them."""

    zone: str
    thickness: Length
    allowance_percent: float
    truck: str
    rate: str
    limit: PlacingLimit
    mix: str
    by: str
    at: Time


class Concrete(Answer):
    """By area and thickness, with the allowance, and as ordered: rounded up to a quarter of a cubic yard, or
    of a cubic metre. What hangs on a truck and a rate is null without them."""

    net: Volume
    with_allowance: Volume
    to_order: Volume
    loads: int | None
    last_load: Volume | None
    minutes_between: float | None
    hours: float | None
    thin: bool = Field(description="Under 3 1/2 in, the least slab of IBC 1910.1.")


class EvaporationRate(Answer):
    """A screening guide: the real rate can lie 40 % either way, which `low` and `high` say. `estimate`: the
    larger of the two formulas. `unit`: lb/ft²/h, or kg/m²/h on a metric project."""

    estimate: float
    low: float
    high: float
    unit: str


class Weather(Answer):
    """One reading; null where it was not measured. `stands`: under, near or over the limit, or unknown."""

    at: Time
    air: Amount = Field(description="Degrees Fahrenheit.")
    concrete: Amount | None
    film: Amount | None
    humidity_percent: float
    wind: Amount = Field(description="Miles an hour, 20 in above the slab.")
    rain: bool
    rate: EvaporationRate | None
    stands: str


class WeatherTaken(Answer):
    """Readings taken together. `source`: the station's file; empty for what a person read."""

    id: str
    zone: str
    source: str
    count: int
    first: Time
    last: Time
    note: str
    by: str
    at: Time
    withdrawn: str | None


class LineTold(Answer):
    """`line` 0: the whole file."""

    line: int
    code: str
    text: str


class FileTaken(WeatherTaken):
    """`left_out`: lines that could not be read. `known`, `differ`, `early`: readings left out because they
    were taken before, because another has their time, or because their time has not come."""

    left_out: list[LineTold]
    notes: list[LineTold]
    known: int
    differ: int
    early: int


class Depth(Answer):
    depth: Length
    where: str


class ThicknessTaken(Answer):
    id: str
    zone: str
    readings: list[Depth]
    note: str
    by: str
    at: Time
    withdrawn: str | None


class SlabThickness(Answer):
    """All standing readings judged together against the plan; `meets` is null where there is nothing to
    judge, or to judge by."""

    meets: bool | None
    reasons: list[Reason]
    average: Length | None
    thinnest: Length | None
    taken: list[ThicknessTaken]


class WeatherNow(Answer):
    """What the newest reading asks for. `old`: it was to be looked at again by now."""

    reading: Weather
    rising: bool
    do: list[Reason]
    look_again: Time | None
    old: bool
    cautions: list[Reason]
    taping: list[Reason]
    heat_index: Amount = Field(description="Degrees Fahrenheit.")
    heat_band: str


class PlacingDay(Answer):
    """`may_be_placed` is the release gate's word alone; everything else is guidance. `weather`: the readings
    of `day`, a day of the site."""

    zone: str
    state: str
    may_be_placed: bool
    placing_since: Time | None
    plan: PlacingPlan | None
    limit: PlacingLimit
    concrete: Concrete | None
    now: WeatherNow | None
    days: list[str]
    day: str | None
    weather: list[Weather]
    taken: list[WeatherTaken]
    thickness: SlabThickness
    guidance: list[str]
