"""The sketch as the viewer reads it: zones, walls, grid lines and marks in pixels of the full-size sketch."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from service.domain.shapes.outlines import Circle, corners
from service.web.drawings.drawing import (
    NOTHING,
    GridToDraw,
    InstalledToDraw,
    MarkToDraw,
    PenetrationToDraw,
    Px,
    SeamToDraw,
)


def sketch_rows(
    nm_per_px: float,
    *,
    zones: Iterable[tuple[str, Sequence[Px], str]] = (),
    marks: Iterable[tuple[MarkToDraw, str]] = (),
    walls: Iterable[tuple[Px, Px]] = (),
    grid: Iterable[GridToDraw] = (),
    installed: InstalledToDraw = NOTHING,
) -> dict[str, object]:
    """JSON for `SketchDrawing.rows`, and for the answer of `marks_href`.

    zones: (letter, ring, kind as in title_block); marks: (mark, its address); points thousandths of a pixel.
    Gives {"zones": [{letter, kind, ring}], "walls": [[x, y, x, y]], "grid": [{label, line}],
    "marks": [{tag, state, href, at, ring | radius}]}, in pixels; nm_per_px 0 (no scale) leaves marks out.
    What is installed comes as "pipes" (as marks), "seams": [{tag, state, href, path,
    readings: [[x, y, turn]]}] and "edges": [{state, path}], the outside of the zone at the left of each path;
    what there is none of is left out.
    """
    rows: dict[str, object] = {
        "zones": [{"letter": a, "kind": kind, "ring": [_px(p) for p in ring]} for a, ring, kind in zones],
        "walls": [[*_px(a), *_px(b)] for a, b in walls],
        "grid": [{"label": g.label, "line": [*_px(g.start), *_px(g.end)]} for g in grid],
        "marks": [_mark(mark, href, nm_per_px) for mark, href in marks] if nm_per_px else [],
    }
    return rows | _installed(installed, nm_per_px) if nm_per_px else rows


def _installed(installed: InstalledToDraw, nm_per_px: float) -> dict[str, object]:
    found: dict[str, list[dict[str, object]]] = {
        "pipes": [_mark(pipe, pipe.href, nm_per_px) for pipe in installed.penetrations],
        "seams": [_seam(seam) for seam in installed.seams],
        "edges": [{"state": edge.state, "path": [_px(p) for p in edge.path]} for edge in installed.edges],
    }
    return {name: rows for name, rows in found.items() if rows}


def _seam(seam: SeamToDraw) -> dict[str, object]:
    return {
        "tag": seam.tag,
        "state": seam.state,
        "href": seam.href,
        "path": [_px(at) for at in seam.path],
        "readings": [[*_px(at), turn] for at, turn in seam.readings],
    }


def _px(at: Px) -> list[float]:
    return [at[0] / 1000, at[1] / 1000]


def _mark(mark: MarkToDraw | PenetrationToDraw, href: str, nm_per_px: float) -> dict[str, object]:
    x, y = _px(mark.at)
    row: dict[str, object] = {"tag": mark.tag, "state": mark.state, "href": href, "at": [x, y]}
    if isinstance(mark.outline, Circle):
        return row | {"radius": round(mark.outline.diameter_nm / 2 / nm_per_px, 3)}
    ring = [[round(x + u / nm_per_px, 3), round(y + v / nm_per_px, 3)] for u, v in corners(mark.outline)]
    return row | {"ring": ring}
