"""How film ends along a zone's edge, as JSON: stretches described, sealed, taken back."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter
from pydantic import Field, RootModel
from starlette.responses import Response

from service.actions.frame import reading
from service.actions.frame.reading import ZoneView
from service.actions.installed import terminations
from service.api.answers.marks import Reason
from service.api.answers.sites import Answer, Length, Place, Time
from service.api.shared import bodies
from service.api.shared.calls import SIGNED_IN, Id, Reads, SignedRoute, Writes
from service.api.shared.errors import READS, WRITES, told
from service.api.telling.telling import NOBODY, length, maybe_length, place
from service.domain.gate.zone_facts import nm_per_px
from service.domain.installed.edges import undescribed
from service.domain.installed.stretches import neighbours_along, path_nm, sides_of, state_of
from service.domain.installed.terminations import FAULT_WORDS, NEEDS, NEEDS_SOURCES, termination_faults
from service.domain.nouns.installed import JOINT, TERMINATION_KINDS, EdgeSeal, Termination
from service.domain.patches.repair import Numbers
from service.domain.words.refusals import NoScale
from service.domain.words.temperatures import say_temperature
from service.history.facts.encoding import time_text

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["terminations"])


# --- what programs send ----------------------------------------------------------------------------------


class EdgePlace(bodies.Sent):
    """A place on the edge: a side by its number, and how far past the start of that side."""

    edge: int = Field(ge=1, le=100_000)
    distance: bodies.Length


class NewTermination(bodies.Sent):
    """Which part of the edge: `edges`, whole sides, a stretch each; `from` and `to`, one stretch in the order
    of the sides; or `bare`, what is not described yet, of `edges` or of all sides."""

    model_config = bodies.example(kind="sealed to the wall or grade beam", edges=[1, 2])
    kind: bodies.Text = Field(description=bodies.listed(TERMINATION_KINDS))
    edges: Annotated[list[int], Field(max_length=60)] | None = None
    from_: EdgePlace | None = Field(default=None, alias="from")
    to: EdgePlace | None = None
    bare: bool = False
    authority: bodies.Text = Field(default="", description="Asked for both footing kinds: whose word it is.")
    what: bodies.Text = Field(default="", description="Asked for an impediment: what the film ends at.")
    note: bodies.Text = ""


class NewEdgeSeal(bodies.Sent):
    """`sealed`, `cleaned` and `dry` must be answered; `tape_width` wherever film ends at something that
    stands, 0 for mastic; `runs_past` and `protected` at a construction joint, and only there."""

    model_config = bodies.example(sealed=True, cleaned=True, dry=True, tape_width="4 in", lot="T-118")
    sealed: bool
    cleaned: bool
    dry: bool
    tape_width: bodies.Length | None = None
    runs_past: bodies.Length | None = None
    protected: bool | None = None
    lot: bodies.Text | None = None
    film_temperature: bodies.Text | None = None
    note: bodies.Text | None = None
    also: Annotated[list[bodies.MarkId], Field(max_length=60)] | None = Field(
        default=None, description="Ids of other stretches of this kind sealed the same way."
    )


# --- what they get ---------------------------------------------------------------------------------------


class EdgeSealTold(Answer):
    """A seal as logged. `tape_width` 0: mastic, or nothing to tape to."""

    id: str
    sealed: bool
    runs_past: Length | None
    protected: bool | None
    cleaned: bool
    dry: bool
    tape_width: Length
    film_temperature: str | None
    lot: str
    note: str
    by: str
    at: Time


class EdgeNeeds(Answer):
    """What must be done there and where that is from. `runs_past`: the least, at a construction joint."""

    text: str
    source: str
    runs_past: Length | None


class TerminationTold(Answer):
    """A stretch of edge. `state`: open (nothing logged), not sealed, sealed, withdrawn. `edges`: the sides it
    lies along, none where the outline was changed since. `neighbours`: letters of the zones past a joint."""

    id: str
    zone: str
    tag: str
    kind: str
    state: str
    reasons: list[Reason]
    path: list[Place]
    length: Length
    edges: list[int]
    neighbours: list[str]
    needs: EdgeNeeds
    authority: str
    what: str
    note: str
    seal: EdgeSealTold | None
    by: str
    described_at: Time
    withdrawn: str | None


class Terminations(RootModel[list[TerminationTold]]):
    """One stretch for each side, or one for a run."""


class BareEdgeTold(Answer):
    """A part of a side that nobody described; a side may have several."""

    edge: int
    length: Length


class EdgesTold(Answer):
    """The zone's edge. `described` stand; `withdrawn` do not."""

    described: list[TerminationTold]
    bare: list[BareEdgeTold]
    withdrawn: list[TerminationTold]


class EdgeSealed(Answer):
    """`id` is the seal's. `meets`: it is in order; `reasons`: why not. `also`: the others sealed with it."""

    id: str
    termination: str
    tag: str
    meets: bool
    state: str
    reasons: list[Reason]
    also: list[TerminationTold]


# --- the calls -------------------------------------------------------------------------------------------


@router.post(
    "/zones/{zone_id}/terminations", status_code=201, response_model=Terminations, responses=told(WRITES)
)
def describe_an_edge(zone_id: Id, body: NewTermination, call: Writes) -> Response:
    """Say how film ends along sides of the zone, or along a run of them."""
    given = body.model_dump(exclude_unset=True, by_alias=True)

    def act() -> Terminations:
        made = terminations.describe_edge(call.desk, call.by, zone_id, given)
        view = reading.zone_view(call.desk, call.by, zone_id)
        return Terminations([termination(view, stretch) for stretch in made])

    return call.once(201, act)


@router.get("/zones/{zone_id}/terminations", responses=told((*READS, 409)))
def edges_of_a_zone(zone_id: Id, call: Reads) -> EdgesTold:
    """What is described of the zone's edge, and what is not; side 1 starts at the outline's first corner."""
    view = reading.zone_view(call.desk, call.by, zone_id)
    per_px, units = _per_px(view), view.seen.project.units
    all_told = [(stretch, termination(view, stretch)) for stretch in view.terminations()]
    paths = [stretch.path for stretch, _ in all_told if stretch.withdrawn is None]
    return EdgesTold(
        described=[of for stretch, of in all_told if stretch.withdrawn is None],
        bare=[
            BareEdgeTold(edge=edge, length=length(nm, units, "up"))
            for edge, _, _, nm in undescribed(view.zone.outline, paths, per_px)
        ],
        withdrawn=[of for stretch, of in all_told if stretch.withdrawn is not None],
    )


@router.get("/terminations/{termination_id}", responses=told((*READS, 409)))
def one_termination(termination_id: Id, call: Reads) -> TerminationTold:
    """A stretch of edge as it stands."""
    return termination(*terminations.edge_view(call.desk, call.by, termination_id))


@router.post(
    "/terminations/{termination_id}/seals", status_code=201, response_model=EdgeSealed, responses=told(WRITES)
)
def seal_an_edge(termination_id: Id, body: NewEdgeSeal, call: Writes) -> Response:
    """Log how a stretch was sealed, as it is. What is at fault is kept and holds the zone, and told."""

    def act() -> EdgeSealed:
        first, *others = terminations.seal_edge(call.desk, call.by, termination_id, bodies.given(body))
        view = reading.zone_view(call.desk, call.by, first.stretch.zone_id)
        assert first.stretch.seal is not None, "just logged"
        return EdgeSealed(
            id=first.stretch.seal.id,
            termination=first.stretch.id,
            tag=first.stretch.tag,
            meets=not first.faults,
            state=state_of(first.stretch, first.faults),
            reasons=reasons(first.faults),
            also=[termination(view, other.stretch) for other in others],
        )

    return call.once(201, act)


@router.post("/terminations/{termination_id}/unseal", response_model=TerminationTold, responses=told(WRITES))
def withdraw_an_edges_seal(termination_id: Id, body: bodies.WithReason, call: Writes) -> Response:
    """What was logged of its seal no longer counts; the stretch stays described."""

    def act() -> TerminationTold:
        terminations.unseal_edge(call.desk, call.by, termination_id, body.reason)
        return one_termination(termination_id, call)

    return call.once(200, act)


@router.post(
    "/terminations/{termination_id}/withdraw", response_model=TerminationTold, responses=told(WRITES)
)
def withdraw_an_edge(termination_id: Id, body: bodies.WithReason, call: Writes) -> Response:
    """Take a stretch back: its part of the edge is not described any more."""

    def act() -> TerminationTold:
        terminations.withdraw_edge(call.desk, call.by, termination_id, body.reason)
        return one_termination(termination_id, call)

    return call.once(200, act)


# --- telling ---------------------------------------------------------------------------------------------


def _per_px(view: ZoneView) -> float:
    if view.seen.sketch.scale is None:
        raise NoScale
    return nm_per_px(view.seen.sketch.scale)


def reasons(faults: tuple[str, ...]) -> list[Reason]:
    return [Reason(code=code, text=FAULT_WORDS[code]) for code in faults]


def termination(view: ZoneView, of: Termination) -> TerminationTold:
    """A stretch as programs get it; NoScale where nothing has a length."""
    sheet, units, per_px = view.seen.project.sheet, view.seen.project.units, _per_px(view)
    faults = termination_faults(of, Numbers.of(sheet)) if of.withdrawn is None else ()
    needs = EdgeNeeds(
        text=NEEDS[of.kind],
        source=NEEDS_SOURCES[of.kind],
        runs_past=length(sheet.lap.nm, units, "up") if of.kind == JOINT else None,
    )
    return TerminationTold(
        id=of.id, zone=of.zone_id, tag=of.tag, kind=of.kind, state=state_of(of, faults),
        reasons=reasons(faults),
        path=[place(view.seen.sketch, at) for at in of.path], length=length(path_nm(of.path, per_px), units),
        edges=list(sides_of(view.zone.outline, of.path, per_px)), neighbours=_neighbours(view, of, per_px),
        needs=needs, authority=of.authority, what=of.what, note=of.note,
        seal=None if of.seal is None else seal(view, of.seal), by=view.names.get(of.signed.by, NOBODY),
        described_at=time_text(of.signed.at), withdrawn=of.withdrawn,
    )  # fmt: skip


def _neighbours(view: ZoneView, of: Termination, per_px: float) -> list[str]:
    if of.kind != JOINT:
        return []
    others = (z for z in view.site.zones.values() if z.withdrawn is None and z.id != of.zone_id)
    rings = {zone.letter: zone.outline for zone in others if zone.sketch_id == of.sketch_id}
    return list(neighbours_along(of.path, rings, per_px))


def seal(view: ZoneView, of: EdgeSeal) -> EdgeSealTold:
    units, work = view.seen.project.units, of.work
    return EdgeSealTold(
        id=of.id, sealed=of.sealed, runs_past=maybe_length(of.runs_past_nm, units, "down"),
        protected=of.protected, cleaned=work.cleaned, dry=work.dry,
        tape_width=length(work.tape_width_nm, units, "down"),
        film_temperature=None if work.film_mf is None else say_temperature(work.film_mf, units),
        lot=work.lot, note=work.note, by=view.names.get(of.signed.by, NOBODY), at=time_text(of.signed.at),
    )  # fmt: skip
