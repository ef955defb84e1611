"""Folds what happens to film as installed into the site: seals, seams, edges, repairs, lots, signatures."""

from __future__ import annotations

from dataclasses import replace

from service.domain.gate.during import kept_beside, placing_on
from service.domain.nouns.installed import (
    EdgeSeal,
    Laying,
    Look,
    Lot,
    Material,
    Penetration,
    Repair,
    Seal,
    Seam,
    SeamWalk,
    Signature,
    Signed,
    Termination,
)
from service.domain.nouns.site import Noun, Site
from service.history.facts import film as h
from service.history.facts import installed as g
from service.history.facts.entries import Entry

_OnMarks = g.CauseTold | g.RepairLogged | g.RepairWithdrawn | g.PatchLookedAt | g.RepairLookedAt
_Penetrations = g.PenetrationsPlaced | g.PenetrationWithdrawn | g.SealLogged | g.SealWithdrawn
_Seams = g.SeamDrawn | g.SeamWalked | g.SeamWithdrawn
_Edges = g.TerminationDescribed | g.TerminationSealed | g.EdgeSealWithdrawn | g.TerminationWithdrawn
_Film = h.MaterialSubmitted | h.MaterialWithdrawn | h.LotReceived | h.LotWithdrawn
_Zones = g.NumbersRaised | g.NoneHereStated | h.LotLaid | h.LayingWithdrawn | h.HoldPointSigned
Installed = _OnMarks | _Penetrations | _Seams | _Edges | _Film | _Zones


def installed(site: Site, entry: Entry, fact: Installed) -> tuple[Noun, ...]:
    """The new versions of every noun that such an entry changes."""
    signed = Signed(entry.by, entry.role, entry.at, entry.seq)
    if isinstance(fact, _OnMarks):
        return (_mark(site, fact, signed),)
    if isinstance(fact, _Penetrations):
        return _penetration(site, fact, signed)
    if isinstance(fact, _Seams):
        return _seam(site, fact, signed)
    if isinstance(fact, _Edges):
        return _edge(site, fact, signed)
    if isinstance(fact, _Film):
        return (_film(site, fact, signed),)
    return (_zone(site, fact, signed),)


def _mark(site: Site, fact: _OnMarks, signed: Signed) -> Noun:
    if isinstance(fact, g.PatchLookedAt):
        patch = site.patches[fact.patch]
        return replace(patch, looks=(*patch.looks, _look(fact, signed)))
    mark = site.defects[fact.defect]
    match fact:
        case g.CauseTold():
            return replace(mark, cause=fact.cause)
        case g.RepairLogged():
            repair = Repair(
                fact.repair, fact.method, fact.lap_nm, fact.taped, fact.work, (), signed, None, fact.late
            )  # fmt: skip
            return replace(mark, repairs=(*mark.repairs, repair))
        case g.RepairWithdrawn():
            return replace(
                mark,
                repairs=tuple(
                    replace(r, withdrawn=fact.reason) if r.id == fact.repair else r for r in mark.repairs
                ),
            )
        case g.RepairLookedAt():
            look = _look(fact, signed)
            return replace(
                mark,
                repairs=tuple(
                    replace(r, looks=(*r.looks, look)) if r.id == fact.repair else r for r in mark.repairs
                ),
            )


def _look(fact: g.PatchLookedAt | g.RepairLookedAt, signed: Signed) -> Look:
    return Look(fact.look, fact.accepted, fact.note, signed.by, signed.role, signed.at, signed.seq)


def _penetration(site: Site, fact: _Penetrations, signed: Signed) -> tuple[Noun, ...]:
    match fact:
        case g.PenetrationsPlaced():
            placed = tuple(
                Penetration(
                    p.penetration, fact.sketch, fact.zone, p.tag, p.kind, p.size, p.outline, p.at, fact.note,
                    signed, None, None,
                )
                for p in fact.placed
            )  # fmt: skip
            home = site.zones[fact.zone]
            return (*placed, replace(home, penetrations=home.penetrations + len(placed)))
        case g.PenetrationWithdrawn():
            return (replace(site.penetrations[fact.penetration], withdrawn=fact.reason),)
        case g.SealLogged():
            together = (fact.penetration, *fact.also)
            seal = Seal(
                fact.seal, fact.method, together, fact.collar_width_nm, fact.collar_length_nm, fact.fingers,
                fact.taped_to_pipe, fact.taped_to_film, fact.close_cut, fact.work, signed,
            )  # fmt: skip
            return tuple(_sealed(site, site.penetrations[id], seal) for id in together)
        case g.SealWithdrawn():
            under = (site.penetrations[id] for id in (fact.penetration, *fact.also))
            return tuple(unsealed for p in under if (unsealed := _unsealed(p, fact.seal)) is not None)


def _sealed(site: Site, pipe: Penetration, seal: Seal) -> Penetration:
    replaced = kept_beside(pipe.replaced, pipe.seal, placing_on(site, pipe.sketch_id))
    return replace(pipe, seal=seal, replaced=replaced)


def _unsealed(pipe: Penetration, seal_id: str) -> Penetration | None:
    """Without that seal; None where it has another. One sealed anew since keeps its newer seal."""
    if pipe.seal is not None and pipe.seal.id == seal_id:
        return replace(pipe, seal=None, replaced=())
    gone = any(seal.id == seal_id for seal in pipe.replaced)
    return replace(pipe, replaced=()) if gone else None


def _seam(site: Site, fact: _Seams, signed: Signed) -> tuple[Noun, ...]:
    match fact:
        case g.SeamDrawn():
            seam = Seam(
                fact.seam,
                fact.sketch,
                fact.zone,
                fact.tag,
                fact.kind,
                fact.path,
                fact.note,
                signed,
                None,
                None,
            )
            home = site.zones[fact.zone]
            return seam, replace(home, seams=home.seams + 1)
        case g.SeamWalked():
            walk = SeamWalk(fact.walk, fact.stations, fact.runs, fact.taped, fact.bonded, fact.work, signed)
            walked = site.seams[fact.seam]
            replaced = kept_beside(walked.replaced, walked.walk, placing_on(site, walked.sketch_id))
            return (replace(walked, walk=walk, replaced=replaced),)
        case g.SeamWithdrawn():
            return (replace(site.seams[fact.seam], withdrawn=fact.reason),)


def _edge(site: Site, fact: _Edges, signed: Signed) -> tuple[Noun, ...]:
    match fact:
        case g.TerminationDescribed():
            stretch = Termination(
                fact.termination, fact.sketch, fact.zone, fact.tag, fact.kind, fact.path, fact.authority,
                fact.what, fact.note, signed, None, None,
            )  # fmt: skip
            home = site.zones[fact.zone]
            return stretch, replace(home, stretches=home.stretches + 1)
        case g.TerminationSealed():
            seal = EdgeSeal(fact.seal, fact.sealed, fact.runs_past_nm, fact.protected, fact.work, signed)
            old = site.terminations[fact.termination]
            replaced = kept_beside(old.replaced, old.seal, placing_on(site, old.sketch_id))
            return (replace(old, seal=seal, replaced=replaced),)
        case g.EdgeSealWithdrawn():
            return (replace(site.terminations[fact.termination], seal=None, replaced=()),)
        case g.TerminationWithdrawn():
            return (replace(site.terminations[fact.termination], withdrawn=fact.reason),)


def _film(site: Site, fact: _Film, signed: Signed) -> Noun:
    match fact:
        case h.MaterialSubmitted():
            return Material(
                fact.material, fact.kind, fact.name, fact.claimed_class, fact.permeance_up, fact.thickness_nm,
                fact.tensile_mlbf_in, fact.puncture_g, fact.roll_width_nm, fact.roll_length_nm,
                fact.least_lap_nm, fact.least_patch_overlap_nm, fact.least_mf, fact.note, signed, None,
            )  # fmt: skip
        case h.MaterialWithdrawn():
            return replace(site.materials[fact.material], withdrawn=fact.reason)
        case h.LotReceived():
            return Lot(fact.lot, fact.material, fact.number, fact.rolls, fact.note, signed, None)
        case h.LotWithdrawn():
            return replace(site.lots[fact.lot], withdrawn=fact.reason)


def _zone(site: Site, fact: _Zones, signed: Signed) -> Noun:
    zone = site.zones[fact.zone]
    match fact:
        case g.NumbersRaised():
            return replace(zone, raised=fact.raised, raised_revision=zone.raised_revision + 1)
        case g.NoneHereStated():
            return replace(zone, none_here=tuple(sorted({*zone.none_here, fact.what})))
        case h.LotLaid():
            return replace(zone, laid=(*zone.laid, Laying(fact.laying, fact.lot, fact.note, signed, None)))
        case h.LayingWithdrawn():
            laid = tuple(replace(x, withdrawn=fact.reason) if x.id == fact.laying else x for x in zone.laid)
            return replace(zone, laid=laid)
        case h.HoldPointSigned():
            scale = site.sketches[zone.sketch_id].scale_revision
            signature = Signature(
                fact.signature, fact.step, fact.accepted, fact.note, zone.outline_revision, scale, signed
            )
            return replace(zone, signatures=(*zone.signatures, signature))
