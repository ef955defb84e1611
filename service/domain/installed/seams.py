"""Seams: places along the line, what a walk of it finds, the marks and cover strips that come of that."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import shapely

from service.domain.nouns.installed import Px, Seam, SeamWalk, Station
from service.domain.patches.repair import Numbers
from service.domain.shapes.film import damage_radius, damage_region
from service.domain.shapes.outlines import Outline, Slit, into_half_turn, reach_nm
from service.domain.words.measures import SIXTEENTH_NM, TOLERANCE_NM
from service.domain.words.speech import later, tr, trn

SHORT_LAP, UNTAPED, UNBONDED, FISHMOUTH = "short lap", later("untaped"), later("unbonded"), later("fishmouth")
FAULTS = (SHORT_LAP, UNTAPED, UNBONDED, FISHMOUTH)
# The kind of defect that a run at fault is marked as. A fishmouth is tape that stands off along its edge.
MARK_KIND = {
    SHORT_LAP: "short lap",
    UNTAPED: "open seam",
    UNBONDED: "unbonded tape",
    FISHMOUTH: "unbonded tape",
}

# Why a seam is not whole: each as a clause after the seam's tag.
FAULT_WORDS = {
    "not-walked": later("nobody has walked it with a tape measure"),
    "no-stations": later("no lap was measured on its walk"),
    "stations-far-apart": later("the laps were measured farther apart than the rule sheet asks"),
    "lap-short": later("a measured lap is under the least lap, and no sealed mark lies over that place"),
    "not-taped": later("it is not taped from end to end"),
    "not-bonded": later("its tape is not bonded from end to end"),
    "tape-narrow": later("the tape is narrower than the rule sheet asks"),
    "not-cleaned": later("the film was not cleaned"),
    "not-dry": later("the film was not dry"),
    "too-cold": later("the film was colder than the rule sheet asks for tape"),
    "run-not-marked": later("the mark of a run at fault stands no longer: walk the seam again"),
}
WIDER_THAN_ROLL = later("A lap cannot be wider than the roll the film comes on. Measure it again.")

MOST_POINTS = 60
# More readings than this are not suggested on one seam, however close together the sheet asks for them.
MOST_STATIONS = 500
MILLI = 1000  # positions are thousandths of a pixel
# A place pressed on a sketch counts as under a mark within this part of a pixel of its outline.
UNDER_PX = 1 / 16


@dataclass(frozen=True, slots=True)
class CoverStrip:
    """A piece of film to lay along a run at fault: nanometres along the seam, and across it."""

    length_nm: int
    width_nm: int


def check_path(path: Sequence[Px]) -> None:
    """Nothing when these points (thousandths of a pixel) can be a seam; ValueError with a plain sentence."""
    if len(set(path)) < 2:
        raise ValueError(tr("A seam needs at least two different points."))
    if len(path) > MOST_POINTS:
        told = trn(
            "A seam has at most {n} point: draw it as two.",
            "A seam has at most {n} points: draw it as two.",
            MOST_POINTS,
        )
        raise ValueError(told)
    if path[0] == path[-1]:
        raise ValueError(tr("The seam ends where it starts: draw it as two."))
    if not shapely.LineString(path).is_simple:
        raise ValueError(tr("The seam doubles back on itself or crosses itself: draw it as two."))


def length_nm(path: Sequence[Px], nm_per_px: float) -> float:
    """How long the seam is, in float nanometres; `nm_per_px` is nanometres of ground under one pixel."""
    return _milestones(path, nm_per_px)[-1]


def _milestones(path: Sequence[Px], nm_per_px: float) -> list[float]:
    """How far along the seam each of its points lies, in nanometres."""
    found = [0.0]
    for a, b in pairwise(path):
        found.append(found[-1] + math.dist(a, b) * nm_per_px / MILLI)
    return found


def place_along(path: Sequence[Px], distance_nm: float, nm_per_px: float) -> Px:
    """The place so many nanometres from the seam's start, to the thousandth of a pixel.

    ValueError more than 1/16 in before the start or past the end; nearer than that it is the end itself.
    """
    miles = _milestones(path, nm_per_px)
    along = _within(distance_nm, miles[-1])
    for (start, end), (a, b) in zip(pairwise(miles), pairwise(path), strict=True):
        if along <= end and end > start:
            part = (along - start) / (end - start)
            return round(a[0] + part * (b[0] - a[0])), round(a[1] + part * (b[1] - a[1]))
    return path[-1]


def _within(distance_nm: float, length: float) -> float:
    if not distance_nm >= -SIXTEENTH_NM:
        raise ValueError(
            tr("A place on a seam is measured from its start: write a length of nothing or more.")
        )
    if not distance_nm <= length + SIXTEENTH_NM:
        raise ValueError(tr("That is past the end of the seam."))
    return min(max(float(distance_nm), 0.0), length)


def distance_along(path: Sequence[Px], at: Px, nm_per_px: float) -> float:
    """How far from its start, in float nanometres, the seam comes nearest to this place."""
    done, best = 0.0, (math.inf, 0.0)
    for a, b in pairwise(path):
        dx, dy, part = b[0] - a[0], b[1] - a[1], math.dist(a, b)
        if part:
            t = min(max(((at[0] - a[0]) * dx + (at[1] - a[1]) * dy) / (part * part), 0.0), 1.0)
            best = min(best, (math.dist(at, (a[0] + t * dx, a[1] + t * dy)), done + t * part))
        done += part
    return best[1] * nm_per_px / MILLI


def suggested_stations(path: Sequence[Px], nm_per_px: float, every_nm: int) -> tuple[int, ...]:
    """Where to measure, in nanometres from the start: evenly, half a spacing in from each end.

    No two are farther apart than `every_nm`, nor is an end from its nearest; 0 asks for the middle alone.
    Past 500 of them they lie farther apart, and the walk is judged so.
    """
    length = length_nm(path, nm_per_px)
    parts = math.ceil((length - TOLERANCE_NM) / every_nm) if every_nm > 0 else 1
    count = min(max(parts, 1), MOST_STATIONS)
    return tuple(round(length * (2 * i + 1) / (2 * count)) for i in range(count))


def run_marks(
    path: Sequence[Px], start_nm: float, end_nm: float, opening_nm: int, nm_per_px: float
) -> tuple[tuple[Outline, Px], ...]:
    """The marks that a run at fault becomes: a slit for each straight piece of it, placed at its middle.

    They meet at the corners and together are as long as the run. ValueError for a run that is none.
    """
    miles = _milestones(path, nm_per_px)
    start, end = (round(_within(nm, miles[-1])) for nm in (start_nm, end_nm))
    if start >= end or opening_nm < 0:
        raise ValueError(tr("A run goes from one place of the seam to another farther on."))
    marks: list[tuple[Outline, Px]] = []
    for (low, high), (a, b) in zip(pairwise(miles), pairwise(path), strict=True):
        first, last = max(start, round(low)), min(end, round(high))
        if last > first:
            middle = place_along(path, (first + last) / 2, nm_per_px)
            marks.append((Slit(last - first, opening_nm, _direction(a, b)), middle))
    return tuple(marks)


def _direction(a: Px, b: Px) -> int:
    """Which way a line runs, in micro-degrees clockwise on the sketch (y down), in (-90, 90] degrees."""
    return into_half_turn(round(math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) * 1_000_000))


def cover_strip(run_nm: int, opening_nm: int, overlap_nm: int, allowance_nm: int = 0) -> CoverStrip:
    """The strip to cut for a straight run: past it by the overlap on both sheets and at both ends.

    `allowance_nm` is added on every side for placing. Damage a by b asks for a + 2o by b + 2o: arithmetic of
    "beyond the damage on every side" (ASTM E1643 section 8, from memory, not verified).
    """
    more = 2 * (overlap_nm + allowance_nm)
    return CoverStrip(run_nm + more, opening_nm + more)


def walk_findings(stations: Sequence[Station], numbers: Numbers) -> tuple[int, ...]:
    """Which of the readings, by index, are short of the least lap. Exactly the least is enough."""
    return tuple(i for i, station in enumerate(stations) if station.lap_nm < numbers.lap_nm)


def short_runs(
    path: Sequence[Px], stations: Sequence[Station], numbers: Numbers, nm_per_px: float
) -> tuple[tuple[int, int], ...]:
    """(start, end) in nanometres of each run to mark as short, in order along the seam.

    Nobody knows where between two readings a lap falls short: a run reaches to the nearest good reading on
    either side, or to the seam's end. Of two readings at one place (1/16 in) the short one counts.
    """
    at = [distance_along(path, station.at, nm_per_px) for station in stations]
    short = sorted(at[i] for i in walk_findings(stations, numbers))
    good = [
        d
        for d, station in zip(at, stations, strict=True)
        if station.lap_nm >= numbers.lap_nm and all(abs(d - s) > SIXTEENTH_NM for s in short)
    ]
    length = length_nm(path, nm_per_px)
    runs = (
        (max((g for g in good if g < s), default=0.0), min((g for g in good if g > s), default=length))
        for s in short
    )
    return tuple(dict.fromkeys((round(start), round(end)) for start, end in runs))


def seam_faults(
    seam: Seam,
    numbers: Numbers,
    nm_per_px: float,
    sealed: Sequence[tuple[Outline, Px]],
    standing: Collection[str] = (),
) -> tuple[str, ...]:
    """Why this seam is not whole, as codes of FAULT_WORDS; empty when it is.

    `sealed`: outlines and places of this sketch's marks judged sealed. `standing`: ids of marks that stand.
    A run at fault holds as its own mark; where that mark was withdrawn nothing speaks for the run any more.
    """
    walk = seam.walk
    if walk is None:
        return ("not-walked",)
    checks = (
        (bool(walk.stations), "no-stations"),
        (not _far_apart(seam.path, walk.stations, numbers, nm_per_px), "stations-far-apart"),
        (not _lap_short(walk.stations, numbers, nm_per_px, sealed), "lap-short"),
        *_workmanship(walk, numbers),
        (all(run.mark in standing for run in walk.runs), "run-not-marked"),
    )
    return tuple(fault for holds, fault in checks if not holds)


def _workmanship(walk: SeamWalk, numbers: Numbers) -> tuple[tuple[bool, str], ...]:
    work = walk.work
    return (
        (walk.taped, "not-taped"),
        (walk.bonded, "not-bonded"),
        (work.tape_width_nm >= numbers.tape_width_nm, "tape-narrow"),
        (work.cleaned, "not-cleaned"),
        (work.dry, "not-dry"),
        (work.film_mf is None or work.film_mf >= numbers.tape_mf, "too-cold"),
    )


def _far_apart(path: Sequence[Px], stations: Sequence[Station], numbers: Numbers, nm_per_px: float) -> bool:
    """Whether a stretch of the seam longer than the spacing asked for has no reading in it."""
    if not stations or not numbers.station_every_nm:
        return False
    at = sorted(distance_along(path, station.at, nm_per_px) for station in stations)
    gaps = (b - a for a, b in pairwise((0.0, *at, length_nm(path, nm_per_px))))
    # Places are kept to the thousandth of a pixel: two of them may be off by its diagonal together.
    grain = math.sqrt(2) * nm_per_px / MILLI
    return max(gaps) > numbers.station_every_nm + TOLERANCE_NM + grain


def _lap_short(
    stations: Sequence[Station], numbers: Numbers, nm_per_px: float, sealed: Sequence[tuple[Outline, Px]]
) -> bool:
    short = [stations[i].at for i in walk_findings(stations, numbers)]
    return not all(any(_under(place, *mark, nm_per_px) for mark in sealed) for place in short)


def _under(place: Px, outline: Outline, at: Px, nm_per_px: float) -> bool:
    """Whether the place lies within 1/16 px of a mark's outline or inside it."""
    scale, near = nm_per_px / MILLI, nm_per_px * UNDER_PX
    x, y = (place[0] - at[0]) * scale, (place[1] - at[1]) * scale
    # Asked of every sealed mark of a sketch: the cheap test first.
    if math.hypot(x, y) > reach_nm(outline) + near:
        return False
    region = damage_region(outline)
    return bool(shapely.dwithin(region, shapely.Point(x, y), damage_radius(outline) + near))


def lap_possible(lap_nm: int, roll_width_nm: int) -> bool:
    """Whether a lap can read this: no film laps farther than its roll is wide (WIDER_THAN_ROLL)."""
    return 0 <= lap_nm <= roll_width_nm


def seams_across(outline: Outline, at: Px, seams: Sequence[Seam], nm_per_px: float) -> tuple[str, ...]:
    """Tags of the standing seams that the damage lies across; just touching the line counts.

    The seams are those of the damage's sketch.
    """
    standing = [seam for seam in seams if seam.withdrawn is None]
    lines = _lines(tuple(seam.path for seam in standing))
    scale = MILLI / nm_per_px
    region = shapely.transform(damage_region(outline), lambda points: points * scale + at)
    met = lines.query(region, predicate="dwithin", distance=(damage_radius(outline) + TOLERANCE_NM) * scale)
    return tuple(standing[i].tag for i in sorted(met))


@lru_cache(maxsize=64)
def _lines(paths: tuple[tuple[Px, ...], ...]) -> shapely.STRtree:
    """The lines of a sketch's seams, to be asked about one mark after another."""
    return shapely.STRtree([shapely.LineString(path) for path in paths])
