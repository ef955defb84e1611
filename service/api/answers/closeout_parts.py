"""Parts of the closeout that several of its answers hold: acts, what was said, and what was measured."""

from __future__ import annotations

from service.api.answers.sites import Answer, Length, Time


class CloseoutAct(Answer):
    """Who did something, in which role, when, and at which entry of the history."""

    who: str
    role: str
    at: Time
    seq: int


class CloseoutUndone(Answer):
    act: CloseoutAct
    why: str


class CloseoutLook(Answer):
    accepted: bool
    note: str
    act: CloseoutAct


class CloseoutSaid(Answer):
    """A number or a rule in words, and where it comes from."""

    term: str
    words: str
    source: str


class CloseoutWeather(Answer):
    """Readings that stand; `highest`: the highest estimate of evaporation, a screening guide, in words."""

    count: int
    first: Time
    last: Time
    highest: str
    highest_at: Time | None


class CloseoutDepth(Answer):
    depth: Length
    where: str
    note: str
    act: CloseoutAct


class CloseoutThickness(Answer):
    """Readings that stand, judged together; null where no thickness is planned. `planned`: by whom."""

    asked: Length | None
    planned: CloseoutAct | None
    average: Length | None
    thinnest: Length | None
    meets: bool | None
    faults: str
    readings: list[CloseoutDepth]
