"""What is installed, drawn: penetrations by their true outside, seams with their readings, sealed edges.

One path a kind and state, however many there are, so that a busy zone stays small on the wire.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from service.domain.words.speech import tr
from service.web.drawings.drawing import (
    AT_FAULT,
    NOT_SEALED,
    NOT_WALKED,
    InstalledDrawing,
    InstalledToDraw,
    LineName,
    PenetrationToDraw,
    SeamToDraw,
    TagOnLeader,
)
from service.web.drawings.frame import Frame
from service.web.drawings.leaders import Room, place_leader
from service.web.drawings.paths import Point, line, reach, shape

OFF = 7.5  # drawing units from the outline to the thin line of a sealed edge: clear of a doubled outline
LEAST_ARM, MOST_MITRE = 3.0, 2.5  # of a cross; how far a corner of an offset line may reach, in offsets
TICK = 3.5  # half of the short line across a seam where its lap was read
NEAR = 14.0  # unsealed penetrations in a row closer than this are told by one tag
NAME_LETTER, NAME_TALL = 7.2, 14.0  # a letter of a seam's tag (13 units type), and its line
MOST_NAMED = 12  # above this many seams only those not walked or at fault are named
WHERE = (0.5, 0.36, 0.64, 0.22, 0.78, 0.12, 0.88)  # along a seam: where its tag is tried, the middle first


def keep_clear(room: Room, frame: Frame, installed: InstalledToDraw) -> None:
    """Tags better stand beside penetrations than on them; a seam shows on either side of a tag."""
    for pipe in installed.penetrations:
        x, y = frame.point(pipe.at)
        box = room.cells(x - LEAST_ARM, y - LEAST_ARM, x + LEAST_ARM, y + LEAST_ARM)
        if box:
            room.take(box, room.small)


def draw_installed(installed: InstalledToDraw, frame: Frame, room: Room, tags: Tags) -> InstalledDrawing:
    """The paths of all that is installed, the tags placed before, and seams' tags where there is room."""
    pipes, seams, edges = installed.penetrations, installed.seams, installed.edges
    unsealed = [pipe for pipe in pipes if pipe.state == NOT_SEALED]
    by_need = sorted(seams, key=lambda seam: seam.state not in (NOT_WALKED, AT_FAULT))
    wanted = [s for s in by_need if len(seams) <= MOST_NAMED or s.state in (NOT_WALKED, AT_FAULT)]
    names = [_name(seam, frame, room) for seam in wanted]
    return InstalledDrawing(
        sealed=_all(_penetration(pipe, frame) for pipe in pipes if pipe.state != NOT_SEALED),
        unsealed=_all(_penetration(pipe, frame) for pipe in unsealed),
        walked=_all(_seam(seam, frame) for seam in seams if seam.state not in (NOT_WALKED, AT_FAULT)),
        not_walked=_all(_seam(seam, frame) for seam in seams if seam.state == NOT_WALKED),
        at_fault=_all(_seam(seam, frame) for seam in seams if seam.state == AT_FAULT),
        readings=_all(_ticks(seam, frame) for seam in seams),
        edges=_all(_beside(edge.path, frame) for edge in edges if edge.state != NOT_SEALED),
        edges_open=_all(_beside(edge.path, frame) for edge in edges if edge.state == NOT_SEALED),
        tags=tags.placed,
        names=tuple(name for name in names if name),
        untagged=tags.left_out + names.count(None),
    )


def _all(paths: Iterable[str]) -> str:
    return "".join(paths)


def _penetration(pipe: PenetrationToDraw, frame: Frame) -> str:
    """Its outside, and a cross through its middle that shows where it is however small that outside."""
    (x, y), k = frame.point(pipe.at), frame.units_per_nm
    arm = max(reach(pipe.outline) * k * 1.3, LEAST_ARM)
    across, down = ((x - arm, y), (x + arm, y)), ((x, y - arm), (x, y + arm))
    cross = line(across, closed=False) + line(down, closed=False)
    return shape(pipe.outline, frame.around(pipe.at), k) + cross


def _seam(seam: SeamToDraw, frame: Frame) -> str:
    return line([frame.point(at) for at in seam.path], closed=False)


def _ticks(seam: SeamToDraw, frame: Frame) -> str:
    """A short line across the seam at every place where its lap was read."""
    found = []
    for at, turn in seam.readings:
        x, y = frame.point(at)
        dx, dy = -math.sin(math.radians(turn)) * TICK, math.cos(math.radians(turn)) * TICK
        found.append(line([(x - dx, y - dy), (x + dx, y + dy)], closed=False))
    return "".join(found)


def _beside(path: Sequence[tuple[int, int]], frame: Frame) -> str:
    """A line along the path at its left, which is outside the zone (see `EdgeToDraw`)."""
    return line(left_of([frame.point(at) for at in path], OFF), closed=False)


def left_of(points: Sequence[Point], far: float) -> list[Point]:
    """The points moved left of the way they run (y down), corners mitred; a closed path stays closed."""
    run = [point for i, point in enumerate(points) if not i or point != points[i - 1]]
    sides = [_normal(a, b) for a, b in pairwise(run)]
    if not sides:
        return run
    closed = run[0] == run[-1]
    before = [sides[-1] if closed else sides[0], *sides]
    after = [*sides, sides[0] if closed else sides[-1]]
    return [_mitred(at, u, v, far) for at, u, v in zip(run, before, after, strict=True)]


def _normal(a: Point, b: Point) -> Point:
    """One unit to the left of the way from a to b, with y down."""
    far = math.dist(a, b)
    return (b[1] - a[1]) / far, (a[0] - b[0]) / far


def _mitred(at: Point, u: Point, v: Point, far: float) -> Point:
    x, y = u[0] + v[0], u[1] + v[1]
    along = max((x * x + y * y) / 2, 2 / MOST_MITRE**2)
    return at[0] + x / along * far, at[1] + y / along * far


@dataclass(frozen=True, slots=True)
class Tags:
    """The tags of penetrations not sealed, and how many found no room."""

    placed: tuple[TagOnLeader, ...]
    left_out: int


def place_tags(installed: InstalledToDraw, frame: Frame, room: Room) -> Tags:
    """A tag on a leader for each unsealed penetration, one for a row of them; the longest rows first."""
    found, left_out = [], 0
    unsealed = [pipe for pipe in installed.penetrations if pipe.state == NOT_SEALED]
    for run in sorted(_rows(unsealed, frame), key=len, reverse=True):
        words = run[0].tag
        if len(run) > 1:
            words = tr("{tag} to {number}", tag=words, number=f"{_number(run[-1].tag):02d}")
        leader = None
        for pipe in (run[0], run[-1], run[len(run) // 2]):
            leader = leader or place_leader(room, words, frame.point(pipe.at), _edge(pipe, frame))
        if leader:
            found.append(TagOnLeader(words, leader))
        else:
            left_out += len(run)
    return Tags(tuple(found), left_out)


def _rows(pipes: Sequence[PenetrationToDraw], frame: Frame) -> list[list[PenetrationToDraw]]:
    """In tag order; those that follow on each other close by are one row."""
    rows: list[list[PenetrationToDraw]] = []
    for pipe in sorted(pipes, key=lambda pipe: (len(pipe.tag), pipe.tag)):
        last = rows[-1][-1] if rows else None
        follows = last is not None and _number(pipe.tag) == _number(last.tag) + 1
        if last and follows and math.dist(frame.point(last.at), frame.point(pipe.at)) <= NEAR:
            rows[-1].append(pipe)
        else:
            rows.append([pipe])
    return rows


def _number(tag: str) -> int:
    """7 of B-P07; -1 for a tag that ends in no number, which follows nothing."""
    digits = tag[len(tag.rstrip("0123456789")) :]
    return int(digits) if digits else -1


def _edge(pipe: PenetrationToDraw, frame: Frame) -> Callable[[float, float], float]:
    far = max(reach(pipe.outline) * frame.units_per_nm * 1.3, LEAST_ARM)
    return lambda dx, dy: far


def _name(seam: SeamToDraw, frame: Frame, room: Room) -> LineName | None:
    """The seam's tag written along it, in the middle where it can be; None where every place is taken."""
    points = [frame.point(at) for at in seam.path]
    half = (NAME_LETTER * len(seam.tag) + 4) / 2
    free = []
    for part in WHERE:
        (x, y), turn = _along(points, part)
        cos, sin = abs(math.cos(math.radians(turn))), abs(math.sin(math.radians(turn)))
        wide, tall = half * cos + NAME_TALL / 2 * sin, half * sin + NAME_TALL / 2 * cos
        box = room.cells(x - wide, y - tall, x + wide, y + tall)
        if box and not (room.box_meets(box, room.taken) or room.box_meets(box, room.marks)):
            free.append((box, LineName(seam.tag, round(x, 1), round(y, 1), round(turn))))
    if not free:
        return None
    box, name = next((one for one in free if not room.box_meets(one[0], room.small)), free[0])
    room.take(box, room.taken)
    return name


def _along(points: Sequence[Point], part: float) -> tuple[Point, float]:
    """The place at this part of a line's length, and how words along it are turned to be read upright."""
    lengths = [math.dist(a, b) for a, b in pairwise(points)]
    rest = sum(lengths) * part
    for (a, b), length in zip(pairwise(points), lengths, strict=True):
        if rest <= length and length:
            t = rest / length
            turn = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
            turn = turn - 180 if turn > 90 else turn + 180 if turn <= -90 else turn
            return (a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t), -90 if turn > 89.5 else turn
        rest -= length
    return points[-1], 0.0
