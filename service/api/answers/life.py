"""What programs get of a zone's life and of who did what."""

from __future__ import annotations

from pydantic import Field

from service.api.answers.sites import Answer, Time


class Turn(Answer):
    """The entry that began or ended a state."""

    entry: int
    at: Time
    sentence: str


class StateFrom(Answer):
    """`ended` is null where the state still stands; `open` and `not_sealed` count the marks as it ended."""

    state: str
    began: Turn
    ended: Turn | None
    seconds: int = Field(description="How long, to `ended` or to `as_of`; rounded down.")
    open: int
    not_sealed: int


class MarksFrom(Answer):
    """How many marks were open, and how many not sealed, from this entry on."""

    entry: int
    at: Time
    open: int
    not_sealed: int


class Done(Answer):
    """One thing done, under the kind it is told as. `fell`: by it a release lost its force."""

    kind: str
    type: str
    entry: int
    at: Time
    tag: str | None
    fell: bool


class Timeline(Answer):
    """`entries`: how many of the project's were read."""

    zone: str
    letter: str
    time_zone: str
    entries: int
    as_of: Time
    states: list[StateFrom]
    marks: list[MarksFrom]
    done: list[Done]


class RoleFrom(Answer):
    """`role` is null from when the person was off the project."""

    role: str | None
    entry: int
    at: Time


class Action(Answer):
    type: str
    entry: int
    at: Time


class Doer(Answer):
    """`name` is the person's today. `first` and `last` are null where no entry is by them."""

    id: str
    name: str
    roles: list[RoleFrom]
    first: Action | None
    last: Action | None
    count: int
    by_type: dict[str, int]


class WhoDidWhat(Answer):
    entries: int
    people: list[Doer]


class DayOf(Answer):
    """A day of the project's time zone."""

    day: str = Field(examples=["2026-11-25"])
    count: int
    first_at: Time
    last_at: Time


class DoerByDay(Answer):
    person: Doer
    days: list[DayOf]
