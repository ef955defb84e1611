"""A zone as it stands, turned into what is drawn and headed: its drawing, its marks, its title block."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.reading import ZoneView, zone_view
from service.domain.gate.mark_facts import piece_seen_from
from service.domain.gate.zone_facts import nm_per_px
from service.domain.nouns.site import Defect, Patch, Project, Site, Sketch, Zone
from service.domain.shapes.outlines import Outline, Sides, sides_as_rectangle
from service.domain.sketch.zones import area_m2
from service.domain.words.measures import say_area, say_length
from service.domain.words.names import zone_state
from service.domain.words.refusals import Conflict
from service.domain.words.speech import tr, trn
from service.history.replay.standing import Standing
from service.web.drawings.drawing import GridToDraw, MarkToDraw, ZoneDrawing
from service.web.drawings.installed_shown import installed_shown
from service.web.drawings.shown import Shown
from service.web.drawings.zone_drawing import draw_zone
from service.web.serving.render import clock, day, moment
from service.web.shared.placing_words import since_words
from service.web.shared.reasons import kind_of


@dataclass(frozen=True, slots=True)
class ZoneBlock:
    """The title block of a zone, as `blocks.title_block` takes it."""

    letter: str
    rows: tuple[tuple[str, str], ...]
    stands_word: str
    stands_small: str
    kind: str


def standing_view(desk: Desk, person: Person, zone_id: str) -> ZoneView:
    """The zone as it stands; Conflict when it was taken off the sketch."""
    view = zone_view(desk, person.id, zone_id)
    if view.zone.withdrawn is not None:
        raise Conflict(
            tr(
                "Zone {letter} was taken off the sketch: {reason}.",
                letter=view.zone.letter,
                reason=view.zone.withdrawn,
            ),
            code="zone-withdrawn",
        )
    return view


def name_in(view: ZoneView, person_id: str) -> str:
    """Who did something on this project."""
    return view.names.get(person_id, tr("A person no longer named"))


def zone_block(view: ZoneView, now: datetime) -> ZoneBlock:
    """The zone's letter, what it is, and how it stands."""
    project, standing = view.seen.project, view.standing
    return ZoneBlock(
        view.zone.letter,
        block_rows(view.zone, view.seen.sketch, project),
        _starting(zone_state(standing.state)),
        stands_small(standing, project, now),
        kind_of(standing.state),
    )


def zone_drawing(view: ZoneView) -> ZoneDrawing:
    """The zone with its marks and those that reach in, walls and grid lines."""
    sketch, zone, standing = view.seen.sketch, view.zone, view.standing
    base = Shown(replace(sketch, alignment=None))  # as its first picture shows it, like the marks here
    per_px = nm_per_px(sketch.scale) if sketch.scale else 1.0
    marks = [*view.defects(), *view.reaching_in()] if sketch.scale else []
    walls = [wall for wall in view.site.walls.values() if wall.withdrawn is None]
    return draw_zone(
        zone.outline,
        per_px,
        tuple(mark_to_draw(view, mark, per_px) for mark in marks if mark.withdrawn is None),
        kind=kind_of(standing.state),
        label=trn(
            "Zone {letter}, {state}, with {n} mark",
            "Zone {letter}, {state}, with {n} marks",
            len(marks),
            letter=zone.letter,
            state=zone_state(standing.state),
        ),
        walls=tuple((wall.a, wall.b) for wall in walls if wall.zone_id == zone.id),
        grid=grid_of(sketch),
        installed=installed_shown(view, base),
    )


def mark_to_draw(view: ZoneView, mark: Defect, per_px: float) -> MarkToDraw:
    """A mark with the least patch round it and the last patch laid on it. per_px: nanometres a pixel."""
    patches = [patch for patch in view.patches_on(mark.id) if patch.withdrawn is None]
    piece = _piece(view.site, patches[-1], mark, per_px) if patches else None
    return MarkToDraw(
        mark.tag,
        view.verdict(mark).state,
        mark.at,
        mark.outline,
        view.standing.facts.numbers.patch_overlap_nm,
        *(piece or ()),
    )


def _piece(site: Site, patch: Patch, mark: Defect, per_px: float) -> tuple[Outline, tuple[int, int]]:
    """The patch as a shape placed from the mark; a side sealed to a wall is drawn ending at the damage."""
    piece = piece_seen_from(patch, mark, site.defects.get(patch.defect_id), per_px)
    if piece.outline is not None:
        return piece.outline, piece.offset
    assert piece.sides is not None, "a piece has an outline, or sides"
    left, right, near, far = (reading or 0 for reading in piece.sides.readings().values())
    return sides_as_rectangle(mark.outline, Sides(left, right, near, far, piece.sides.angle_udeg))


def certificate_of(view: ZoneView) -> str:
    """The address of the certificate of the zone's newest release, pulled back or not; empty with none."""
    own = [release for release in view.site.releases.values() if release.zone_id == view.zone.id]
    return f"/releases/{max(own, key=lambda release: release.seq).id}" if own else ""


def grid_of(sketch: Sketch) -> tuple[GridToDraw, ...]:
    return tuple(GridToDraw(line.label, line.a, line.b) for line in sketch.grid)


def size_of(zone: Zone, sketch: Sketch, project: Project) -> str:
    """The zone's area in the project's units, or that the sketch has no scale."""
    if sketch.scale is None:
        return tr("no scale yet")
    return say_area(area_m2(zone.outline, nm_per_px(sketch.scale)), project.units)


def placing_words(place_at: datetime | None, project: Project) -> str:
    """When the zone is planned to be placed."""
    return moment(place_at, project.time_zone) if place_at else tr("no time set")


def block_rows(zone: Zone, sketch: Sketch, project: Project) -> tuple[tuple[str, str], ...]:
    """The rows of a zone's title block."""
    sheet = project.sheet
    patch, lap = (say_length(number.nm, project.units) for number in (sheet.patch_overlap, sheet.lap))
    asked = "film" in sheet.gate_demands and sheet.film_class.word
    rules = tr("{patch} patches, {lap} laps", patch=patch, lap=lap)
    if asked:
        word = sheet.film_class.word
        rules = tr("{patch} patches, {lap} laps, class {word} film", patch=patch, lap=lap, word=word)
    named = f"{zone.name}, {size_of(zone, sketch, project)}" if zone.name else size_of(zone, sketch, project)
    return (
        (tr("Zone"), named),
        (tr("Placing"), since_words(zone, project.time_zone) or placing_words(zone.place_at, project)),
        (tr("Rule sheet"), rules),
    )


def walked_words(zone: Zone, project: Project, now: datetime) -> str:
    """When the last punch walk that counts was finished."""
    if zone.walked_at is None:
        return tr("no finished walk")
    zone_of = project.time_zone
    today = day(now, zone_of) == day(zone.walked_at, zone_of)
    if today:
        return tr("last walked today {time}", time=clock(zone.walked_at, zone_of))
    return tr("last walked {when}", when=moment(zone.walked_at, zone_of))


def stands_small(standing: Standing, project: Project, now: datetime) -> str:
    """The quieter words beside a zone's state: how many reasons stand, and the walk."""
    walked = walked_words(standing.zone, project, now)
    if standing.placing is not None:
        return tr("being placed, {walked}", walked=walked)
    if standing.zone.placement is not None or not standing.blockers:
        return walked
    return trn("{n} reason, {walked}", "{n} reasons, {walked}", len(standing.blockers), walked=walked)


def tally(states: Iterable[str]) -> str:
    """`1 ready to place, 2 held`: how many zones stand how, in the order of the work."""
    order = ("held", "laying", "clear", "ready to place", "placed", "placed without release")
    found = list(states)
    return ", ".join(_counted(state, found.count(state)) for state in order if state in found)


def _counted(state: str, n: int) -> str:
    match state:
        case "held":
            return trn("{n} held", "{n} held", n)
        case "laying":
            return trn("{n} laying", "{n} laying", n)
        case "clear":
            return trn("{n} clear", "{n} clear", n)
        case "ready to place":
            return trn("{n} ready to place", "{n} ready to place", n)
        case "placed":
            return trn("{n} placed", "{n} placed", n)
        case _:
            return trn("{n} placed without release", "{n} placed without release", n)


def _starting(words: str) -> str:
    return words[:1].upper() + words[1:]
