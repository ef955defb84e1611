"""Place what passes through the film, log how each is sealed, and take either back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlmodel import Session

from service.actions.frame import late
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow, record, words, zone_to_change
from service.actions.frame.reading import ZoneView, view_with
from service.actions.installed.penetration_entry import PlaceEntry, Row, SealEntry, read_place, read_seal
from service.actions.marks.defects import OutsideZone
from service.domain.gate.zone_facts import nm_per_px
from service.domain.installed.penetration_groups import groups_too_close
from service.domain.installed.penetrations import row_of, row_spaced, seal_faults, too_large_to_cut
from service.domain.nouns import roles
from service.domain.nouns.installed import COLLAR, Penetration, Px, Seal, Signed
from service.domain.nouns.site import Site, Zone
from service.domain.patches.repair import Numbers
from service.domain.rule_sheet.effective import films_laid, sheet_in
from service.domain.shapes.ground import marks_reaching_into
from service.domain.shapes.outlines import Outline
from service.domain.sketch.places import to_base, turn_of, turned
from service.domain.words.refusals import BadInput, Conflict, NoScale, NotAllowed
from service.domain.words.speech import tr
from service.history.facts.installed import (
    PenetrationsPlaced,
    PenetrationWithdrawn,
    PlacedPenetration,
    SealLogged,
    SealWithdrawn,
)
from service.storage.history import slices
from service.storage.history.seen import SeenProject, SeenZone, penetration_seen_by

LARGER_THAN_ROLL = "larger-than-roll"


@dataclass(frozen=True, slots=True)
class SealJudged:
    """A penetration with the seal just logged on it, and the faults of that seal; none where it holds."""

    penetration: Penetration
    faults: tuple[str, ...]


def penetration_view(desk: Desk, by: str, penetration_id: str) -> tuple[ZoneView, Penetration]:
    """A penetration within its zone."""
    view = view_with(desk, by, penetration_seen_by, penetration_id)
    return view, view.site.penetrations[penetration_id]


def close_groups(site: Site, zone: Zone, numbers: Numbers) -> list[tuple[Penetration, ...]]:
    """Those of the zone that stand too close for a collar each, a neighbour's among them, in tag order."""
    scale = site.sketches[zone.sketch_id].scale
    if scale is None:
        return []
    standing = [
        p for p in site.penetrations.values() if p.sketch_id == zone.sketch_id and p.withdrawn is None
    ]
    places = [(pipe.id, pipe.outline, pipe.at) for pipe in standing]
    found = [
        tuple(sorted((site.penetrations[id] for id in ids), key=lambda pipe: (len(pipe.tag), pipe.tag)))
        for ids in groups_too_close(places, nm_per_px(scale), numbers)
    ]
    own = (group for group in found if any(pipe.zone_id == zone.id for pipe in group))
    return sorted(own, key=lambda group: (len(group[0].tag), group[0].tag))


# --- placing ---------------------------------------------------------------------------------------------


def place_penetrations(desk: Desk, by: str, zone_id: str, given: Mapping[str, Any]) -> list[Penetration]:
    """One penetration, or a row of them alike; each gets its tag at once, and it is never given again."""
    with desk.writing() as session:
        seen, site = zone_to_change(session, by, zone_id, "place a penetration")
        if seen.sketch.scale is None:
            raise NoScale
        entry = read_place(given)
        outline = turned(entry.outline, -turn_of(seen.sketch))
        places = _places(seen, entry, nm_per_px(seen.sketch.scale))
        _check_inside(site, seen, outline, places, "at" if entry.row is None else "to")
        fact = _placed(desk, seen.zone, entry, outline, places)
        record(desk, session, site, by, seen.role, fact)
    return [site.penetrations[placed.penetration] for placed in fact.placed]


def _places(seen: SeenZone, entry: PlaceEntry, per_px: float) -> tuple[Px, ...]:
    if entry.row is not None:
        return _along(seen, entry.row, per_px)
    assert entry.at is not None, "an entry has a place or a row"
    return (to_base(seen.sketch, entry.at, "at"),)


def _along(seen: SeenZone, row: Row, per_px: float) -> tuple[Px, ...]:
    first, last = to_base(seen.sketch, row.first, "from"), to_base(seen.sketch, row.last, "to")
    try:
        if row.spacing_nm is not None:
            return row_spaced(first, last, row.spacing_nm, per_px)
        return row_of(first, last, row.count or 0)
    except ValueError as bad:
        field = "count" if row.spacing_nm is None else "spacing"
        raise BadInput(str(bad), fields={field: str(bad)}, code="no-such-row") from None


def _check_inside(site: Site, seen: SeenZone, outline: Outline, places: Sequence[Px], field: str) -> None:
    """Every one of them reaches into the zone; OutsideZone names where the first that does not lies."""
    assert seen.sketch.scale is not None
    per_px, zone = nm_per_px(seen.sketch.scale), seen.zone
    inside = marks_reaching_into([(outline, at) for at in places], per_px, zone.outline)
    if all(inside):
        return
    number = list(inside).index(False)
    right = _lies_in(site, zone, outline, places[number], per_px)
    refusal = OutsideZone(zone, right)
    told = refusal.message
    if len(places) > 1:
        told = tr("Number {number} of the row: {refusal}", number=number + 1, refusal=told)
    refusal.message, refusal.fields = told, {field: told}
    raise refusal


def _lies_in(site: Site, zone: Zone, outline: Outline, at: Px, per_px: float) -> Zone | None:
    others = (
        other
        for other in site.zones.values()
        if other.id != zone.id and other.withdrawn is None and other.sketch_id == zone.sketch_id
    )
    return next((z for z in others if marks_reaching_into([(outline, at)], per_px, z.outline)[0]), None)


def _placed(
    desk: Desk, zone: Zone, entry: PlaceEntry, outline: Outline, places: Sequence[Px]
) -> PenetrationsPlaced:
    tags = [f"{zone.letter}-P{zone.penetrations + number:02d}" for number in range(1, len(places) + 1)]
    placed = tuple(
        PlacedPenetration(desk.new_id(), tag, entry.kind, entry.size, outline, at)
        for tag, at in zip(tags, places, strict=True)
    )
    tag = tags[0] if len(tags) == 1 else f"{tags[0]} to {tags[-1]}"
    return PenetrationsPlaced(zone.sketch_id, zone.id, tag, placed, entry.note)


def withdraw_penetration(desk: Desk, by: str, penetration_id: str, reason: str) -> Penetration:
    """Entered by mistake: it stays in the history with its reason; the gate no longer asks for its seal."""
    reason = words(reason, "reason", needed=tr("Say why the penetration is withdrawn."))
    with desk.writing() as session:
        _, pipe = penetration_seen_by(session, by, penetration_id)
        seen, site = zone_to_change(session, by, pipe.zone_id, "withdraw a penetration")
        pipe = site.penetrations[penetration_id]
        if pipe.withdrawn is not None:
            raise Conflict(tr("{tag} is withdrawn already.", tag=pipe.tag), code="withdrawn-already")
        allow_withdrawing(seen, by, pipe)
        fact = PenetrationWithdrawn(pipe.id, pipe.zone_id, pipe.tag, reason)
        record(desk, session, site, by, seen.role, fact)
    return site.penetrations[penetration_id]


def allow_withdrawing(seen: SeenProject, by: str, pipe: Penetration) -> None:
    """NotAllowed unless this person may withdraw this penetration."""
    allow(seen, "withdraw a penetration")
    if not roles.may_withdraw(seen.role, by, pipe.signed.by, pipe.signed.role):
        raise NotAllowed(tr("A penetration is withdrawn by whoever placed it, or by the project manager."))


# --- sealing ---------------------------------------------------------------------------------------------


def log_seal(desk: Desk, by: str, penetration_id: str, given: Mapping[str, Any]) -> list[SealJudged]:
    """Record a seal as built: round one, round several as one (`also`), or one like it each (`same_for`).

    What is at fault is recorded as it is and holds the zone; a new seal takes the place of the one before.
    """
    with desk.writing() as session:
        _, pipe = penetration_seen_by(session, by, penetration_id)
        seen, site = zone_to_change(session, by, pipe.zone_id, "log a seal")
        pipe = _to_seal(site, penetration_id)
        entry = read_seal(given)
        numbers = Numbers.of(sheet_in(site, seen.zone))
        also = _inside_one_seal(site, seen.zone, pipe, entry.also, numbers)
        if entry.method == COLLAR:
            _check_roll(site, seen.zone, pipe, numbers)
        alike = _alike(site, pipe, entry.same_for)
        tags = {site.penetrations[one].tag for one in (pipe.id, *also)} | {one.tag for one in alike}
        late.check_thing(desk, session, site, by, tags, late.SEALED_OR_OPENED)
        return [_seal(desk, session, site, by, seen, each, also, entry, numbers) for each in (pipe, *alike)]


def _to_seal(site: Site, penetration_id: str) -> Penetration:
    pipe = site.penetrations[penetration_id]
    if pipe.withdrawn is not None:
        told = tr("{tag} was withdrawn: {reason}. Nothing was recorded.", tag=pipe.tag, reason=pipe.withdrawn)
        raise Conflict(told, code="penetration-withdrawn")
    return pipe


def _inside_one_seal(
    site: Site, zone: Zone, pipe: Penetration, also: Sequence[str], numbers: Numbers
) -> tuple[str, ...]:
    """Only what stands too close for a collar each goes under one seal: nobody dams half a slab."""
    others = tuple(other for other in also if other != pipe.id)
    if others:
        groups = close_groups(site, zone, numbers)
        near = next(({one.id for one in group} for group in groups if pipe in group), set())
        if not near.issuperset(others):
            told = tr(
                "One of the others does not stand close to {tag}. Log its seal by itself.", tag=pipe.tag
            )
            raise BadInput(told, fields={"also": told}, code="not-close")
    return others


def _alike(site: Site, pipe: Penetration, same_for: Sequence[str]) -> list[Penetration]:
    found = [site.penetrations.get(other) for other in same_for if other != pipe.id]
    alike = [other for other in found if other is not None and is_alike(pipe, other)]
    if len(alike) < len(found):
        told = tr(
            "One of the others is not a standing penetration of this zone of the same size as {tag}.",
            tag=pipe.tag,
        )
        raise BadInput(told, fields={"same_for": told}, code="not-alike")
    return sorted(alike, key=lambda other: (len(other.tag), other.tag))


def is_alike(pipe: Penetration, other: Penetration) -> bool:
    """True for another that stands in the same zone and takes the same seal."""
    same = (pipe.zone_id, pipe.kind, pipe.size, pipe.outline)
    return other.withdrawn is None and same == (other.zone_id, other.kind, other.size, other.outline)


def why_no_collar(site: Site, zone: Zone, pipe: Penetration, numbers: Numbers) -> str | None:
    """Why no roll of the film laid here gives this penetration its collar in one piece; None where one does,
    or where nobody said how large the rolls are."""
    films = films_laid(site, zone)
    rolls = [(film.roll_width_nm, film.roll_length_nm) for film in films]
    told = [
        None if wide is None or long is None else too_large_to_cut(pipe.outline, numbers, wide, long)
        for wide, long in rolls
    ]
    return told[0] if told and all(told) else None


def _check_roll(site: Site, zone: Zone, pipe: Penetration, numbers: Numbers) -> None:
    told = why_no_collar(site, zone, pipe, numbers)
    if told is not None:
        raise BadInput(told, fields={"method": told}, code=LARGER_THAN_ROLL)


def _seal(
    desk: Desk,
    session: Session,
    site: Site,
    by: str,
    seen: SeenZone,
    pipe: Penetration,
    also: tuple[str, ...],
    entry: SealEntry,
    numbers: Numbers,
) -> SealJudged:
    seal = Seal(
        desk.new_id(), entry.method, (pipe.id, *also), entry.collar_width_nm, entry.collar_length_nm,
        entry.fingers, entry.taped_to_pipe, entry.taped_to_film, entry.close_cut, entry.work,
        Signed(by, seen.role, desk.clock(), 0),
    )  # fmt: skip
    faults = seal_faults([site.penetrations[id].outline for id in seal.together], seal, numbers)
    fact = SealLogged(
        seal.id, pipe.id, also, seen.zone.id, pipe.tag, seal.method, seal.collar_width_nm,
        seal.collar_length_nm, seal.fingers, seal.taped_to_pipe, seal.taped_to_film, seal.close_cut,
        seal.work, faults,
    )  # fmt: skip
    record(desk, session, site, by, seen.role, fact)
    return SealJudged(site.penetrations[pipe.id], faults)


def withdraw_seal(desk: Desk, by: str, penetration_id: str, reason: str) -> Penetration:
    """What was logged of a seal no longer counts, for all that it went round; each holds its zone again."""
    reason = words(reason, "reason", needed=tr("Say why the seal is withdrawn."))
    with desk.writing() as session:
        _, pipe = penetration_seen_by(session, by, penetration_id)
        seen, site = zone_to_change(session, by, pipe.zone_id, "withdraw a seal")
        pipe = site.penetrations[penetration_id]
        if pipe.withdrawn is not None or pipe.seal is None:
            raise Conflict(tr("No seal is logged on {tag}.", tag=pipe.tag), code="no-seal")
        allow_unsealing(seen, by, pipe.seal)
        if any(other not in site.penetrations for other in pipe.seal.together):
            # A seal across a joint may go round some that stand further off than what is read with a zone.
            site = slices.sketch_site(session, seen.project.id, seen.sketch.id)
        also = tuple(other for other in pipe.seal.together if other != pipe.id)
        fact = SealWithdrawn(pipe.seal.id, pipe.id, also, pipe.zone_id, pipe.tag, reason)
        record(desk, session, site, by, seen.role, fact)
    return site.penetrations[penetration_id]


def allow_unsealing(seen: SeenProject, by: str, seal: Seal) -> None:
    """NotAllowed unless this person may withdraw this seal."""
    allow(seen, "withdraw a seal")
    if not roles.may_withdraw(seen.role, by, seal.signed.by, seal.signed.role):
        raise NotAllowed(tr("A seal is withdrawn by whoever logged it, or by the project manager."))
