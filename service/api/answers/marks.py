"""What programs get of marks, patches, the gate, the history and a judged overlap."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from service.api.answers.sites import Answer, Length, Place, Time, Zone
from service.domain.gate.during import Found

Outline = Annotated[
    dict[str, Any], Field(description='As sent, each length as {"text", "m"}, corners with the turn in.')
]


class CutSize(Answer):
    """`angle_deg`: how the length lies, clockwise on the sketch."""

    length: Length
    width: Length
    angle_deg: float


class Needs(Answer):
    """What mends a mark. `cut_size` is what to cut: the least size and the rule sheet's placing allowance on
    every side, because a crew that cuts the least makes short patches; `least_size` goes without it.
    `tape_length` is once round the piece of `cut_size`. Null where no film laid over it mends this kind.
    `other_repair` says how it is mended otherwise; with a `cut_size` beside it, the piece is a cover strip
    along the seam, or a patch over dirt, and either will do. All rounded up in their text."""

    overlap: Length
    cut_size: CutSize | None
    least_size: CutSize | None
    tape_length: Length | None
    other_repair: str | None


class Reason(Answer):
    """One reason why a mark is not sealed."""

    code: str
    text: str


class Photo(Answer):
    """The picture itself: GET /api/v1/photos/{id}."""

    id: str
    width_px: int
    height_px: int
    by: str
    at: Time


class Side(Answer):
    """A tape reading, or `wall`."""

    left: Length | Literal["wall"]
    right: Length | Literal["wall"]
    near: Length | Literal["wall"]
    far: Length | Literal["wall"]
    angle_deg: float


class Look(Answer):
    """A second look by another person than the maker. An inspector's refusal stands until an inspector
    accepts, or what was refused is withdrawn."""

    id: str
    accepted: bool
    note: str
    by: str
    role: str
    at: Time


class Repair(Answer):
    """A repair that is no patch. `lap`: the least measured after it, null where none was made. `reasons` say
    why it does not count now; with none it mends its mark."""

    id: str
    defect: str
    method: str
    lap: Length | None
    taped: bool
    cleaned: bool
    dry: bool
    tape_width: Length | None
    film_temperature: str
    lot: str
    note: str
    reasons: list[Reason]
    looks: list[Look]
    by: str
    logged_at: Time
    withdrawn: str | None


class Patch(Answer):
    """A patch as it was logged. `overlap` is what it came to then, with what counted beside it."""

    id: str
    defect: str
    outline: Outline | None
    offset: list[Length]
    sides: Side | None
    cleaned: bool
    dry: bool
    edges_taped: bool
    tape_width: Length
    method: str
    lot: str
    film_temperature: str
    note: str
    also: list[str]
    overlap: Length | None
    by: str
    logged_at: Time
    withdrawn: str | None
    looks: list[Look]
    photos: list[Photo]


class Defect(Answer):
    """`state`: open, not sealed, sealed, withdrawn. `overlap` is null where no patch counts, and below 0
    where damage shows. `cause`: what it likely came from, empty where nobody said. `after_placing`: it came
    in after the zone was placed. `found`: before, during or after placing, by the order of entries."""

    id: str
    zone: str
    tag: str
    kind: str
    at: Place
    outline: Outline
    note: str
    cause: str
    state: str
    overlap: Length | None
    short_by: Length | None
    reasons: list[Reason]
    needs: Needs
    patches: list[Patch]
    repairs: list[Repair]
    photos: list[Photo]
    by: str
    marked_at: Time
    after_placing: bool
    found: Found
    withdrawn: str | None


class Wall(Answer):
    id: str
    zone: str
    from_: Place = Field(alias="from")
    to: Place
    withdrawn: str | None


class Hold(Answer):
    """`lifted`: what was done about it, or null while it holds."""

    id: str
    zone: str
    cause: str
    reason: str
    by: str
    at: Time
    lifted: str | None


class Installed(Answer):
    """What there is of one kind in a zone. `asked_for`: whether this project's gate asks for it.
    `states`: how many stand in each state, the withdrawn left out."""

    asked_for: bool
    states: dict[str, int]


class ZoneWithDefects(Zone):
    """`defects` are the zone's own, by tag, withdrawn ones too; `reaching_in` are neighbours' marks whose
    outline reaches into it and hold it as well. What is installed besides is told by count; each has its own
    call."""

    digest: str
    defects: list[Defect]
    reaching_in: list[Defect]
    walls: list[Wall]
    holds: list[Hold]
    penetrations: Installed
    seams: Installed
    terminations: Installed
    film: Installed
    hold_points: Installed


class Walked(Answer):
    zone: str
    state: str
    walked_at: Time | None


class PatchLogged(Answer):
    """`overlap` and `meets` are of all that counts on the mark, this piece included as if it did: `meets` is
    about the size alone. Whether the mark is sealed is `defect_state`, and `reasons` say why it is not."""

    id: str
    defect: str
    tag: str
    overlap: Length | None
    meets: bool
    short_by: Length
    side: str | None = Field(description="Where the overlap is least: left, right, near or far.")
    defect_state: str
    reasons: list[Reason]


class Withdrawn(Answer):
    """`state` is the defect's, now."""

    id: str
    defect: str
    tag: str
    withdrawn: str
    state: str


class Subject(Answer):
    kind: str
    id: str
    tag: str


class Blocker(Answer):
    code: str
    text: str
    subject: Subject


class Release(Answer):
    """`fallen`: the facts have moved away from under it, so that it has no force."""

    id: str
    zone: str
    digest: str
    version: int
    statement: str
    not_asked_for: list[str]
    by: str
    at: Time
    pulled_back: str | None
    state: str
    fallen: bool


class Gate(Answer):
    """`digest` names exactly the facts that were judged. `release`: the latest that was not pulled back."""

    state: str
    digest: str
    blockers: list[Blocker]
    not_asked_for: list[str]
    release: Release | None


class EntrySubject(Answer):
    kind: str
    id: str


class Entry(Answer):
    """`by` is a name as it is told today; `by_id` is what the entry holds. `hash`: RFC 6962 leaf, in hex."""

    seq: int
    type: str
    at: Time
    by: str
    by_id: str
    role: str
    subject: EntrySubject
    zone: str | None
    tag: str | None
    sentence: str
    hash: str


class Checkpoint(Answer):
    """How many entries there are and the leaf hash of the last one; and `note`, the newest signed checkpoint
    that left the building, which may cover fewer. Null where none left."""

    size: int
    last_hash: str
    note: str | None


class History(Answer):
    entries: list[Entry]
    checkpoint: Checkpoint


class Judged(Answer):
    """`overlap` is null with no patch and below 0 where damage shows. `nearest`: metres from the damage's
    centre. `cut_size`: the least-area rectangle round the damage, and the minimum on every side of it."""

    overlap: Length | None
    meets: bool
    short_by: Length
    nearest: Place | None
    cut_size: CutSize
