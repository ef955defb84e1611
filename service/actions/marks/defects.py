"""Mark a defect, withdraw one, and add a photo."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from sqlmodel import Session

from service.actions.frame.desk import Desk
from service.actions.frame.doing import (
    TakenOff,
    allow,
    free_id,
    place_to_change,
    record,
    words,
    zone_to_change,
)
from service.domain.gate.zone_facts import nm_per_px
from service.domain.nouns import roles
from service.domain.nouns.installed import CAUSES
from service.domain.nouns.kept import Photo
from service.domain.nouns.rules import RuleSheet
from service.domain.nouns.site import KINDS, Defect, Px, Site, Sketch, Zone
from service.domain.patches.repair import DefectFacts, Numbers, Verdict, judge_defect
from service.domain.rule_sheet.effective import sheet_in
from service.domain.shapes.ground import reaches_into
from service.domain.shapes.outline_texts import BadOutline, read_outline
from service.domain.shapes.outlines import Outline
from service.domain.sketch.places import to_base, turn_of, turned
from service.domain.words.measures import Units
from service.domain.words.refusals import BadInput, Conflict, NoScale, NotAllowed
from service.domain.words.speech import tr, trn
from service.history.facts.facts import DefectMarked, DefectWithdrawn, PhotoAdded
from service.history.facts.installed import CauseTold
from service.media.photos import prepare_photo
from service.media.refusals import BadPicture
from service.storage.history import books, onto
from service.storage.history.seen import (
    SeenProject,
    SeenZone,
    defect_seen_by,
    patch_seen_by,
    photo_seen_by,
    zone_seen_by,
)

MOST_PHOTOS = 40  # of one subject


class OutsideZone(BadInput):
    """The mark does not touch the zone it was made in. `right_zone` is where it does, if anywhere."""

    code = "outside-zone"

    def __init__(self, zone: Zone, right_zone: Zone | None) -> None:
        told = tr(
            "That place is outside zone {letter}, and in no other zone. Choose the place again.",
            letter=zone.letter,
        )
        if right_zone is not None:
            told = tr(
                "That place is outside zone {letter}. It lies in zone {right}. Mark it there, or choose the "
                "place again.",
                letter=zone.letter,
                right=right_zone.letter,
            )
        super().__init__(told, fields={"at": told})
        self.right_zone = right_zone


@dataclass(frozen=True, slots=True)
class MarkEntry:
    """What a person gives to mark a defect: `at` in pixels of today's picture, `outline` as it lies on it.

    `cause`: what it likely came from, empty where nobody says so. `new_id`: chosen on the phone, or empty.
    """

    kind: str
    at: Sequence[float]
    outline: Outline
    note: str = ""
    cause: str = ""
    new_id: str = ""


@dataclass(frozen=True, slots=True)
class Marked:
    """A mark as it was just made, with what it is told by. `sheet`: as it holds in its zone."""

    defect: Defect
    sketch: Sketch
    sheet: RuleSheet
    units: Units
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class PhotoIn:
    """A photo's two pictures as kept: their SHA-256, and the size of the full one in pixels."""

    full: str
    small: str
    width_px: int
    height_px: int


def read_mark(kind: str, at: Sequence[float], outline: object, note: str = "", cause: str = "") -> MarkEntry:
    """The JSON contract's forms as a MarkEntry; BadInput names the field at fault."""
    if kind not in KINDS:
        told = tr("The kind is one of: {kinds}.", kinds=", ".join(map(tr, KINDS)))
        raise BadInput(told, fields={"kind": told})
    try:
        read = read_outline(outline)
    except BadOutline as bad:
        raise BadInput(str(bad), fields={bad.field or "outline": str(bad)}, code=bad.code) from None
    return MarkEntry(kind, at, read, words(note, "note"), read_cause(cause) if cause else "")


def read_cause(cause: str) -> str:
    """A likely cause by its word. BadInput for any other."""
    if cause not in CAUSES:
        told = tr("The likely cause is one of: {causes}.", causes=", ".join(map(tr, CAUSES)))
        raise BadInput(told, fields={"cause": told})
    return cause


def mark_defect(desk: Desk, by: str, zone_id: str, mark: MarkEntry) -> Defect:
    """Record a defect; its tag comes at once, and is never given again."""
    with desk.writing() as session:
        return _mark(desk, session, by, zone_id, mark)[2]


def mark_and_tell(desk: Desk, by: str, zone_id: str, mark: MarkEntry) -> Marked:
    """The same for a mark whose id is not chosen, with all that can be told of it: nothing lies on a mark
    that was just made, so it stands as it does whatever else is in its zone."""
    assert not mark.new_id, "under an id that was chosen the mark may have come before"
    with desk.writing() as session:
        seen, site, made = _mark(desk, session, by, zone_id, mark)
        if seen.zone.laid:
            onto.put_film(session, site, seen.project.id)
    sheet = sheet_in(site, seen.zone)
    told = DefectFacts(made.id, made.tag, made.kind, made.at, made.outline, ())
    return Marked(made, seen.sketch, sheet, seen.project.units, judge_defect(told, Numbers.of(sheet)))


def _mark(
    desk: Desk, session: Session, by: str, zone_id: str, mark: MarkEntry
) -> tuple[SeenZone, Site, Defect]:
    seen, site = place_to_change(session, by, zone_id, "mark a defect")
    if seen.sketch.scale is None:
        raise NoScale
    at = to_base(seen.sketch, mark.at, "at")
    outline = turned(mark.outline, -turn_of(seen.sketch))
    _check_inside(session, site, seen.zone, outline, at)
    tag = f"{seen.zone.letter}-{seen.zone.marks + 1:02d}"
    if mark.new_id and (same := _received(session, site, by, zone_id, mark, at, outline)):
        return seen, site, same
    fact = DefectMarked(
        mark.new_id or desk.new_id(), seen.sketch.id, zone_id, tag, mark.kind, at, outline, mark.note
    )
    record(desk, session, site, by, seen.role, fact)
    if mark.cause:
        told = CauseTold(fact.defect, zone_id, tag, mark.cause)
        record(desk, session, site, by, seen.role, told)
    return seen, site, site.defects[fact.defect]


def _received(
    session: Session, site: Site, by: str, zone_id: str, mark: MarkEntry, at: Px, outline: Outline
) -> Defect | None:
    """The same mark of the same person that came before under this id; IdTaken where the id is another's."""
    onto.put_mark(session, site, mark.new_id)
    found = site.defects.get(mark.new_id)
    if found is not None and (found.by, found.zone_id, found.kind, found.at, found.outline, found.note) == (
        by, zone_id, mark.kind, at, outline, mark.note
    ):  # fmt: skip
        assert site.project is not None
        books.landed_before(session, site.project.id, found.seq)
        return found
    free_id(session, mark.new_id)
    return None


def _check_inside(session: Session, site: Site, zone: Zone, outline: Outline, at: tuple[int, int]) -> None:
    scale = site.sketches[zone.sketch_id].scale
    assert scale is not None
    per_px = nm_per_px(scale)
    if zone.withdrawn is None and reaches_into(outline, at, per_px, zone.outline):
        return
    onto.put_zones(session, site, zone.sketch_id)
    others = (z for z in site.zones.values() if z.id != zone.id and z.withdrawn is None)
    right = next((other for other in others if reaches_into(outline, at, per_px, other.outline)), None)
    raise OutsideZone(zone, right) if zone.withdrawn is None else TakenOff(zone, right)


def withdraw_defect(desk: Desk, by: str, defect_id: str, reason: str) -> Defect:
    """Entered by mistake: the mark stays in the history with its reason; the gate no longer asks for it."""
    reason = words(reason, "reason", needed=tr("Say why the mark is withdrawn."))
    with desk.writing() as session:
        _, defect = defect_seen_by(session, by, defect_id)
        seen, site = zone_to_change(session, by, defect.zone_id, "withdraw a defect")
        defect = site.defects[defect_id]
        if defect.withdrawn is not None:
            raise Conflict(tr("{tag} is withdrawn already.", tag=defect.tag), code="withdrawn-already")
        allow_withdrawing(seen, by, defect)
        record(
            desk, session, site, by, seen.role, DefectWithdrawn(defect_id, defect.zone_id, defect.tag, reason)
        )
    return site.defects[defect_id]


def allow_withdrawing(seen: SeenProject, by: str, defect: Defect) -> None:
    """NotAllowed unless this person may withdraw this mark."""
    allow(seen, "withdraw a defect")
    if roles.may_withdraw(seen.role, by, defect.by, defect.role):
        return
    if defect.role == roles.INSPECTOR:
        raise NotAllowed(tr("An inspector's mark is withdrawn by an inspector only."))
    raise NotAllowed(tr("A mark is withdrawn by its maker or the project manager."))


def take_in_photo(desk: Desk, by: str, subject_kind: str, subject_id: str, data: bytes | Path) -> PhotoIn:
    """Read and keep a photo's pictures: the slow half, done with no transaction open."""
    with desk.reading() as session:
        _photographed(session, by, subject_kind, subject_id)
    try:
        picture = prepare_photo(data)
    except BadPicture as bad:
        raise BadInput(str(bad), fields={"photo": str(bad)}, code=bad.code) from None
    full, small = desk.blobs.put(picture.full), desk.blobs.put(picture.small)
    return PhotoIn(full, small, picture.width_px, picture.height_px)


def settle_photo(desk: Desk, by: str, subject_kind: str, subject_id: str, taken: PhotoIn) -> Photo:
    """Record a photo whose pictures were taken in: the short half."""
    with desk.writing() as session:
        zone_id, tag = _photographed(session, by, subject_kind, subject_id)
        seen, site = zone_to_change(session, by, zone_id, "add a photo")
        if sum(photo.subject == subject_id for photo in site.photos.values()) >= MOST_PHOTOS:
            told = trn("{tag} has {n} photo already.", "{tag} has {n} photos already.", MOST_PHOTOS, tag=tag)
            raise BadInput(told, fields={"photo": told})
        fact = PhotoAdded(
            desk.new_id(), subject_id, zone_id, tag,
            taken.full, taken.small, taken.width_px, taken.height_px,
        )  # fmt: skip
        record(desk, session, site, by, seen.role, fact)
    return site.photos[fact.photo]


def _photographed(session: Session, by: str, kind: str, subject_id: str) -> tuple[str, str]:
    """Zone and tag of what is photographed, for somebody who may see it. Of a mark not made yet: its zone."""
    if kind == "zone":
        return subject_id, zone_seen_by(session, by, subject_id).zone.letter
    if kind == "defect":
        _, defect = defect_seen_by(session, by, subject_id)
        return defect.zone_id, defect.tag
    _, patch = patch_seen_by(session, by, subject_id)
    _, defect = defect_seen_by(session, by, patch.defect_id)
    return patch.zone_id, defect.tag


def photo_bytes(desk: Desk, by: str, photo_id: str, *, small: bool = False) -> tuple[str, bytes]:
    """Name (SHA-256) and bytes of a photo, for somebody who may see it."""
    with desk.reading() as session:
        photo = photo_seen_by(session, by, photo_id)
    sha256 = photo.thumb_sha256 if small else photo.sha256
    return sha256, desk.blobs.read(sha256)
