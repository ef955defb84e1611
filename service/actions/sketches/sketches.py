"""Add a sketch, revise it, set its scale, lay its grid, and hand out its pictures."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from service.actions.frame.desk import Desk
from service.actions.frame.doing import (
    LONGEST_NAME,
    allow,
    length,
    project_to_change,
    record,
    sketch_to_change,
    words,
)
from service.domain.nouns.site import Alignment, GridLine, Px, Scale, Sketch
from service.domain.sketch.places import milli, to_base
from service.domain.words.refusals import BadInput, Conflict, TooLarge
from service.domain.words.speech import tr
from service.history.facts.facts import GridLaid, ScaleSet, SketchAdded, SketchRevised
from service.media.picture import Picture, read_picture
from service.media.refusals import BadPicture
from service.media.sketches import bare_picture, prepare_sketch
from service.storage.history.seen import SeenSketch, project_seen_by, sketch_seen_by

NEAREST_POINTS_PX = 8  # two points closer than this give a scale too rough to measure by
MOST_GRID_LINES = 200

TakenIn = tuple[str, int | None, Picture]  # the file's SHA-256, the page of a PDF, and the picture


def add_sketch(
    desk: Desk, by: str, project_id: str, source: Path, name: str, page: int | None = None
) -> Sketch:
    """Take an uploaded picture or PDF page as a new sketch. A file of somebody else's stays where it is."""
    words(name, "name", most=LONGEST_NAME)
    return settle_sketch(desk, by, project_id, name, take_in_first(desk, by, project_id, source, page))


def take_in_first(desk: Desk, by: str, project_id: str, source: Path, page: int | None) -> TakenIn:
    """Decode and keep the picture of a sketch to be added: the slow half, done with no transaction open."""
    with desk.reading() as session:
        allow(project_seen_by(session, by, project_id), "add a sketch")
    return _taken_in(desk, source, page)


def settle_sketch(desk: Desk, by: str, project_id: str, name: str, taken: TakenIn) -> Sketch:
    """Add the sketch whose picture was taken in: the short half."""
    name = words(name, "name", most=LONGEST_NAME) or "Slab"
    sha256, page, picture = taken
    with desk.writing() as session:
        seen, site = project_to_change(session, by, project_id, "add a sketch")
        fact = SketchAdded(
            desk.new_id(), name, sha256, page, picture.width_px, picture.height_px, picture.levels
        )
        record(desk, session, site, by, seen.role, fact)
    return site.sketches[fact.sketch]


def revise_sketch(
    desk: Desk,
    by: str,
    sketch_id: str,
    source: Path,
    old_points: Sequence[Sequence[float]],
    new_points: Sequence[Sequence[float]],
    page: int | None = None,
) -> Sketch:
    """A newer picture of the same slab. The two common points are given in pixels of each picture."""
    with desk.reading() as session:
        allow(sketch_seen_by(session, by, sketch_id), "add a sketch")
    sha256, page, picture = _taken_in(desk, source, page)
    return settle_revision(desk, by, sketch_id, sha256, page, old_points, new_points, picture)


def settle_revision(
    desk: Desk,
    by: str,
    sketch_id: str,
    sha256: str,
    page: int | None,
    old_points: Sequence[Sequence[float]],
    new_points: Sequence[Sequence[float]],
    picture: Picture | None = None,
) -> Sketch:
    """Align a picture that was taken in before, and make it the sketch's present revision."""
    if picture is None:
        picture = picture_of(desk, sha256, page)
    with desk.writing() as session:
        seen, site = sketch_to_change(session, by, sketch_id, "add a sketch")
        base = [to_base(seen.sketch, point, "old_points") for point in old_points]
        now = [milli(point, "new_points") for point in new_points]
        for pair, field in ((base, "old_points"), (now, "new_points")):
            _apart(pair, field)
        if any(
            not (0 <= x <= picture.width_px * 1000 and 0 <= y <= picture.height_px * 1000) for x, y in now
        ):
            raise BadInput(
                tr("A point is off the new picture."), fields={"new_points": tr("Off the new picture.")}
            )
        alignment = Alignment(base[0], base[1], now[0], now[1])
        fact = SketchRevised(
            sketch_id, sha256, page, picture.width_px, picture.height_px, picture.levels, alignment
        )
        record(desk, session, site, by, seen.role, fact)
    return site.sketches[sketch_id]


def take_in(desk: Desk, by: str, sketch_id: str, source: Path, page: int | None) -> TakenIn:
    """Keep a newer picture for a sketch without making it the present one: it is aligned next."""
    with desk.reading() as session:
        allow(sketch_seen_by(session, by, sketch_id), "add a sketch")
    return _taken_in(desk, source, page)


def set_scale(
    desk: Desk, by: str, sketch_id: str, a: Sequence[float], b: Sequence[float], distance: str
) -> Sketch:
    """Two points in pixels of today's picture, and the true distance between them as text with a unit."""
    distance_nm = length(distance, "distance")
    with desk.writing() as session:
        seen, site = sketch_to_change(session, by, sketch_id, "set the scale")
        points = [to_base(seen.sketch, a, "from"), to_base(seen.sketch, b, "to")]
        _apart(points, "to")
        scale = Scale(points[0], points[1], distance_nm)
        if scale != seen.sketch.scale:
            record(desk, session, site, by, seen.role, ScaleSet(sketch_id, scale))
    return site.sketches[sketch_id]


def lay_grid(
    desk: Desk, by: str, sketch_id: str, lines: Sequence[tuple[str, Sequence[float], Sequence[float]]]
) -> Sketch:
    """The building's grid: label and two points in pixels for every line. An empty list takes it away."""
    if len(lines) > MOST_GRID_LINES:
        raise BadInput(
            tr("A grid has at most {most} lines.", most=MOST_GRID_LINES),
            fields={"lines": tr("Too many lines.")},
        )
    with desk.writing() as session:
        seen, site = sketch_to_change(session, by, sketch_id, "lay the grid")
        laid = tuple(grid_line(seen.sketch, *line) for line in lines)
        labels = [line.label for line in laid]
        twice = next((label for label in labels if labels.count(label) > 1), None)
        if twice:
            told = tr("Two lines are called {twice}.", twice=twice)
            raise BadInput(told, fields={"lines": told})
        record(desk, session, site, by, seen.role, GridLaid(sketch_id, laid))
    return site.sketches[sketch_id]


def grid_line(sketch: Sketch, label: str, a: Sequence[float], b: Sequence[float]) -> GridLine:
    """One line as it is kept, from its label and two points in pixels. BadInput names `lines`."""
    label = words(label, "lines", most=8, needed=tr("Every grid line needs its label."))
    ends = [to_base(sketch, a, "lines"), to_base(sketch, b, "lines")]
    _apart(ends, "lines")
    return GridLine(label, ends[0], ends[1])


def _apart(points: Sequence[Px], field: str) -> None:
    if len(points) != 2:
        raise BadInput(tr("Two points are needed."), fields={field: tr("Two points are needed.")})
    (ax, ay), (bx, by) = points
    if (bx - ax) ** 2 + (by - ay) ** 2 < (NEAREST_POINTS_PX * 1000) ** 2:
        told = tr("The two points are too close together. Choose points far apart.")
        raise BadInput(told, fields={field: told})


def _taken_in(desk: Desk, source: Path, page: int | None) -> TakenIn:
    """Tiles and blob into place. Done before any transaction: decoding takes seconds, a write must not."""
    with desk.blobs.coming() as folder:
        made = folder / "tiles"
        try:
            picture = prepare_sketch(source, made, page)
            bare = bare_picture(source, folder)
        except BadPicture as bad:
            raise _refusal(bad) from None
        page = (page or 1) if picture.kind == "pdf" else None
        sha256 = desk.blobs.put_file(bare)
        desk.blobs.put_tiles(made, tiles_name(sha256, page))
    return sha256, page, picture


def _refusal(bad: BadPicture) -> BadInput | TooLarge:
    if bad.code == "too-large":
        return TooLarge(str(bad), fields={"file": str(bad)})
    return BadInput(str(bad), fields={"file": str(bad)}, code=bad.code)


def tiles_name(sha256: str, page: int | None) -> str:
    return sha256 if page is None else f"{sha256}-{page}"


def picture_of(desk: Desk, sha256: str, page: int | None) -> Picture:
    """A picture that was taken in before. Conflict when it is not there."""
    try:
        return read_picture(desk.blobs.tiles(tiles_name(sha256, page)))
    except (OSError, ValueError):
        raise Conflict(tr("That picture is not here any more. Send it again.")) from None


def one_sketch(desk: Desk, by: str, sketch_id: str) -> SeenSketch:
    with desk.reading() as session:
        return sketch_seen_by(session, by, sketch_id)
