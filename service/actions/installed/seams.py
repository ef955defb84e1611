"""Draw seams, walk one with measured laps, mark what is found at fault on it, and take one back."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlmodel import Session

from service.actions.frame import late
from service.actions.frame.desk import Desk
from service.actions.frame.doing import record, words, zone_to_change
from service.actions.frame.reading import ZoneView, view_with
from service.actions.installed.seam_entry import LEFT, Copies, Run, WalkEntry, read_seam, read_walk
from service.domain.gate.installed_facts import seam_facts
from service.domain.gate.zone_facts import marks_in_zone, nm_per_px
from service.domain.installed.seams import (
    MARK_KIND,
    SHORT_LAP,
    WIDER_THAN_ROLL,
    check_path,
    lap_possible,
    length_nm,
    place_along,
    run_marks,
    short_runs,
)
from service.domain.nouns import roles
from service.domain.nouns.installed import Px, Seam, SeamRun, Station
from service.domain.nouns.site import Defect, Site
from service.domain.patches.repair import NOT_SEALED, OPEN, SEALED, WITHDRAWN, Numbers
from service.domain.rule_sheet.effective import films_laid, sheet_in
from service.domain.shapes.ground import path_reaches_into
from service.domain.shapes.nearby import Placed, within
from service.domain.shapes.outlines import Outline, Slit
from service.domain.sketch.places import to_base
from service.domain.words.measures import SIXTEENTH_NM
from service.domain.words.refusals import BadInput, Conflict, NoScale, NotAllowed
from service.domain.words.speech import tr
from service.history.facts.facts import DefectMarked
from service.history.facts.installed import SeamDrawn, SeamWalked, SeamWithdrawn
from service.history.replay.standing import standing_of
from service.storage.history.seen import SeenZone, seam_seen_by

MILLI = 1000


@dataclass(frozen=True, slots=True)
class SeamJudged:
    """A walked seam: its faults, the marks made for it, and the marks that stood for a run before."""

    seam: Seam
    faults: tuple[str, ...]
    marked: tuple[Defect, ...]
    stood: tuple[Defect, ...]


@dataclass(frozen=True, slots=True)
class SeamStand:
    """A seam as it stands. `state`: open (nobody walked it), not sealed, sealed, withdrawn."""

    seam: Seam
    state: str
    faults: tuple[str, ...]
    long_nm: int


def seams_standing(view: ZoneView) -> list[SeamStand]:
    """Every seam of the zone, withdrawn ones too, in tag order; NoScale where nothing has a length."""
    if view.seen.sketch.scale is None:
        raise NoScale
    per_px, numbers = nm_per_px(view.seen.sketch.scale), Numbers.of(view.seen.project.sheet)
    marks = marks_in_zone(view.site, view.zone, per_px)
    judged = {told.id: told.faults for told in seam_facts(view.site, view.zone, per_px, numbers, marks)}
    return [
        SeamStand(seam, _state(seam, judged), judged.get(seam.id, ()), round(length_nm(seam.path, per_px)))
        for seam in view.seams()
    ]


def _state(seam: Seam, judged: Mapping[str, tuple[str, ...]]) -> str:
    if seam.withdrawn is not None:
        return WITHDRAWN
    if seam.walk is None:
        return OPEN
    return NOT_SEALED if judged[seam.id] else SEALED


def seam_view(desk: Desk, by: str, seam_id: str) -> tuple[ZoneView, Seam]:
    """A seam within its zone."""
    view = view_with(desk, by, seam_seen_by, seam_id)
    return view, view.site.seams[seam_id]


# --- drawing ---------------------------------------------------------------------------------------------


def draw_seams(desk: Desk, by: str, zone_id: str, given: Mapping[str, Any]) -> list[Seam]:
    """One seam, or several side by side; each gets its tag at once, and it is never given again."""
    with desk.writing() as session:
        seen, site = zone_to_change(session, by, zone_id, "draw a seam")
        if seen.sketch.scale is None:
            raise NoScale
        entry = read_seam(given)
        first = tuple(to_base(seen.sketch, point, "path") for point in entry.path)
        per_px = nm_per_px(seen.sketch.scale)
        drawn = []
        for path in (first, *_beside(first, entry.copies, per_px)):
            _check(path, seen, copy=path is not first)
            home = site.zones[zone_id]
            tag = f"{home.letter}-S{home.seams + 1:02d}"
            fact = SeamDrawn(desk.new_id(), seen.sketch.id, zone_id, tag, entry.kind, path, entry.note)
            record(desk, session, site, by, seen.role, fact)
            drawn.append(site.seams[fact.seam])
    return drawn


def _check(path: Sequence[Px], seen: SeenZone, *, copy: bool) -> None:
    try:
        check_path(path)
    except ValueError as bad:
        raise BadInput(str(bad), fields={"path": str(bad)}, code="no-such-seam") from None
    if not path_reaches_into(path, seen.zone.outline):
        letter = seen.zone.letter
        told = tr("That seam lies outside zone {letter}. Press its ends again.", letter=letter)
        if copy:
            told = tr("Not all of them lie in zone {letter}. Draw fewer, or nearer together.", letter=letter)
        raise BadInput(told, fields={"copies.count" if copy else "path": told}, code="outside-zone")


def _beside(path: Sequence[Px], copies: Copies | None, per_px: float) -> list[tuple[Px, ...]]:
    """The further seams: the path moved square to the line from its start to its end."""
    if copies is None:
        return []
    (x0, y0), (x1, y1) = path[0], path[-1]
    long = math.hypot(x1 - x0, y1 - y0)
    if not long:
        return []
    apart = copies.spacing_nm / per_px * MILLI / long * (-1 if copies.side == LEFT else 1)
    moves = [(-(y1 - y0) * apart * n, (x1 - x0) * apart * n) for n in range(1, copies.count + 1)]
    return [tuple((round(x + dx), round(y + dy)) for x, y in path) for dx, dy in moves]


# --- walking ---------------------------------------------------------------------------------------------


def walk_seam(desk: Desk, by: str, seam_id: str, given: Mapping[str, Any]) -> SeamJudged:
    """Record a walk of the seam. Every run at fault, told or measured, becomes a mark in the same stroke."""
    with desk.writing() as session:
        _, seam = seam_seen_by(session, by, seam_id)
        seen, site = zone_to_change(session, by, seam.zone_id, "walk a seam")
        seam = _standing(site.seams[seam_id])
        assert seen.sketch.scale is not None, "a seam lies on a sketch with a scale"
        per_px, numbers = nm_per_px(seen.sketch.scale), Numbers.of(sheet_in(site, seen.zone))
        entry = read_walk(given)
        late.check_thing(desk, session, site, by, {seam.tag}, (SeamWalked,))
        stations = _stations(site, seen, seam, entry, per_px)
        marking = _Marking(desk, session, site, seen, by, [], [])
        runs = [
            made
            for run in _runs(seam, entry, stations, numbers, per_px)
            for made in marking.run(seam, run, per_px)
        ]
        walk = SeamWalked(
            desk.new_id(), seam_id, seam.zone_id, seam.tag, stations, tuple(runs), entry.taped, entry.bonded,
            entry.work,
        )  # fmt: skip
        record(desk, session, site, by, seen.role, walk)
        home = site.zones[seam.zone_id]
        judged = seam_facts(site, home, per_px, numbers, marks_in_zone(site, home, per_px))
    faults = next(facts.faults for facts in judged if facts.id == seam_id)
    stood = tuple({mark.id: mark for mark in marking.stood}.values())
    return SeamJudged(site.seams[seam_id], faults, tuple(marking.made), stood)


def _standing(seam: Seam) -> Seam:
    if seam.withdrawn is not None:
        told = tr("{tag} was withdrawn: {reason}. Nothing was recorded.", tag=seam.tag, reason=seam.withdrawn)
        raise Conflict(told, code="seam-withdrawn")
    return seam


def _stations(site: Site, seen: SeenZone, seam: Seam, entry: WalkEntry, per_px: float) -> tuple[Station, ...]:
    widths = [f.roll_width_nm for f in films_laid(site, seen.zone) if f.roll_width_nm is not None]
    found, faults, code = [], {}, ""
    for number, reading in enumerate(entry.readings):
        if widths and not lap_possible(reading.lap_nm, max(widths)):
            faults[f"stations.{number}.lap"] = tr(WIDER_THAN_ROLL)
            code = "lap-wider-than-roll"
        try:
            found.append(Station(place_along(seam.path, reading.along_nm, per_px), reading.lap_nm))
        except ValueError as bad:
            faults[f"stations.{number}.at"] = str(bad)
    for number, run in enumerate(entry.runs):
        try:
            place_along(seam.path, run.to_nm, per_px)
        except ValueError as bad:
            faults[f"runs.{number}.to"] = str(bad)
    if faults:
        told = " ".join(dict.fromkeys(faults.values()))
        raise BadInput(told, fields=faults, code=code if len(faults) == 1 and code else None)
    return tuple(found)


def _runs(
    seam: Seam, entry: WalkEntry, stations: Sequence[Station], numbers: Numbers, per_px: float
) -> list[Run]:
    """The runs told, and those that the readings show and nobody told."""
    told = [(run.from_nm, run.to_nm) for run in entry.runs if run.fault == SHORT_LAP]
    measured = [
        Run(SHORT_LAP, start, end, 0)
        for start, end in short_runs(seam.path, stations, numbers, per_px)
        if not any(a <= start and end <= b for a, b in told)
    ]
    return [*entry.runs, *measured]


@dataclass(slots=True)
class _Marking:
    """Makes marks for runs in the open transaction. `stood`: marks that stood for a run before."""

    desk: Desk
    session: Session
    site: Site
    seen: SeenZone
    by: str
    made: list[Defect]
    stood: list[Defect]

    def run(self, seam: Seam, run: Run, per_px: float) -> list[SeamRun]:
        """One run for each straight piece of the seam, because each is a mark of its own."""
        kind, start = MARK_KIND[run.fault], run.from_nm
        made = []
        for outline, at in run_marks(seam.path, run.from_nm, run.to_nm, run.opening_nm, per_px):
            assert isinstance(outline, Slit), "a run is marked as a slit"
            there = self._there_already(kind, outline, at, per_px)
            if there is not None:
                self.stood.append(there)
            mark = there or self._mark(kind, outline, at, f"{run.fault} on {seam.tag}")
            end = start + outline.length_nm
            a, b = (place_along(seam.path, nm, per_px) for nm in (start, end))
            made.append(SeamRun(run.fault, a, b, mark.id))
            start = end
        return made

    def _there_already(self, kind: str, outline: Slit, at: Px, per_px: float) -> Defect | None:
        """A standing mark of this kind that both ends of the run lie on, and that still speaks for it."""
        marks = [
            mark
            for mark in self.site.defects.values()
            if mark.kind == kind and mark.withdrawn is None and mark.sketch_id == self.seen.sketch.id
        ]
        if not marks:
            return None
        half = outline.length_nm / 2 / per_px * MILLI
        turn = math.radians(outline.angle_udeg / 1e6)
        dx, dy = half * math.cos(turn), half * math.sin(turn)
        ends = [
            Placed(name, Slit(0), (round(at[0] + way * dx), round(at[1] + way * dy)))
            for name, way in (("start", -1), ("end", 1))
        ]
        near = within(ends, [Placed(m.id, m.outline, m.at) for m in marks], per_px, 2 * SIXTEENTH_NM)
        both = set(near.get("start", ())) & set(near.get("end", ()))
        return next((mark for mark in marks if mark.id in both and not self._mended_before(mark)), None)

    def _mended_before(self, mark: Defect) -> bool:
        """True where a repair, and no film laid over, mended the mark: the fault found now came after it."""
        verdict = standing_of(self.site, self.seen.zone.id).verdicts.get(mark.id)
        if verdict is None or verdict.state != SEALED:
            return False
        return verdict.overlap is None or not verdict.overlap.meets

    def _mark(self, kind: str, outline: Outline, at: Px, note: str) -> Defect:
        home = self.site.zones[self.seen.zone.id]
        tag = f"{home.letter}-{home.marks + 1:02d}"
        fact = DefectMarked(self.desk.new_id(), self.seen.sketch.id, home.id, tag, kind, at, outline, note)
        record(self.desk, self.session, self.site, self.by, self.seen.role, fact)
        self.made.append(self.site.defects[fact.defect])
        return self.site.defects[fact.defect]


# --- taking back -----------------------------------------------------------------------------------------


def withdraw_seam(desk: Desk, by: str, seam_id: str, reason: str) -> Seam:
    """Drawn by mistake: the seam stays in the history with its reason, and its marks stay."""
    reason = words(reason, "reason", needed=tr("Say why the seam is withdrawn."))
    with desk.writing() as session:
        _, seam = seam_seen_by(session, by, seam_id)
        seen, site = zone_to_change(session, by, seam.zone_id, "withdraw a seam")
        seam = site.seams[seam_id]
        if seam.withdrawn is not None:
            raise Conflict(tr("{tag} is withdrawn already.", tag=seam.tag), code="withdrawn-already")
        allow_withdrawing(seen.role, by, seam)
        record(desk, session, site, by, seen.role, SeamWithdrawn(seam_id, seam.zone_id, seam.tag, reason))
    return site.seams[seam_id]


def allow_withdrawing(role: str, by: str, seam: Seam) -> None:
    """Who drew it, or the project manager. NotAllowed."""
    may = roles.may(role, "withdraw a seam")
    if not (may and roles.may_withdraw(role, by, seam.signed.by, seam.signed.role)):
        raise NotAllowed(tr("A seam is withdrawn by whoever drew it, or by the project manager."))
