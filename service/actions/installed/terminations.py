"""Describe how film ends along a zone's edge, log how it was sealed, and take either back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sqlmodel import Session

from service.actions.frame import late
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow, record, zone_to_change
from service.actions.frame.reading import ZoneView, view_with
from service.actions.installed.edge_entry import (
    Place,
    SealEntry,
    StretchEntry,
    read_seal,
    read_stretch,
    words_needed,
)
from service.domain.gate.zone_facts import nm_per_px
from service.domain.installed.edges import (
    BadStretch,
    edges_of,
    overlapping,
    stretch_path,
    undescribed,
    whole_edge,
)
from service.domain.installed.terminations import termination_faults
from service.domain.nouns import roles
from service.domain.nouns.installed import EdgeSeal, Px, Signed, Termination
from service.domain.nouns.site import Site, Zone
from service.domain.patches.repair import Numbers
from service.domain.rule_sheet.effective import sheet_in
from service.domain.words.measures import SIXTEENTH_NM
from service.domain.words.refusals import BadInput, Conflict, NoScale, NotAllowed
from service.domain.words.speech import tr, trn
from service.history.facts.installed import (
    EdgeSealWithdrawn,
    TerminationDescribed,
    TerminationSealed,
    TerminationWithdrawn,
)
from service.storage.history.seen import SeenProject, SeenZone, termination_seen_by

# A side or a gap each becomes one stretch; more than this many is a rounded edge, told better as one run.
MOST_AT_ONCE = 60


@dataclass(frozen=True, slots=True)
class EdgeJudged:
    """A stretch with the seal just logged on it, and the faults of that seal; none where it holds."""

    stretch: Termination
    faults: tuple[str, ...]


def edge_view(desk: Desk, by: str, termination_id: str) -> tuple[ZoneView, Termination]:
    """A stretch of edge within its zone."""
    view = view_with(desk, by, termination_seen_by, termination_id)
    return view, view.site.terminations[termination_id]


# --- describing ------------------------------------------------------------------------------------------


def describe_edge(desk: Desk, by: str, zone_id: str, given: Mapping[str, Any]) -> list[Termination]:
    """How film ends along sides of the zone, along a run of them, or along all that is not described yet.

    Sides become a stretch each, a run one stretch. What is described already is refused, naming its tag.
    """
    with desk.writing() as session:
        seen, site = zone_to_change(session, by, zone_id, "describe an edge")
        if seen.sketch.scale is None:
            raise NoScale
        entry = read_stretch(given)
        paths = _paths(seen.zone, _standing(site, zone_id), entry, nm_per_px(seen.sketch.scale))
        made = [_describe(desk, session, site, by, seen, entry, path) for path in paths]
    return [site.terminations[termination_id] for termination_id in made]


def _standing(site: Site, zone_id: str) -> list[Termination]:
    return [t for t in site.terminations.values() if t.zone_id == zone_id and t.withdrawn is None]


def _paths(
    zone: Zone, standing: Sequence[Termination], entry: StretchEntry, per_px: float
) -> list[tuple[Px, ...]]:
    if entry.bare:
        return _bare_paths(zone, standing, entry, per_px)
    try:
        if entry.part is not None:
            start, end = entry.part
            paths = [stretch_path(zone.outline, start.edge, start.nm, end.edge, end.nm, per_px)]
        else:
            paths = [whole_edge(zone.outline, number) for number in entry.edges]
    except BadStretch as bad:
        field = _field_at_fault(zone, entry.part, per_px)
        raise BadInput(str(bad), fields={field: str(bad)}, code=bad.code) from None
    for path in paths:
        _refuse_described(zone, standing, path, per_px, "edges" if entry.part is None else "from")
    return paths


def _field_at_fault(zone: Zone, part: tuple[Place, Place] | None, per_px: float) -> str:
    if part is None:
        return "edges"
    edges = edges_of(zone.outline, per_px)
    start = part[0]
    there = 1 <= start.edge <= len(edges) and start.nm <= edges[start.edge - 1].length_nm + SIXTEENTH_NM
    return "to" if there else "from"


def _bare_paths(
    zone: Zone, standing: Sequence[Termination], entry: StretchEntry, per_px: float
) -> list[tuple[Px, ...]]:
    """What nobody described yet, of the sides asked about or of all."""
    count = len(edges_of(zone.outline, per_px))
    if any(number > count for number in entry.edges):
        told = tr("This zone has sides 1 to {count}.", count=count)
        raise BadInput(told, fields={"edges": told}, code="no-such-edge")
    parts = undescribed(zone.outline, [stretch.path for stretch in standing], per_px)
    paths = [(a, b) for number, a, b, _ in parts if a != b and (not entry.edges or number in entry.edges)]
    if not paths:
        told = tr("All of that is described already.")
        raise Conflict(told, fields={"edges": tr("All of that is described.")})
    if len(paths) > MOST_AT_ONCE:
        told = trn(
            "That is {n} side. Describe a rounded edge as one run, from a place to a place.",
            "That is {n} sides. Describe a rounded edge as one run, from a place to a place.",
            len(paths),
        )
        raise BadInput(told, fields={"edges": told}, code="too-many-sides")
    return list(paths)


def _refuse_described(
    zone: Zone, standing: Sequence[Termination], path: tuple[Px, ...], per_px: float, field: str
) -> None:
    found = overlapping(zone.outline, [stretch.path for stretch in standing], path, per_px)
    if found:
        tags = ", ".join(standing[index].tag for index in found)
        told = tr(
            "{tags} describes part of that already. Withdraw it first, or give only what is left.", tags=tags
        )
        raise BadInput(told, fields={field: told}, code="described-already")


def _describe(
    desk: Desk,
    session: Session,
    site: Site,
    by: str,
    seen: SeenZone,
    entry: StretchEntry,
    path: tuple[Px, ...],
) -> str:
    home = site.zones[seen.zone.id]  # its count of stretches grows with each one recorded
    fact = TerminationDescribed(
        termination=desk.new_id(),
        sketch=home.sketch_id,
        zone=home.id,
        tag=f"{home.letter}-E{home.stretches + 1:02d}",
        kind=entry.kind,
        path=path,
        authority=entry.authority,
        what=entry.what,
        note=entry.note,
    )
    record(desk, session, site, by, seen.role, fact)
    return fact.termination


# --- sealing ---------------------------------------------------------------------------------------------


def seal_edge(desk: Desk, by: str, termination_id: str, given: Mapping[str, Any]) -> list[EdgeJudged]:
    """Record how a stretch was sealed, and `also` stretches of its kind done the same way: an entry each.

    What is at fault is recorded as it is and holds the zone; a new seal takes the place of the one before.
    """
    with desk.writing() as session:
        _, stretch = termination_seen_by(session, by, termination_id)
        seen, site = zone_to_change(session, by, stretch.zone_id, "log an edge's seal")
        stretch = _to_seal(site, termination_id)
        entry = read_seal(stretch.kind, given)
        numbers = Numbers.of(sheet_in(site, seen.zone))
        asked = [stretch, *_done_alike(site, stretch, entry.also)]
        late.check_thing(desk, session, site, by, {each.tag for each in asked}, late.EDGE_SEALED_OR_OPENED)
        return [_seal(desk, session, site, by, seen, each, entry, numbers) for each in asked]


def _to_seal(site: Site, termination_id: str) -> Termination:
    stretch = site.terminations[termination_id]
    if stretch.withdrawn is not None:
        told = tr(
            "{tag} was withdrawn: {reason}. Nothing was recorded.", tag=stretch.tag, reason=stretch.withdrawn
        )
        raise Conflict(told, code="edge-withdrawn")
    return stretch


def _done_alike(site: Site, stretch: Termination, also: Sequence[str]) -> list[Termination]:
    others = [site.terminations.get(other) for other in also if other != stretch.id]
    found = [o for o in others if o is not None and o.withdrawn is None and o.zone_id == stretch.zone_id]
    if len(found) < len(others) or any(other.kind != stretch.kind for other in found):
        told = tr("One of the others is not a standing stretch of this kind in this zone.")
        raise BadInput(told, fields={"also": told})
    return found


def _seal(
    desk: Desk,
    session: Session,
    site: Site,
    by: str,
    seen: SeenZone,
    stretch: Termination,
    entry: SealEntry,
    numbers: Numbers,
) -> EdgeJudged:
    now = Signed(by, seen.role, desk.clock(), 0)
    seal = EdgeSeal(desk.new_id(), entry.sealed, entry.runs_past_nm, entry.protected, entry.work, now)
    faults = termination_faults(replace(stretch, seal=seal), numbers)
    fact = TerminationSealed(
        seal=seal.id,
        termination=stretch.id,
        zone=stretch.zone_id,
        tag=stretch.tag,
        sealed=seal.sealed,
        runs_past_nm=seal.runs_past_nm,
        protected=seal.protected,
        work=seal.work,
        faults=faults,
    )
    record(desk, session, site, by, seen.role, fact)
    return EdgeJudged(site.terminations[stretch.id], faults)


# --- taking back -----------------------------------------------------------------------------------------


def unseal_edge(desk: Desk, by: str, termination_id: str, reason: str) -> Termination:
    """What was logged of the seal no longer counts; the stretch stays described and holds the zone."""
    reason = words_needed(reason, tr("Say why the seal is withdrawn."))
    with desk.writing() as session:
        _, stretch = termination_seen_by(session, by, termination_id)
        seen, site = zone_to_change(session, by, stretch.zone_id, "withdraw an edge")
        stretch = site.terminations[termination_id]
        if stretch.withdrawn is not None or stretch.seal is None:
            raise Conflict(tr("No seal is logged on {tag}.", tag=stretch.tag), code="no-seal")
        allow_withdrawing(seen, by, stretch.seal.signed)
        fact = EdgeSealWithdrawn(stretch.seal.id, stretch.id, stretch.zone_id, stretch.tag, reason)
        record(desk, session, site, by, seen.role, fact)
    return site.terminations[termination_id]


def withdraw_edge(desk: Desk, by: str, termination_id: str, reason: str) -> Termination:
    """Take a stretch back: it stays in the history with its reason, and its part of the edge is bare."""
    reason = words_needed(reason, tr("Say why the stretch is withdrawn."))
    with desk.writing() as session:
        _, stretch = termination_seen_by(session, by, termination_id)
        seen, site = zone_to_change(session, by, stretch.zone_id, "withdraw an edge")
        stretch = site.terminations[termination_id]
        if stretch.withdrawn is not None:
            raise Conflict(tr("{tag} is withdrawn already.", tag=stretch.tag), code="withdrawn-already")
        allow_withdrawing(seen, by, stretch.signed)
        record(
            desk, session, site, by, seen.role,
            TerminationWithdrawn(stretch.id, stretch.zone_id, stretch.tag, reason),
        )  # fmt: skip
    return site.terminations[termination_id]


def allow_withdrawing(seen: SeenProject, by: str, signed: Signed) -> None:
    """NotAllowed unless this person may take back what was signed so."""
    allow(seen, "withdraw an edge")
    if not roles.may_withdraw(seen.role, by, signed.by, signed.role):
        raise NotAllowed(
            tr("An edge or its seal is withdrawn by whoever logged it, or by the project manager.")
        )
