"""Seams as JSON: drawn singly or side by side, walked with measured laps, taken back."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import Field, RootModel
from starlette.responses import Response

from service.actions.frame import reading
from service.actions.frame.reading import ZoneView
from service.actions.installed import seams
from service.actions.installed.seams import SeamStand, seams_standing
from service.api.answers import marks as answers_marks
from service.api.answers.marks import Reason
from service.api.answers.sites import Answer, Length, Place, Time
from service.api.shared import bodies
from service.api.shared.calls import SIGNED_IN, Id, Reads, SignedRoute, Writes
from service.api.shared.errors import READS, WRITES, told
from service.api.telling import marks as tell
from service.api.telling.telling import NOBODY, length, place
from service.domain.gate.zone_facts import nm_per_px
from service.domain.installed.seams import (
    FAULT_WORDS,
    FAULTS,
    MOST_POINTS,
    MOST_STATIONS,
    distance_along,
    suggested_stations,
    walk_findings,
)
from service.domain.nouns.installed import SEAM_KINDS, SIDE_LAP, Seam, SeamWalk
from service.domain.patches.repair import Numbers
from service.domain.words.measures import NM_PER_M, Units, say_run
from service.domain.words.temperatures import say_temperature
from service.history.facts.encoding import time_text

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["seams"])


# --- what programs send ----------------------------------------------------------------------------------


class Copies(bodies.Sent):
    """More seams beside the drawn one, to its `left` or `right` as one goes from its start."""

    count: int
    spacing: bodies.Length = Field(description="From each to the next: the roll's width less the lap.")
    side: bodies.Text = "right"


class NewSeam(bodies.Sent):
    """`path`: its ends in order, and its bends between them. `copies` draws several side laps in one go."""

    model_config = bodies.example(
        kind=SIDE_LAP, path=[[150, 200], [850, 200]],
        copies={"count": 3, "spacing": "14 ft 6 in", "side": "right"},
    )  # fmt: skip
    kind: bodies.Text = Field(description=bodies.listed(SEAM_KINDS))
    path: Annotated[list[bodies.Place], Field(max_length=MOST_POINTS + 1)]
    copies: Copies | None = None
    note: bodies.Text = ""


class NewStation(bodies.Sent):
    """A lap measured; `at` is how far along the seam from its start, "0 in" at the start itself."""

    at: bodies.Length
    lap: bodies.Length


class NewRun(bodies.Sent):
    """A run at fault, from so far to so far from the seam's start. `opening`: how wide a fishmouth gapes."""

    fault: bodies.Text = Field(description=bodies.listed(FAULTS))
    from_: bodies.Length = Field(alias="from")
    to: bodies.Length
    opening: bodies.Length | None = None


class NewWalk(bodies.Sent):
    """A walk from end to end. `taped` and `bonded` speak of all of it but the runs. A short reading without a
    run of its own makes one, up to the good readings beside it."""

    model_config = bodies.example(
        stations=[{"at": "5 ft", "lap": "6 in"}, {"at": "15 ft", "lap": "6 1/2 in"}],
        runs=[{"fault": "fishmouth", "from": "8 ft", "to": "8 ft 6 in", "opening": "1 in"}],
        taped=True, bonded=True, cleaned=True, dry=True, tape_width="4 in",
    )  # fmt: skip
    stations: Annotated[list[NewStation], Field(max_length=MOST_STATIONS + 1)]
    runs: Annotated[list[NewRun], Field(max_length=500)] | None = None
    taped: bool
    bonded: bool
    cleaned: bool
    dry: bool
    tape_width: bodies.Length | None = Field(default=None, description="Asked for where it is taped.")
    film_temperature: bodies.Text | None = None
    lot: bodies.Text | None = None
    note: bodies.Text | None = None


# --- what they get ---------------------------------------------------------------------------------------


class StationTold(Answer):
    """A reading. `short`: under the least lap that holds in the zone now."""

    at: Place
    along: Length
    lap: Length
    short: bool


class RunTold(Answer):
    """A run at fault. `mark`: the id of the defect that was marked for it."""

    fault: str
    from_: Length = Field(alias="from")
    to: Length
    mark: str


class WalkTold(Answer):
    """The newest walk. `tape_width` is null where the seam was not taped."""

    id: str
    stations: list[StationTold]
    runs: list[RunTold]
    taped: bool
    bonded: bool
    cleaned: bool
    dry: bool
    tape_width: Length | None
    film_temperature: str
    lot: str
    note: str
    by: str
    at: Time


class SeamTold(Answer):
    """A seam. `state`: open (nobody walked it), not sealed, sealed, withdrawn; `reasons`: why it is not
    sealed. A run at fault holds the zone as the defect marked for it. `suggested_stations`: where to measure,
    from its start."""

    id: str
    zone: str
    tag: str
    kind: str
    path: list[Place]
    length: Length
    state: str
    reasons: list[Reason]
    suggested_stations: list[Length]
    walk: WalkTold | None
    note: str
    by: str
    drawn_at: Time
    withdrawn: str | None


class Drawn(RootModel[list[SeamTold]]):
    """The drawn seam first, then those beside it."""


class SeamsTold(Answer):
    """The zone's seams in tag order, withdrawn ones too. `none_here`: it is stated that there are none."""

    seams: list[SeamTold]
    none_here: bool


class SeamWalked(Answer):
    """`id` is the walk's. `marks`: the defects marked for its runs, each with the cover strip it needs or how
    it is mended otherwise; `stood`: defects that stood for a run before, so that no second was marked."""

    id: str
    seam: str
    tag: str
    meets: bool
    state: str
    reasons: list[Reason]
    marks: list[answers_marks.Defect]
    stood: list[answers_marks.Defect]


# --- the calls -------------------------------------------------------------------------------------------


@router.post("/zones/{zone_id}/seams", status_code=201, response_model=Drawn, responses=told(WRITES))
def draw_seams(zone_id: Id, body: NewSeam, call: Writes) -> Response:
    """Draw a seam, or several side by side. Their tags come at once and are never given again."""

    def act() -> Drawn:
        drawn = seams.draw_seams(call.desk, call.by, zone_id, _given(body))
        view, ids = reading.zone_view(call.desk, call.by, zone_id), {one.id for one in drawn}
        return Drawn([seam(view, of) for of in seams_standing(view) if of.seam.id in ids])

    return call.once(201, act)


def _given(body: bodies.Sent) -> dict[str, Any]:
    """What was sent, by the contract's own names."""
    return body.model_dump(exclude_unset=True, by_alias=True)


@router.get("/zones/{zone_id}/seams", responses=told((*READS, 409)))
def seams_of_a_zone(zone_id: Id, call: Reads) -> SeamsTold:
    """Every seam of the zone, with how it stands and its newest walk."""
    view = reading.zone_view(call.desk, call.by, zone_id)
    told_all = [seam(view, of) for of in seams_standing(view)]
    return SeamsTold(seams=told_all, none_here="seams" in view.zone.none_here)


@router.get("/seams/{seam_id}", responses=told((*READS, 409)))
def one_seam(seam_id: Id, call: Reads) -> SeamTold:
    """A seam as it stands."""
    view, _ = seams.seam_view(call.desk, call.by, seam_id)
    return seam(view, _of(view, seam_id))


def _of(view: ZoneView, seam_id: str) -> SeamStand:
    return next(of for of in seams_standing(view) if of.seam.id == seam_id)


@router.post("/seams/{seam_id}/walks", status_code=201, response_model=SeamWalked, responses=told(WRITES))
def walk_a_seam(seam_id: Id, body: NewWalk, call: Writes) -> Response:
    """Record a walk of the seam; it takes the place of the one before. What is at fault is marked."""

    def act() -> SeamWalked:
        judged = seams.walk_seam(call.desk, call.by, seam_id, _given(body))
        view, walked = seams.seam_view(call.desk, call.by, seam_id)
        assert walked.walk is not None, "just walked"
        of = _of(view, seam_id)
        return SeamWalked(
            id=walked.walk.id, seam=seam_id, tag=walked.tag, meets=not of.faults, state=of.state,
            reasons=_reasons(of.faults),
            marks=[tell.defect(view, view.site.defects[mark.id]) for mark in judged.marked],
            stood=[tell.defect(view, view.site.defects[mark.id]) for mark in judged.stood],
        )  # fmt: skip

    return call.once(201, act)


@router.post("/seams/{seam_id}/withdraw", response_model=SeamTold, responses=told(WRITES))
def withdraw_a_seam(seam_id: Id, body: bodies.WithReason, call: Writes) -> Response:
    """Drawn by mistake: it stays in the history with its reason. The marks made on its walks stay."""

    def act() -> SeamTold:
        seams.withdraw_seam(call.desk, call.by, seam_id, body.reason)
        return one_seam(seam_id, call)

    return call.once(200, act)


# --- telling ---------------------------------------------------------------------------------------------


def seam(view: ZoneView, stand: SeamStand) -> SeamTold:
    """A seam as programs get it."""
    assert view.seen.sketch.scale is not None, "a seam stands on a sketch with a scale"
    of, units, per_px = stand.seam, view.seen.project.units, nm_per_px(view.seen.sketch.scale)
    numbers = Numbers.of(view.seen.project.sheet)
    every = suggested_stations(of.path, per_px, numbers.station_every_nm)
    return SeamTold(
        id=of.id, zone=of.zone_id, tag=of.tag, kind=of.kind,
        path=[place(view.seen.sketch, at) for at in of.path], length=_along(stand.long_nm, units),
        state=stand.state, reasons=_reasons(stand.faults),
        suggested_stations=[_along(nm, units) for nm in every],
        walk=None if of.walk is None else _walk(view, of, of.walk, per_px, numbers),
        note=of.note, by=view.names.get(of.signed.by, NOBODY), drawn_at=time_text(of.signed.at),
        withdrawn=of.withdrawn,
    )  # fmt: skip


def _along(nm: float, units: Units) -> Length:
    """A way along the seam in whole nanometres: feet and inches in its text."""
    whole = round(nm)
    return Length(text=say_run(whole, units), m=whole / NM_PER_M)


def _reasons(faults: tuple[str, ...]) -> list[Reason]:
    return [Reason(code=code, text=FAULT_WORDS[code]) for code in faults]


def _walk(view: ZoneView, on: Seam, of: SeamWalk, per_px: float, numbers: Numbers) -> WalkTold:
    units, sketch, work = view.seen.project.units, view.seen.sketch, of.work
    short = walk_findings(of.stations, numbers)
    stations = [
        StationTold(
            at=place(sketch, station.at), along=_along(distance_along(on.path, station.at, per_px), units),
            lap=length(station.lap_nm, units, "down"), short=number in short,
        )
        for number, station in enumerate(of.stations)
    ]  # fmt: skip
    runs = []
    for run in of.runs:
        start, end = (_along(distance_along(on.path, at, per_px), units) for at in (run.a, run.b))
        runs.append(RunTold.model_validate({"fault": run.fault, "from": start, "to": end, "mark": run.mark}))
    return WalkTold(
        id=of.id, stations=stations, runs=runs, taped=of.taped, bonded=of.bonded, cleaned=work.cleaned,
        dry=work.dry, tape_width=length(work.tape_width_nm, units, "down") if work.tape_width_nm else None,
        film_temperature="" if work.film_mf is None else say_temperature(work.film_mf, units),
        lot=work.lot, note=work.note, by=view.names.get(of.signed.by, NOBODY), at=time_text(of.signed.at),
    )  # fmt: skip
