"""What programs get of repairs that are no patch, of what damage came from, and of hold points."""

from __future__ import annotations

from pydantic import Field

from service.api.answers.marks import Reason
from service.api.answers.sites import Answer, Time


class RepairLogged(Answer):
    """`meets`: this repair by itself mends the mark, else `repair_reasons` say why not. Whether the mark is
    sealed is `defect_state`, and `reasons` say why it is not."""

    id: str
    defect: str
    tag: str
    method: str
    meets: bool
    repair_reasons: list[Reason]
    defect_state: str
    reasons: list[Reason]


class CauseTotal(Answer):
    cause: str
    marks: int


class CauseCount(Answer):
    """`week`: its Monday in the project's time zone, as YYYY-MM-DD."""

    cause: str
    zone: str
    week: str
    marks: int


class Causes(Answer):
    """Marks that stand, mended or not, most first. `cause` is empty where nobody said."""

    causes: list[CauseTotal]
    by_zone_and_week: list[CauseCount]


class Signature(Answer):
    """`lapsed`: given for an outline or a scale that is no longer the zone's, so that it counts no more."""

    id: str
    accepted: bool
    note: str
    by: str
    role: str
    at: Time
    lapsed: bool


class HoldPoint(Answer):
    """`state`: signed, refused, or not signed."""

    step: str
    state: str
    signatures: list[Signature]


class HoldPoints(Answer):
    zone: str
    asked_for: bool = Field(description="Whether the gate of this project asks for them.")
    next: str | None = Field(description="The first step that is not signed.")
    steps: list[HoldPoint]
