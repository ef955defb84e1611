"""What a phone takes along of a zone, gathered: marks as they are judged, what is installed, pages and tiles.

Lengths are whole nanometres. `at`, `outline`, `path` are in thousandths of a pixel of the sketch's base
frame, as everything is kept; `shown` beside them is in pixels of today's picture, as the viewer draws.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil
from typing import Any

from service.actions.frame.reading import ZoneView
from service.domain.gate.surroundings import same_material
from service.domain.nouns import roles
from service.domain.nouns.site import Defect, Px
from service.domain.patches.repair import COVERED, MENDED_BY, NOT_SEALED, OPEN, WITHDRAWN, Numbers
from service.domain.shapes.outlines import outline_to_json
from service.domain.words.speech import tr
from service.web.drawings.shown import Shown
from service.web.marks.judge_pack import judge_pack, numbers_json
from service.web.shared.crew_words import need, what
from service.web.shared.reasons import kind_of

TILE_PX = 256  # as the sketch is cut (`service.media.picture`)
MOST_TILES = 400  # some 4 MB of line work
ROOM_PX = 64  # of each level's own pixels, past the zone: what lies just beside it is seen too
SHELLS = ("/outbox", "/phone/patch")


def marks_of(view: ZoneView, shown: Shown) -> list[dict[str, Any]]:
    """Every standing mark of the zone or reaching in, in tag order, as `judge.js` takes it: with `numbers`
    and `lots` left to the whole pack, which says them once."""
    sheet, units = view.seen.project.sheet, view.seen.project.units
    return [
        {
            "id": mark.id,
            "tag": mark.tag,
            "kind": mark.kind,
            "zone": mark.zone_id,
            "at": list(mark.at),
            "shown": _px(shown.point(mark.at)),
            "outline": outline_to_json(mark.outline),
            "state": view.verdict(mark).state,
            "words": what(mark, units),
            "needs": need(mark, sheet, units),
            **_judged(view, mark),
        }
        for mark in _standing(view)
    ]


def _standing(view: ZoneView) -> list[Defect]:
    found = [mark for mark in (*view.defects(), *view.reaching_in()) if view.verdict(mark).state != WITHDRAWN]
    return sorted(found, key=lambda mark: (len(mark.tag), mark.tag))


def _judged(view: ZoneView, mark: Defect) -> dict[str, Any]:
    facts, around = view.standing.defect_facts(mark.id), view.around()
    if facts is None or around is None:
        return {"patches": []}
    pack = judge_pack(facts, around.numbers)
    kept = ("covered", "mended", "repair_faults", "refused", "collar_first")
    return {"patches": pack["laid"], **{name: pack[name] for name in kept}}


def rules_of(view: ZoneView) -> dict[str, Any]:
    """The numbers that hold in the zone, the lots laid here, and the widest roll of their film."""
    numbers, around = Numbers.of(view.seen.project.sheet), view.around()
    lots = {number: same_material(number, around) for number in around.lots} if around else {}
    return {
        **numbers_json(numbers),
        "lap_nm": numbers.lap_nm,
        "collar_width_nm": numbers.collar_width_nm,
        "collar_length_thousandths": numbers.collar_length_thousandths,
        "mastic_up_to_nm": numbers.mastic_up_to_nm,
        "station_every_nm": numbers.station_every_nm,
        "second_look": numbers.second_look,
        "hold_points": list(numbers.hold_points),
        "lots": lots,
        "roll_nm": around.roll_nm if around else None,
    }


def installed_of(view: ZoneView, shown: Shown) -> dict[str, Any]:
    """Penetrations, seams, edges and walls that stand."""
    pipes = [pipe for pipe in view.penetrations() if pipe.withdrawn is None]
    seams = [seam for seam in view.seams() if seam.withdrawn is None]
    edges = [edge for edge in view.terminations() if edge.withdrawn is None]
    return {
        "penetrations": [
            {
                "id": pipe.id, "tag": pipe.tag, "kind": pipe.kind, "at": list(pipe.at),
                "shown": _px(shown.point(pipe.at)), "outline": outline_to_json(pipe.outline),
                "sealed": pipe.seal is not None,
            }
            for pipe in pipes
        ],
        "seams": [
            {
                "id": seam.id, "tag": seam.tag, "kind": seam.kind, "path": [list(at) for at in seam.path],
                "shown": [_px(at) for at in shown.ring(seam.path)],
            }
            for seam in seams
        ],
        "edges": [
            {
                "id": edge.id, "tag": edge.tag, "kind": edge.kind, "path": [list(at) for at in edge.path],
                "shown": [_px(at) for at in shown.ring(edge.path)], "sealed": edge.seal is not None,
            }
            for edge in edges
        ],
        "walls": [{"a": _px(a), "b": _px(b)} for a, b in shown.walls(view.site.walls.values())],
    }  # fmt: skip


# --- pages and tiles --------------------------------------------------------------------------------------


def pages_of(view: ZoneView) -> list[str]:
    """Every page to keep: those this person may open, none that only says no."""
    root, role, placed = f"/zones/{view.zone.id}", view.seen.role, view.zone.placement is not None
    pages = [root, f"{root}/marks.json", f"{root}/walk-order", f"{root}/hold-points", f"{root}/penetrations"]
    pages += [f"{root}/seams", f"{root}/edges", f"{root}/film", *SHELLS]
    pages += [f"{root}/placing-day", f"{root}/readings", f"{root}/thickness"]
    scaled = view.seen.sketch.scale is not None
    if scaled and roles.may(role, "mark a defect"):
        pages.append(f"{root}/mark")
    if not placed and roles.may(role, "hold a zone"):
        pages.append(f"{root}/hold")
    if scaled and roles.may(role, "place a penetration"):
        pages.append(f"{root}/penetrations/place")
    if scaled and roles.may(role, "draw a seam"):
        pages.append(f"{root}/seams/draw")
    return [*pages, *_of_marks(view, role), *_of_installed(view, role)]


def _of_marks(view: ZoneView, role: str) -> Iterator[str]:
    for mark in _standing(view):
        if view.verdict(mark).state not in (OPEN, NOT_SEALED):
            continue
        yield f"/defects/{mark.id}"
        if mark.kind in COVERED and roles.may(role, "log a patch"):
            yield f"/defects/{mark.id}/patch"
        if MENDED_BY[mark.kind] and roles.may(role, "log a repair"):
            yield f"/defects/{mark.id}/repair"


def _of_installed(view: ZoneView, role: str) -> Iterator[str]:
    for pipe in view.penetrations():
        if pipe.withdrawn is None:
            yield f"/penetrations/{pipe.id}"
            if roles.may(role, "log a seal"):
                yield f"/penetrations/{pipe.id}/seal"
    for seam in view.seams():
        if seam.withdrawn is None:
            yield f"/seams/{seam.id}"
            if roles.may(role, "walk a seam"):
                yield f"/seams/{seam.id}/walk"
    for edge in view.terminations():
        if edge.withdrawn is None:
            yield f"/edges/{edge.id}"


def tiles_of(view: ZoneView, shown: Shown) -> list[str]:
    """The whole picture, small, and the tiles over the zone: from the farthest level to the closest that
    still leaves the list within bounds."""
    sketch = view.seen.sketch
    root, asked = f"/sketches/{sketch.id}", f"?v={sketch.revision}"
    found = [f"{root}/preview.webp{asked}"]
    ring = shown.ring(view.zone.outline)
    for level in range(sketch.levels - 1, -1, -1):
        here = list(_tiles_at(ring, (sketch.width_px, sketch.height_px), level))
        if len(found) + len(here) > MOST_TILES:
            break
        found += [f"{root}/tiles/{level}/{x}_{y}.webp{asked}" for x, y in here]
    return found


def _tiles_at(ring: Sequence[Px], size: tuple[int, int], level: int) -> Iterator[tuple[int, int]]:
    """Columns and rows of a level's tiles over the ring's box and some room round it."""
    across, down = (ceil(length / (TILE_PX << level)) for length in size)
    spans = []
    for axis, most in ((0, across), (1, down)):
        ends = [(at[axis] // 1000) >> level for at in ring]
        first, last = (min(ends) - ROOM_PX) // TILE_PX, (max(ends) + ROOM_PX) // TILE_PX
        spans.append(range(max(first, 0), min(last, most - 1) + 1))
    return ((x, y) for y in spans[1] for x in spans[0])


def _px(at: Px) -> list[float]:
    return [at[0] / 1000, at[1] / 1000]


def zone_of(view: ZoneView, shown: Shown) -> dict[str, Any]:
    zone = view.zone
    return {
        "id": zone.id,
        "letter": zone.letter,
        "name": zone.name,
        "state": view.standing.state,
        "state_words": tr(view.standing.state),
        "state_kind": kind_of(view.standing.state),
        "outline": [list(at) for at in zone.outline],
        "shown": [_px(at) for at in shown.ring(zone.outline)],
        "sketch": view.seen.sketch.id,
        "nm_per_px": round(shown.nm_per_px),
    }
