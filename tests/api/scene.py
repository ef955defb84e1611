"""A site to call about: a zone held, one clear, one released; a mark, a patch, a wall, a hold, a photo."""

from __future__ import annotations

import io
from dataclasses import dataclass

from PIL import Image

from service.actions.frame import reading
from service.actions.frame.desk import Desk
from service.actions.marks import defects
from service.actions.marks.defects import PhotoIn
from service.actions.office import ready_lists
from service.actions.placing import calendars
from service.actions.sketches import zones
from service.domain.nouns.roles import CREW_LEAD, INSPECTOR, PROJECT_MANAGER
from service.storage.history import trees
from tests import builders
from tests.cast import Cast

THIRD = ((100, 800), (900, 800), (900, 1400), (100, 1400))
LEAD, MANAGER, EYE = CREW_LEAD, PROJECT_MANAGER, INSPECTOR
WORK = {"cleaned": True, "dry": True, "edges_taped": True, "tape_width": "4 in"}
RING = [[1800, 100], [2400, 100], [2400, 700]]


@dataclass(frozen=True)
class Scene:
    """Ids by the word that stands for them in a call's path, and the digests of two zones."""

    ids: dict[str, str]
    clear_digest: str

    def path(self, template: str) -> str:
        return "/api/v1" + template.format(**self.ids)


def set_up(desk: Desk, cast: Cast) -> Scene:
    """Zone B is held by one open mark and one patched short; C is walked and clear, its one mark mended; D is
    released."""
    sketch = builders.a_sketch(desk, cast)
    held = builders.a_zone(desk, cast, sketch)
    clear = builders.a_zone(desk, cast, sketch, "C", builders.NEXT_DOOR)
    released = builders.a_zone(desk, cast, sketch, "D", THIRD)
    mark = builders.a_mark(desk, cast, held)
    patched = builders.a_mark(desk, cast, held, (500, 300))
    patch = builders.a_patch(desk, cast, patched, builders.sides("5 3/4 in"))
    mended = builders.a_mark(desk, cast, clear, (1200, 300), "short lap", builders.SLIT)
    repair = builders.a_repair(desk, cast, mended)
    edge = builders.an_edge(desk, cast, held)
    seam = builders.a_seam(desk, cast, held)
    pipe = builders.a_pipe(desk, cast, held)
    material = builders.a_material(desk, cast, roll_width="12 ft", roll_length="200 ft")
    lot = builders.a_lot(desk, cast, material)
    laying = builders.a_laying(desk, cast, held, lot)
    layout = builders.a_layout(desk, cast, held, lot)
    weather, depth = builders.a_reading(desk, cast, held), builders.a_thickness(desk, cast, held)
    for zone in (held, clear, released):
        builders.a_walk(desk, cast, zone)
    builders.a_release(desk, cast, released)
    given = builders.newest_release(desk, cast, released)
    wall = zones.draw_wall(desk, cast.lead.id, held.id, (100, 100), (900, 100))
    hold = zones.hold_zone(desk, cast.lead.id, held.id, "frost", "White this morning")
    picture = desk.blobs.put(jpeg())
    photo = defects.settle_photo(desk, cast.lead.id, "defect", mark.id, PhotoIn(picture, picture, 64, 48))
    with desk.reading() as session:
        size = trees.kept(session, cast.project_id)[0][0]  # the release gave it
    ready = ready_lists.open_ready_list(desk, cast.manager.id, cast.project_id, "ready-mix dispatcher")
    calendar = calendars.make_link(desk, cast.manager.id, cast.project_id)
    ids = {
        "size": str(size), "seq": str(size), "lead": cast.lead.id,
        "project": cast.project_id, "sketch": sketch, "zone": held.id, "clear": clear.id,
        "release": given.id,
        "released": released.id, "defect": mark.id, "patched": patched.id, "patch": patch.id,
        "material": material.id, "lot": lot.id, "laying": laying.id,
        "readings": weather.id, "thickness": depth.id,
        "layout": layout.id, "sheets": layout.laid[0].id,
        "mended": mended.id, "repair": repair.id,
        "penetration": pipe.id, "seam": seam.id, "termination": edge.id, "wall": wall.id, "hold": hold.id,
        "photo": photo.id, "link": ready.link.id, "ready": ready.token, "calendar": calendar.link.id,
    }  # fmt: skip
    digest = reading.zone_view(desk, cast.manager.id, clear.id).standing.digest
    return Scene(ids, digest)


def jpeg(colour: str = "grey") -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (64, 48), colour).save(out, "JPEG")
    return out.getvalue()


def png(width: int = 400, height: int = 300) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (width, height), "white").save(out, "PNG")
    return out.getvalue()
