"""Outline a zone, draw its walls, finish a punch walk, hold it whole and lift the hold."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime

from service.actions.frame import late
from service.actions.frame.desk import Desk
from service.actions.frame.doing import LONGEST_NAME, record, sketch_to_change, words, zone_to_change
from service.domain.nouns.site import HOLD_CAUSES, Hold, Px, Sketch, Wall, Zone
from service.domain.sketch.places import to_base
from service.domain.sketch.zones import BadZone, check_zone_outline
from service.domain.words.refusals import BadInput, Conflict, NoScale
from service.domain.words.speech import tr
from service.history.facts.facts import (
    HoldLifted,
    WalkFinished,
    WallDrawn,
    WallWithdrawn,
    ZoneChanged,
    ZoneHeld,
    ZoneOutlined,
    ZoneWithdrawn,
)
from service.storage.history.seen import hold_seen_by, wall_seen_by

LETTER = re.compile(r"[A-Z]{1,2}")


def outline_zone(
    desk: Desk,
    by: str,
    sketch_id: str,
    letter: str,
    name: str,
    outline: Sequence[Sequence[float]],
    place_at: datetime | None = None,
) -> Zone:
    """A new zone. `outline`: corners in pixels of today's picture; `place_at`: aware."""
    letter = letter.strip().upper()
    if not LETTER.fullmatch(letter):
        told = tr("A zone's letter is one or two letters, A to Z.")
        raise BadInput(told, fields={"letter": told})
    name = words(name, "name", most=LONGEST_NAME)
    with desk.writing() as session:
        seen, site = sketch_to_change(session, by, sketch_id, "outline a zone")
        if seen.sketch.scale is None:
            raise NoScale
        if any(zone.letter == letter for zone in site.zones.values()):
            told = tr(
                "Letter {letter} is used on this project, and is never used twice, so that no tag repeats.",
                letter=letter,
            )
            raise BadInput(told, fields={"letter": told})
        corners = _corners(seen.sketch, outline)
        fact = ZoneOutlined(desk.new_id(), sketch_id, letter, name, corners, place_at)
        record(desk, session, site, by, seen.role, fact)
    return site.zones[fact.zone]


def change_zone(
    desk: Desk,
    by: str,
    zone_id: str,
    *,
    name: str | None = None,
    outline: Sequence[Sequence[float]] | None = None,
    place_at: datetime | None = None,
    keep_place_at: bool = False,
) -> Zone:
    """Change a zone's name, outline or planned placing time. A new outline voids its walk."""
    with desk.writing() as session:
        seen, site = zone_to_change(session, by, zone_id, "outline a zone")
        old = seen.zone
        fact = ZoneChanged(
            zone_id,
            old.name if name is None else words(name, "name", most=LONGEST_NAME),
            old.outline if outline is None else _corners(seen.sketch, outline),
            old.place_at if keep_place_at else place_at,
        )
        if (fact.name, fact.outline, fact.place_at) != (old.name, old.outline, old.place_at):
            record(desk, session, site, by, seen.role, fact)
    return site.zones[zone_id]


def withdraw_zone(desk: Desk, by: str, zone_id: str, reason: str) -> Zone:
    """Take a zone off the sketch. Its marks and its letter stay in the history. A placed zone stays."""
    reason = words(reason, "reason", needed=tr("Say why the zone is taken off the sketch."))
    with desk.writing() as session:
        seen, site = zone_to_change(session, by, zone_id, "outline a zone")
        if seen.zone.placement is not None:
            raise Conflict(
                tr("Zone {letter} is placed: it stays on the sketch.", letter=seen.zone.letter),
                code="zone-placed",
            )
        record(desk, session, site, by, seen.role, ZoneWithdrawn(zone_id, reason))
    return site.zones[zone_id]


def _corners(sketch: Sketch, outline: Sequence[Sequence[float]]) -> tuple[Px, ...]:
    """The corners in the base frame; BadInput says what is wrong with the outline."""
    shown_px = tuple(to_base(sketch, point, "outline") for point in outline)
    now = tuple((round(float(x) * 1000), round(float(y) * 1000)) for x, y in outline)
    try:
        check_zone_outline(now, sketch.width_px, sketch.height_px)
    except BadZone as bad:
        raise BadInput(str(bad), fields={"outline": str(bad)}, code=bad.code) from None
    return shown_px


def draw_wall(desk: Desk, by: str, zone_id: str, a: Sequence[float], b: Sequence[float]) -> Wall:
    """An edge the film can be sealed to, from one point to another in pixels of today's picture."""
    with desk.writing() as session:
        seen, site = zone_to_change(session, by, zone_id, "draw a wall")
        if seen.sketch.scale is None:
            raise NoScale
        ends = to_base(seen.sketch, a, "from"), to_base(seen.sketch, b, "to")
        if ends[0] == ends[1]:
            raise BadInput(tr("A wall runs between two points."), fields={"to": tr("The same point twice.")})
        fact = WallDrawn(desk.new_id(), seen.sketch.id, zone_id, *ends)
        record(desk, session, site, by, seen.role, fact)
    return site.walls[fact.wall]


def withdraw_wall(desk: Desk, by: str, wall_id: str, reason: str) -> Wall:
    """Take a wall edge away. Patches sealed to it no longer hold on that side."""
    reason = words(reason, "reason", needed=tr("Say why the wall is taken away."))
    with desk.writing() as session:
        _, wall = wall_seen_by(session, by, wall_id)
        seen, site = zone_to_change(session, by, wall.zone_id, "draw a wall")
        if site.walls[wall_id].withdrawn is not None:
            raise Conflict(tr("That wall is gone already."), code="withdrawn-already")
        record(desk, session, site, by, seen.role, WallWithdrawn(wall_id, wall.zone_id, reason))
    return site.walls[wall_id]


def finish_walk(desk: Desk, by: str, zone_id: str, note: str = "") -> Zone:
    """A punch walk is finished: every hole, tear, seam and pipe of the zone was looked at."""
    note = words(note, "note")
    with desk.writing() as session:
        seen, site = zone_to_change(session, by, zone_id, "finish a walk")
        late.check_walk(desk, session, site, seen.zone)
        record(desk, session, site, by, seen.role, WalkFinished(zone_id, seen.zone.letter, note))
    return site.zones[zone_id]


def hold_zone(desk: Desk, by: str, zone_id: str, cause: str, reason: str) -> Hold:
    """Hold the whole zone for a cause that no mark shows."""
    if cause not in HOLD_CAUSES:
        told = tr("The cause is one of: {causes}.", causes=", ".join(map(tr, HOLD_CAUSES)))
        raise BadInput(told, fields={"cause": told})
    reason = words(reason, "reason", needed=tr("Say what was seen."))
    with desk.writing() as session:
        seen, site = zone_to_change(session, by, zone_id, "hold a zone")
        fact = ZoneHeld(desk.new_id(), zone_id, seen.zone.letter, cause, reason)
        record(desk, session, site, by, seen.role, fact)
    return site.holds[fact.hold]


def lift_hold(desk: Desk, by: str, hold_id: str, reason: str) -> Hold:
    """Lift a hold, saying what was done."""
    reason = words(reason, "reason", needed=tr("Say what was done about it."))
    with desk.writing() as session:
        _, hold = hold_seen_by(session, by, hold_id)
        seen, site = zone_to_change(session, by, hold.zone_id, "lift a hold")
        hold = site.holds[hold_id]
        if hold.lifted is not None:
            raise Conflict(tr("That hold is lifted already."), code="lifted-already")
        fact = HoldLifted(hold_id, hold.zone_id, seen.zone.letter, hold.cause, reason)
        record(desk, session, site, by, seen.role, fact)
    return site.holds[hold_id]
