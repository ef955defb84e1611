"""What is installed in a zone, for the closeout: penetrations and seals, seams and walks, edges."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from service.actions.closeout.acts import BONDED, TAPED, Acts, Answer
from service.domain.gate.installed_states import PENETRATION, SEAM, TERMINATION, Thing
from service.domain.gate.wording import say_faults
from service.domain.installed.edges import undescribed
from service.domain.installed.seams import length_nm
from service.domain.installed.stretches import path_nm, sides_of, whole_sides
from service.domain.nouns.installed import EdgeSeal, Penetration, Seal, Seam, SeamWalk, Termination
from service.domain.nouns.site import Site, Zone
from service.domain.shapes.outline_texts import say_outline
from service.domain.sketch.where import where_words
from service.domain.words.measures import say_distance, say_length
from service.domain.words.names import penetration_kind
from service.domain.words.speech import later, tr, trn
from service.history.closeout.told import Made, ThingTold

Stands = Mapping[tuple[str, str], Thing]


def stands_of(things: Sequence[Thing]) -> Stands:
    return {(thing.kind, thing.id): thing for thing in things}


def _by_tag(things: Iterator[ThingTold]) -> tuple[ThingTold, ...]:
    return tuple(sorted(things, key=lambda told: (len(told.tag), told.tag)))


CUT_CLOSE = (later("hole cut close"), later("not hole cut close"))
FINGERS = (later("fingers cut"), later("not fingers cut"))
TO_PIPE = (later("taped to what it wraps"), later("not taped to what it wraps"))
TO_FILM = (later("taped to the film"), later("not taped to the film"))


def penetrations_of(site: Site, zone: Zone, stands: Stands, acts: Acts) -> tuple[ThingTold, ...]:
    """The zone's own, withdrawn ones too, by tag."""
    return _by_tag(
        ThingTold(
            id=pipe.id,
            tag=pipe.tag,
            kind=penetration_kind(pipe.kind),
            size=pipe.size or say_outline(pipe.outline, acts.units),
            where=where_words(site.sketches[pipe.sketch_id], pipe.at, acts.units),
            note=pipe.note,
            state=stands[PENETRATION, pipe.id].state,
            why=say_faults(stands[PENETRATION, pipe.id].faults),
            act=acts.signed(pipe.signed),
            made=None if pipe.seal is None else _seal(site, pipe.seal, acts),
            undone=acts.undone("penetration", pipe.id, pipe.withdrawn),
        )
        for pipe in site.penetrations.values()
        if pipe.zone_id == zone.id
    )


def _seal(site: Site, seal: Seal, acts: Acts) -> Made:
    words = tr(seal.method)
    answers: tuple[tuple[Answer, bool], ...] = ((CUT_CLOSE, seal.close_cut),)
    if seal.collar_width_nm:
        wide, long = (
            say_length(nm, acts.units, "down") for nm in (seal.collar_width_nm, seal.collar_length_nm)
        )
        words = tr("{method} {wide} wide, {long} long", method=words, wide=wide, long=long)
        answers = (
            (FINGERS, seal.fingers),
            (TO_PIPE, seal.taped_to_pipe),
            (TO_FILM, seal.taped_to_film),
        )
    others = [site.penetrations[id].tag for id in seal.together if id in site.penetrations]
    if len(others) > 1:
        tags = ", ".join(sorted(others, key=lambda tag: (len(tag), tag)))
        words = tr("{seal}, one round {tags}", seal=words, tags=tags)
    work = seal.work
    return Made(words, acts.how(work, *answers), work.lot, work.note, acts.signed(seal.signed))


def seams_of(
    site: Site, zone: Zone, per_px: float, stands: Stands, acts: Acts, laps: Mapping[tuple[str, str], int]
) -> tuple[ThingTold, ...]:
    """The zone's own, withdrawn ones too, by tag. `laps`: the least lap asked when each was walked."""
    return _by_tag(
        ThingTold(
            id=seam.id,
            tag=seam.tag,
            kind=tr(seam.kind),
            size=say_distance(round(length_nm(seam.path, per_px)), acts.units),
            where="",
            note=seam.note,
            state=stands[SEAM, seam.id].state,
            why=say_faults(stands[SEAM, seam.id].faults),
            act=acts.signed(seam.signed),
            made=_walk(site, seam, acts, laps),
            undone=acts.undone("seam", seam.id, seam.withdrawn),
        )
        for seam in site.seams.values()
        if seam.zone_id == zone.id
    )


def _walk(site: Site, seam: Seam, acts: Acts, laps: Mapping[tuple[str, str], int]) -> Made | None:
    walk = seam.walk
    if walk is None:
        return None
    read, asked = [station.lap_nm for station in walk.stations], acts.asked(laps["walk", walk.id]).text
    words = tr("no lap measured")
    if read:
        words = tr(
            "least lap {least} of {n} measured, {asked} asked then",
            least=acts.down(min(read)).text,
            n=len(read),
            asked=asked,
        )
    marks = [site.defects[run.mark].tag for run in walk.runs if run.mark in site.defects]
    if marks:
        words = tr("{laps}, at fault and marked: {tags}", laps=words, tags=", ".join(dict.fromkeys(marks)))
    how = acts.how(walk.work, (TAPED, walk.taped), (BONDED, walk.bonded))
    return Made(words, how, walk.work.lot, walk.work.note, acts.signed(walk.signed))


def edges_told(site: Site, zone: Zone, per_px: float, stands: Stands, acts: Acts) -> tuple[ThingTold, ...]:
    """The stretches of the zone's edge, withdrawn ones too, by tag."""
    return _by_tag(
        ThingTold(
            id=stretch.id,
            tag=stretch.tag,
            kind=_kind(stretch),
            size=say_distance(path_nm(stretch.path, per_px), acts.units),
            where=_sides(zone, stretch, per_px),
            note=stretch.note,
            state=stands[TERMINATION, stretch.id].state,
            why=say_faults(stands[TERMINATION, stretch.id].faults),
            act=acts.signed(stretch.signed),
            made=_edge_seal(stretch, acts),
            undone=acts.undone("termination", stretch.id, stretch.withdrawn),
        )
        for stretch in site.terminations.values()
        if stretch.zone_id == zone.id
    )


def _kind(stretch: Termination) -> str:
    """The kind, with what it ends at and on whose word it lies so."""
    what = f" ({stretch.what.strip()})" if stretch.what.strip() else ""
    told = f"{tr(stretch.kind)}{what}"
    if stretch.authority.strip():
        return tr("{edge}, on the word of: {who}", edge=told, who=stretch.authority.strip())
    return told


def _sides(zone: Zone, stretch: Termination, per_px: float) -> str:
    sides = sides_of(zone.outline, stretch.path, per_px)
    if not sides:
        return tr("not on the outline as it is now")
    listed = ", ".join(map(str, sides))
    if whole_sides(zone.outline, stretch.path, per_px):
        return trn("side {sides}", "sides {sides}", len(sides), sides=listed)
    return trn("part of side {sides}", "part of sides {sides}", len(sides), sides=listed)


def _edge_seal(stretch: Termination, acts: Acts) -> Made | None:
    seal = stretch.seal
    if seal is None:
        return None
    told = [tr("sealed and whole all along") if seal.sealed else tr("not sealed and whole all along")]
    if seal.runs_past_nm is not None:
        told.append(tr("film runs {length} past the joint", length=acts.down(seal.runs_past_nm).text))
    if seal.protected is not None:
        told.append(tr("protected") if seal.protected else tr("not protected"))
    return Made(", ".join(told), acts.how(seal.work), seal.work.lot, seal.work.note, acts.signed(seal.signed))


def bare_told(site: Site, zone: Zone, per_px: float, acts: Acts) -> tuple[str, ...]:
    """What of the zone's edge nobody described, a line a side."""
    paths = [t.path for t in site.terminations.values() if t.zone_id == zone.id and t.withdrawn is None]
    long: dict[int, int] = {}
    for side, _, _, nm in undescribed(zone.outline, paths, per_px):
        long[side] = long.get(side, 0) + nm
    return tuple(
        tr("{length} of side {n}", length=say_distance(nm, acts.units), n=side)
        for side, nm in sorted(long.items())
    )


def lots_named(site: Site) -> Iterator[tuple[str, str, str]]:
    """(lot number, zone id, tag) of every piece of standing work that names a lot."""
    for patch in site.patches.values():
        if patch.withdrawn is None:
            yield patch.lot, patch.zone_id, site.defects[patch.defect_id].tag
    for mark in site.defects.values():
        for repair in mark.repairs:
            if repair.withdrawn is None:
                yield repair.work.lot, mark.zone_id, mark.tag
    made: tuple[tuple[Penetration | Seam | Termination, Seal | SeamWalk | EdgeSeal | None], ...] = (
        *((pipe, pipe.seal) for pipe in site.penetrations.values()),
        *((seam, seam.walk) for seam in site.seams.values()),
        *((stretch, stretch.seal) for stretch in site.terminations.values()),
    )
    for thing, work in made:
        if thing.withdrawn is None and work is not None:
            yield work.work.lot, thing.zone_id, thing.tag
