"""Nouns to rows and back: key columns beside the canonical JSON of the noun."""

import json
from collections.abc import Callable, Iterable
from functools import cache, lru_cache
from typing import Any, TypeVar, cast

from sqlalchemy import bindparam
from sqlmodel import Session, SQLModel, select

from service.domain.nouns.installed import Lot, Material, Penetration, Px, Seam, Termination
from service.domain.nouns.kept import Photo, ReadyLink
from service.domain.nouns.placing import Layout, OrderPlan, PlacingPlan, Readings, Thickness
from service.domain.nouns.site import Defect, Hold, Member, Noun, Patch, Project, Release, Sketch, Wall, Zone
from service.domain.shapes.outlines import reach_nm
from service.history.facts.encoding import canonical_told, from_json, to_json
from service.storage.tables.placing import LayoutRow, OrderPlanRow, PlacingPlanRow, ReadingsRow, ThicknessRow
from service.storage.tables.tables import (
    DefectRow,
    HoldRow,
    LotRow,
    MaterialRow,
    MemberRow,
    PatchMarkRow,
    PatchRow,
    PenetrationRow,
    PhotoRow,
    ProjectRow,
    ReadyLinkRow,
    ReleaseRow,
    SeamRow,
    SketchRow,
    TerminationRow,
    WallRow,
    ZoneRow,
    table_of,
)

N = TypeVar("N")

ROW_OF: dict[type, type[SQLModel]] = {
    Sketch: SketchRow,
    Zone: ZoneRow,
    Wall: WallRow,
    Defect: DefectRow,
    Patch: PatchRow,
    Hold: HoldRow,
    Release: ReleaseRow,
    Photo: PhotoRow,
    Member: MemberRow,
    Penetration: PenetrationRow,
    Seam: SeamRow,
    Termination: TerminationRow,
    Material: MaterialRow,
    Lot: LotRow,
    ReadyLink: ReadyLinkRow,
    Layout: LayoutRow,
    PlacingPlan: PlacingPlanRow,
    Readings: ReadingsRow,
    Thickness: ThicknessRow,
    OrderPlan: OrderPlanRow,
}


def _on_sketch(places: Callable[[Any], tuple[Px, ...]]) -> dict[str, Callable[[Any], Any]]:
    """The columns of what lies on a sketch, from the places that bound it."""
    return {
        "sketch_id": lambda n: n.sketch_id,
        "zone_id": lambda n: n.zone_id,
        "tag": lambda n: n.tag,
        "x0": lambda n: min(x for x, _ in places(n)),
        "y0": lambda n: min(y for _, y in places(n)),
        "x1": lambda n: max(x for x, _ in places(n)),
        "y1": lambda n: max(y for _, y in places(n)),
    }


# The columns beside id, project_id and body, and how each is read off the noun.
KEYS: dict[type, dict[str, Callable[[Any], Any]]] = {
    Sketch: {},
    Zone: {"sketch_id": lambda n: n.sketch_id, "letter": lambda n: n.letter},
    Wall: {"sketch_id": lambda n: n.sketch_id, "zone_id": lambda n: n.zone_id},
    Defect: {
        "sketch_id": lambda n: n.sketch_id,
        "zone_id": lambda n: n.zone_id,
        "tag": lambda n: n.tag,
        "x": lambda n: n.at[0],
        "y": lambda n: n.at[1],
        "reach_nm": lambda n: reach_nm(n.outline),
    },
    Patch: {"defect_id": lambda n: n.defect_id, "zone_id": lambda n: n.zone_id},
    Hold: {"zone_id": lambda n: n.zone_id},
    Release: {"zone_id": lambda n: n.zone_id, "seq": lambda n: n.seq},
    Photo: {"zone_id": lambda n: n.zone_id, "subject": lambda n: n.subject},
    Member: {"role": lambda n: n.role},
    # A penetration is small: whoever asks for what is near allows for its size.
    Penetration: _on_sketch(lambda n: (n.at,)),
    Seam: _on_sketch(lambda n: n.path),
    Termination: _on_sketch(lambda n: n.path),
    Material: {},
    Lot: {"material_id": lambda n: n.material_id},
    ReadyLink: {"token_sha256": lambda n: n.token_sha256},
    Layout: {"sketch_id": lambda n: n.sketch_id},
    PlacingPlan: {"zone_id": lambda n: n.zone_id},
    Readings: {"zone_id": lambda n: n.zone_id},
    Thickness: {"zone_id": lambda n: n.zone_id},
    OrderPlan: {},
}


def body_of(noun: Noun) -> str:
    """The canonical JSON of a noun."""
    return canonical_told(to_json(noun)).decode()


_DECODER = json.JSONDecoder()


@lru_cache(maxsize=20_000)
def _read(kind: type[N], body: str) -> N:
    data, end = _DECODER.raw_decode(body)
    if end != len(body):
        raise ValueError("a body is one JSON value and nothing after it")
    return from_json(kind, cast(dict[str, Any], data))


def noun_of(kind: type[N], body: str) -> N:
    """The noun of a body. The same text is the same frozen noun, so it is read once and kept at hand."""
    return cast(N, _read(cast(Any, kind), body))


def write(session: Session, project_id: str, nouns: Iterable[Noun]) -> None:
    """Insert or replace the rows of these nouns, in the order given."""
    session.flush()
    straight = session.connection()  # columns: a row object is read before it is written, and costs more
    for noun in nouns:
        if isinstance(noun, Project):
            straight.execute(_PROJECT, {"old_id": noun.id, "body": body_of(noun)})
            continue
        update, insert = _statements(type(noun))
        told = {"body": body_of(noun), **{name: read(noun) for name, read in KEYS[type(noun)].items()}}
        old = {"old_id": noun.id, "old_project_id": project_id}
        if not straight.execute(update, told | old).rowcount:
            straight.execute(insert, {"id": noun.id, "project_id": project_id, **told})
        if isinstance(noun, Patch):
            _write_marks(session, noun)


def _write_marks(session: Session, patch: Patch) -> None:
    """Which marks lie under a patch: told as it is logged, and never again otherwise."""
    found = session.exec(select(PatchMarkRow.defect_id).where(PatchMarkRow.patch_id == patch.id))
    known, under = set(found), dict.fromkeys((patch.defect_id, *patch.also))
    new = [{"patch_id": patch.id, "defect_id": mark} for mark in under if mark not in known]
    if new:
        session.connection().execute(table_of(PatchMarkRow).insert(), new)


@cache
def _statements(kind: type) -> tuple[Any, Any]:
    """Of one kind of noun: an update of its row, which tells how many there were, and an insert."""
    table = table_of(ROW_OF[kind])
    keys = [column for column in table.primary_key if column.name in ("id", "project_id")]
    update = table.update().where(*(column == bindparam(f"old_{column.name}") for column in keys))
    return update.values({name: bindparam(name) for name in ("body", *KEYS[kind])}), table.insert()


_PROJECT = (
    table_of(ProjectRow)
    .update()
    .where(table_of(ProjectRow).c.id == bindparam("old_id"))
    .values(body=bindparam("body"))
)
