"""The history on disk and the facts it stands for: append at the head, read the slice a question needs."""

from datetime import datetime
from functools import cache
from typing import Any

from sqlalchemy import Float, and_, bindparam, literal, or_, union_all
from sqlmodel import Session, col, select

from service.domain.refusals import NotFound
from service.domain.site import (
    Defect,
    Hold,
    Member,
    Noun,
    Patch,
    Photo,
    Project,
    Release,
    Site,
    Sketch,
    Wall,
    Zone,
)
from service.domain.zone_facts import MILLI, nm_per_px
from service.history.entries import Entry, leaf_hash, read_entry
from service.history.facts import Fact
from service.history.replay import apply
from service.storage import rows
from service.storage.tables import (
    DefectRow,
    EntryRow,
    HoldRow,
    MemberRow,
    PatchMarkRow,
    PatchRow,
    PhotoRow,
    ProjectRow,
    ReleaseRow,
    SketchRow,
    VerdictRow,
    WallRow,
    ZoneRow,
)


def lock_head(session: Session, project_id: str) -> ProjectRow:
    """The project's head row, locked until the transaction ends: the first thing in every change."""
    found = session.exec(select(ProjectRow).where(ProjectRow.id == project_id).with_for_update()).first()
    if found is None:
        raise NotFound
    return found


def start(session: Session, project_id: str, now: datetime) -> None:
    """An empty history for a new project."""
    session.add(ProjectRow(id=project_id, seq=0, last_at=now, body=""))
    session.flush()


def append(
    session: Session, site: Site, project_id: str, now: datetime, by: str, role: str, fact: Fact
) -> Entry:
    """One entry at the head, and the rows it changes, in the caller's transaction.

    `site` must hold every noun that the fact changes. The entry's time never runs behind the one before:
    a clock set back is held at the last time told.
    """
    head = lock_head(session, project_id)
    entry = Entry(project_id, head.seq + 1, max(now, head.last_at), by, role, fact)
    content = entry.content()
    kind, subject = entry.subject
    session.add(
        EntryRow(
            project_id=project_id,
            seq=entry.seq,
            type=entry.type,
            at=entry.at,
            by=by,
            zone_id=entry.zone,
            tag=entry.tag,
            subject_kind=kind,
            subject_id=subject,
            content=content,
            leaf=leaf_hash(content),
        )
    )
    head.seq, head.last_at = entry.seq, entry.at
    session.add(head)
    session.flush()
    rows.write(session, project_id, apply(site, entry))
    return entry


def next_seq(session: Session, project_id: str) -> int:
    return lock_head(session, project_id).seq + 1


def note_verdict(session: Session, project_id: str, seq: int, zone_id: str, clear: bool) -> None:
    """What the gate said, for the second wall. Only the newest is kept: it is no state."""
    for old in session.exec(select(VerdictRow).where(VerdictRow.project_id == project_id)):
        session.delete(old)
    session.flush()
    session.add(VerdictRow(project_id=project_id, seq=seq, zone_id=zone_id, clear=clear))
    session.flush()


# --- reading the history ---------------------------------------------------------------------------------


def entries(
    session: Session,
    project_id: str,
    *,
    after: int = 0,
    limit: int | None = None,
    until: datetime | None = None,
    up_to: int | None = None,
) -> list[Entry]:
    """Entries in their order: after a sequence number, up to a moment or a number (inclusive)."""
    query = select(EntryRow.content).where(EntryRow.project_id == project_id, col(EntryRow.seq) > after)
    if until is not None:
        query = query.where(col(EntryRow.at) <= until)
    if up_to is not None:
        query = query.where(col(EntryRow.seq) <= up_to)
    query = query.order_by(col(EntryRow.seq))
    return [
        read_entry(content) for content in session.exec(query.limit(limit) if limit is not None else query)
    ]


def contents(session: Session, project_id: str) -> list[bytes]:
    """Every entry's bytes exactly as they are kept, in order."""
    query = select(EntryRow.content).where(EntryRow.project_id == project_id).order_by(col(EntryRow.seq))
    return list(session.exec(query))


def search(
    session: Session,
    project_id: str,
    *,
    zone_id: str | None = None,
    tag: str | None = None,
    by: str | None = None,
    type: str | None = None,
    from_at: datetime | None = None,
    to_at: datetime | None = None,
    before: int | None = None,
    limit: int = 100,
) -> list[tuple[Entry, bytes]]:
    """The newest entries that fit every filter given, newest first, each with its leaf hash."""
    wanted: list[Any] = [EntryRow.project_id == project_id]
    for column, value in (
        (EntryRow.zone_id, zone_id),
        (EntryRow.tag, tag),
        (EntryRow.by, by),
        (EntryRow.type, type),
    ):
        if value is not None:
            wanted.append(col(column) == value)
    if from_at is not None:
        wanted.append(col(EntryRow.at) >= from_at)
    if to_at is not None:
        wanted.append(col(EntryRow.at) < to_at)
    if before is not None:
        wanted.append(col(EntryRow.seq) < before)
    query = (
        select(EntryRow.content, EntryRow.leaf).where(*wanted).order_by(col(EntryRow.seq).desc()).limit(limit)
    )
    return [(read_entry(content), leaf) for content, leaf in session.exec(query)]


def head(session: Session, project_id: str) -> int:
    """The sequence number of the newest entry; it changes with every write, so it is every page's ETag."""
    found = session.exec(select(ProjectRow.seq).where(ProjectRow.id == project_id)).first()
    if found is None:
        raise NotFound
    return found


# --- reading the facts -----------------------------------------------------------------------------------

_SMALL: dict[str, type] = {
    "wall": Wall, "hold": Hold, "release": Release, "photo": Photo,
    "zone": Zone, "member": Member, "sketch": Sketch,
}  # fmt: skip


def whole_site(session: Session, project_id: str) -> Site:
    """Every fact of a project, from the tables: what a replay of its history must equal."""
    site = _site_of_project(session, project_id)
    _put_small(
        session,
        site,
        *(
            _bodies(kind, table, table.project_id == project_id)
            for kind, table in (
                ("member", MemberRow), ("sketch", SketchRow), ("zone", ZoneRow), ("wall", WallRow),
                ("hold", HoldRow), ("release", ReleaseRow), ("photo", PhotoRow),
            )
        ),
    )  # fmt: skip
    _put(session, site, Defect, select(DefectRow.body).where(DefectRow.project_id == project_id))
    _put(session, site, Patch, select(PatchRow.body).where(PatchRow.project_id == project_id))
    return site


def project_site(session: Session, project_id: str) -> Site:
    """The project with its people, sketches and zones; no marks."""
    site = _site_of_project(session, project_id)
    _put_small(
        session,
        site,
        _bodies("member", MemberRow, MemberRow.project_id == project_id),
        _bodies("sketch", SketchRow, SketchRow.project_id == project_id),
        _bodies("zone", ZoneRow, ZoneRow.project_id == project_id),
    )
    return site


def zone_site(
    session: Session, project_id: str, zone: Zone, sketch: Sketch, project: Project | None = None
) -> Site:
    """All that one zone's page, gate and actions need: the zone, its sketch with the other zones' outlines,
    and the marks and patches that may reach into it. Four statements, however many rows."""
    site = Site(project=project) if project else _site_of_project(session, project_id)
    site.put(sketch)
    given = {"project": project_id, "zone": zone.id, "sketch": sketch.id, **_box(zone, sketch)}
    small, patches, defects = _of_zone(scaled=sketch.scale is not None)
    for kind, body in session.execute(small, given):
        found: Noun = rows.noun_of(_SMALL[kind], body)
        site.put(found)
    for body in session.execute(patches, given).scalars():
        site.put(rows.noun_of(Patch, body))
    for body in session.execute(defects, given).scalars():
        site.put(rows.noun_of(Defect, body))
    return site


_GIVEN: tuple[Any, Any, Any] = (bindparam("project"), bindparam("zone"), bindparam("sketch"))


@cache
def _of_zone(*, scaled: bool) -> tuple[Any, Any, Any]:
    """The three statements of `zone_site`, built once: building them took as long as running them."""
    project, zone, sketch = _GIVEN
    small = union_all(
        _bodies("member", MemberRow, MemberRow.project_id == project),
        _bodies("zone", ZoneRow, ZoneRow.sketch_id == sketch),
        _bodies("wall", WallRow, WallRow.sketch_id == sketch),
        _bodies("hold", HoldRow, HoldRow.zone_id == zone),
        _bodies("release", ReleaseRow, ReleaseRow.zone_id == zone),
        _bodies("photo", PhotoRow, PhotoRow.zone_id == zone),
    )
    near = _may_reach(scaled)
    under = (
        select(PatchMarkRow.patch_id).join(DefectRow, col(DefectRow.id) == PatchMarkRow.defect_id).where(near)
    )
    # The marks a patch was logged on come along even where they lie outside: its sides are told from them.
    primaries = select(PatchRow.defect_id).where(col(PatchRow.id).in_(under))
    return (
        small,
        select(PatchRow.body).where(col(PatchRow.id).in_(under)),
        select(DefectRow.body).where(or_(near, col(DefectRow.id).in_(primaries))),
    )


def sketch_site(session: Session, project_id: str, sketch_id: str) -> Site:
    """A sketch with everything on it: for changes that touch all its zones, and for lists of zones."""
    site = project_site(session, project_id)
    zones = select(ZoneRow.id).where(ZoneRow.sketch_id == sketch_id)
    _put_small(
        session,
        site,
        _bodies("wall", WallRow, WallRow.sketch_id == sketch_id),
        _bodies("hold", HoldRow, col(HoldRow.zone_id).in_(zones)),
        _bodies("release", ReleaseRow, col(ReleaseRow.zone_id).in_(zones)),
    )
    _put(session, site, Defect, select(DefectRow.body).where(DefectRow.sketch_id == sketch_id))
    _put(session, site, Patch, select(PatchRow.body).where(col(PatchRow.zone_id).in_(zones)))
    return site


def _may_reach(scaled: bool) -> Any:
    """Marks of the zone, and marks near enough to its box that their outline may reach in."""
    _, zone, sketch = _GIVEN
    own = col(DefectRow.zone_id) == zone
    if not scaled:
        return own
    far = col(DefectRow.reach_nm) * bindparam("px_per_nm", type_=Float) + MILLI
    near = and_(
        col(DefectRow.sketch_id) == sketch,
        col(DefectRow.x) + far >= bindparam("left", type_=Float),
        col(DefectRow.x) - far <= bindparam("right", type_=Float),
        col(DefectRow.y) + far >= bindparam("top", type_=Float),
        col(DefectRow.y) - far <= bindparam("bottom", type_=Float),
    )
    return or_(own, near)


def _box(zone: Zone, sketch: Sketch) -> dict[str, float]:
    """What `_may_reach` is asked with: the zone's box in thousandths of a pixel, and the sketch's scale."""
    if sketch.scale is None:
        return {}
    xs, ys = [x for x, _ in zone.outline], [y for _, y in zone.outline]
    px_per_nm = MILLI / nm_per_px(sketch.scale)
    return {"px_per_nm": px_per_nm, "left": min(xs), "right": max(xs), "top": min(ys), "bottom": max(ys)}


def _site_of_project(session: Session, project_id: str) -> Site:
    body = session.exec(select(ProjectRow.body).where(ProjectRow.id == project_id)).first()
    if body is None:
        raise NotFound
    return Site(project=rows.noun_of(Project, body) if body else None)


def _bodies(kind: str, table: Any, wanted: Any) -> Any:
    return select(literal(kind).label("kind"), table.body).where(wanted)


def _put_small(session: Session, site: Site, *queries: Any) -> None:
    for kind, body in session.execute(union_all(*queries)):
        site.put(rows.noun_of(_SMALL[kind], body))


def _put(session: Session, site: Site, kind: type, query: Any) -> None:
    for body in session.exec(query):
        site.put(rows.noun_of(kind, body))
