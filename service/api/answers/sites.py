"""What programs get of projects, people, sketches and zones. People are named as they are named today."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

Place = Annotated[list[float], Field(min_length=2, max_length=2)]
Time = Annotated[str, Field(description="RFC 3339, UTC.", examples=["2026-11-25T12:00:00.000000Z"])]


class Answer(BaseModel):
    model_config = ConfigDict(serialize_by_alias=True, validate_by_name=True, validate_by_alias=True)


class Length(Answer):
    """`text` is rounded the way that never flatters; `m` is exact to the nanometre."""

    text: str = Field(examples=["6 1/2 in"])
    m: float = Field(examples=[0.1651])


class Area(Answer):
    text: str
    m2: float


class Volume(Answer):
    text: str
    m3: float


class SignedIn(Answer):
    token: str
    expires_at: Time


class SheetNumber(Length):
    source: str


class SheetFactor(Answer):
    text: str = Field(examples=["1.5"])
    value: float
    source: str


class SheetTemperature(Answer):
    """`f`: degrees Fahrenheit, exact to the thousandth."""

    text: str = Field(examples=["40 °F"])
    f: float
    source: str


class SheetPermeance(Answer):
    """`perm`: US perms; 0 where nothing is asked."""

    text: str = Field(examples=["0.1 perm"])
    perm: float
    source: str


class SheetClass(Answer):
    """`class`: A, B, C, or null where none is asked."""

    text: str
    class_: Literal["A", "B", "C"] | None = Field(alias="class")
    source: str


class Sources(Answer):
    """Where the sheet's choices come from that are no numbers."""

    repair_methods: str
    second_look: str
    gate_demands: str


class RuleSheet(Answer):
    """The numbers a project is held to, each with where it comes from. What is not asked for says so in its
    `text` and is 0. `sets`: keys of the ready-made sets it was combined from."""

    patch_overlap: SheetNumber
    lap: SheetNumber
    tape_width: SheetNumber
    collar_width: SheetNumber
    collar_length_factor: SheetFactor
    mastic_up_to: SheetNumber
    cut_allowance: SheetNumber
    station_every: SheetNumber
    tape_temperature: SheetTemperature
    film_class: SheetClass
    film_thickness: SheetNumber
    most_permeance: SheetPermeance
    repair_methods: list[str]
    second_look: bool
    gate_demands: list[str]
    hold_points: list[str]
    sets: list[str]
    sources: Sources
    not_asked_for: list[str] = Field(description="What the gate of this project does not ask for.")


class Project(Answer):
    """`role` is the caller's."""

    id: str
    name: str
    units: Literal["us", "metric"]
    time_zone: str
    role: str
    rule_sheet: RuleSheet


class Invited(Answer):
    """`joined`: there was an account, and `id` is the person's. `invited`: `id` is the invitation's and
    `link` lets one person in, once, within seven days; nobody can be told it later."""

    id: str
    email: str
    role: str
    state: Literal["joined", "invited"]
    link: str | None


class Member(Answer):
    id: str
    name: str
    email: str
    role: str


class OpenInvitation(Answer):
    id: str
    email: str
    role: str
    ends_at: Time


class People(Answer):
    """`invitations` nobody has used yet, for those who may invite."""

    people: list[Member]
    invitations: list[OpenInvitation]


class Scale(Answer):
    """Two places on today's picture and the true distance between them."""

    from_: Place = Field(alias="from")
    to: Place
    distance: Length


class GridLine(Answer):
    label: str
    from_: Place = Field(alias="from")
    to: Place


class Sketch(Answer):
    """Sizes and places are in pixels of the present revision. `px_per_m` is null until there is a scale."""

    id: str
    project: str
    name: str
    width_px: int
    height_px: int
    page: int | None
    revision: int
    px_per_m: float | None
    scale: Scale | None
    grid: list[GridLine]


class Placement(Answer):
    """`blockers`: what stood against it where the zone was placed without release; else what was found during
    placing and not mended before the concrete covered it."""

    at: Time
    by: str
    volume: Volume | None
    without_release: bool
    blockers: list[str]


class Zone(Answer):
    """`state`: laying, held, clear, ready to place, placed, placed without release. `marks`: tags given so
    far. `placing_since`: when placing began, while it goes on. `withdrawn`: the reason, where the zone was
    taken off the sketch."""

    id: str
    project: str
    sketch: str
    letter: str
    name: str
    outline: list[Place]
    area: Area | None
    perimeter: Length | None
    state: str
    place_at: Time | None
    walked_at: Time | None
    marks: int
    placing_since: Time | None
    placed: Placement | None
    withdrawn: str | None


class SketchWithZones(Sketch):
    zones: list[Zone]
