"""How a zone's seams stand, in the crew's words: rows of schedules, verdicts, the drawing of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from service.actions.frame.reading import ZoneView
from service.actions.installed.seams import SeamStand
from service.domain.installed.seams import FAULT_WORDS
from service.domain.nouns.site import Defect
from service.domain.patches.repair import NOT_SEALED, OPEN, SEALED, WITHDRAWN
from service.domain.words.measures import NM_PER_M, Units, say_distance, say_length, say_run
from service.domain.words.speech import later, tr, trn
from service.web.drawings.drawing import NOTHING, ScheduleRow, ZoneDrawing
from service.web.drawings.installed_shown import installed_shown
from service.web.drawings.shown import Shown
from service.web.drawings.zone_drawing import draw_zone
from service.web.shared.crew_words import starting

RUN_UNIT: dict[Units, str] = {"us": "ft", "metric": "m"}
NOT_WALKED, AT_FAULT = later("not walked"), later("does not hold")
MARKS_OPEN, HOLDS = later("marks open"), later("holds")
_ORDER = (NOT_WALKED, AT_FAULT, MARKS_OPEN, HOLDS)


def open_marks(view: ZoneView, of: SeamStand) -> list[Defect]:
    """The marks of the seam's last walk that stand and are not sealed, in tag order."""
    walk = of.seam.walk
    ids = {run.mark for run in walk.runs} if walk else set()
    marks = (view.site.defects[mark] for mark in ids if mark in view.site.defects)
    left = [mark for mark in marks if view.verdict(mark).state in (OPEN, NOT_SEALED)]
    return sorted(left, key=lambda mark: (len(mark.tag), mark.tag))


def stands_word(view: ZoneView, of: SeamStand) -> str:
    """One word for how it stands; empty for one withdrawn."""
    if of.state == SEALED:
        return MARKS_OPEN if open_marks(view, of) else HOLDS
    return {OPEN: NOT_WALKED, NOT_SEALED: AT_FAULT}.get(of.state, "")


def rows(view: ZoneView, told: Iterable[SeamStand]) -> tuple[ScheduleRow, ...]:
    """Standing seams as rows: not walked first, then at fault, then in order; by tag among themselves."""
    standing = [(stands_word(view, of), of) for of in told if of.state != WITHDRAWN]
    standing.sort(key=lambda each: _ORDER.index(each[0]))
    return tuple(_row(view, word, of) for word, of in standing)


def withdrawn_rows(view: ZoneView, told: Iterable[SeamStand]) -> tuple[ScheduleRow, ...]:
    return tuple(_row(view, "", of) for of in told if of.state == WITHDRAWN)


def _row(view: ZoneView, word: str, of: SeamStand) -> ScheduleRow:
    units = view.seen.project.units
    kind = {HOLDS: "sealed", NOT_WALKED: "open", "": "withdrawn"}.get(word, "not-sealed")
    if of.state == WITHDRAWN:
        sub = tr("Withdrawn: {reason}", reason=of.seam.withdrawn)
    else:
        sub = " · ".join(filter(None, (least_lap(of, units), against(view, of))))
    return ScheduleRow(
        of.seam.tag, what(of, units), sub, way=tr(word), href=f"/seams/{of.seam.id}", kind=kind
    )


def what(of: SeamStand, units: Units) -> str:
    """`Side lap, 60 ft`."""
    return f"{starting(tr(of.seam.kind))}, {say_distance(of.long_nm, units)}"


def least_lap(of: SeamStand, units: Units) -> str:
    """The least lap of its last walk, rounded down; empty before there is one."""
    laps = [station.lap_nm for station in of.seam.walk.stations] if of.seam.walk else []
    return tr("least lap {lap}", lap=say_length(min(laps), units, "down")) if laps else ""


def against(view: ZoneView, of: SeamStand) -> str:
    """Everything that stands against it, in one line; empty where it holds."""
    if of.state == OPEN:
        return ""
    told = [tr(FAULT_WORDS[code]) for code in of.faults]
    left = open_marks(view, of)
    if left:
        told.append(tr("to mend: {tags}", tags=", ".join(mark.tag for mark in left)))
    return "; ".join(told)


def verdict_words(view: ZoneView, of: SeamStand) -> tuple[str, str, str]:
    """One seam's verdict: the sentence, why, and its kind."""
    tag, word = of.seam.tag, stands_word(view, of)
    if of.state == WITHDRAWN:
        return tr("{tag} is withdrawn", tag=tag), of.seam.withdrawn or "", "stop"
    if word == NOT_WALKED:
        told = tr("Measure its laps, look along its tape, and log the walk.")
        return tr("{tag} is not walked", tag=tag), told, "short"
    told = f"{starting(against(view, of))}."
    if word == MARKS_OPEN:
        return tr("{tag} holds but for its marks", tag=tag), told, "short"
    if word == AT_FAULT:
        return tr("{tag} does not hold", tag=tag), told, "short"
    return tr("{tag} holds", tag=tag), "", "holds"


def summary(view: ZoneView, told: Sequence[SeamStand]) -> tuple[str, str, str]:
    """How all the zone's seams stand: the sentence, the quieter line, and the kind of verdict."""
    words = [stands_word(view, of) for of in told if of.state != WITHDRAWN]
    count = {word: words.count(word) for word in _ORDER}
    left = [trn("{n} not walked", "{n} not walked", count[NOT_WALKED])] if count[NOT_WALKED] else []
    left += [trn("{n} at fault", "{n} at fault", count[AT_FAULT])] if count[AT_FAULT] else []
    left += (
        [trn("{n} with marks open", "{n} with marks open", count[MARKS_OPEN])] if count[MARKS_OPEN] else []
    )
    if left:
        sentence = trn("{n} seam: {stand}", "{n} seams: {stand}", len(words), stand=", ".join(left))
        return sentence, "", "short"
    if words:
        return trn("{n} seam, walked and in order", "{n} seams, walked and in order", len(words)), "", "holds"
    if "seams" in view.zone.none_here:
        return tr("It is stated that zone {letter} has none", letter=view.zone.letter), "", "holds"
    return tr("None drawn"), tr("Nobody stated that there are none, either."), ""


def not_asked(view: ZoneView) -> str:
    """What is said where this project's gate does not ask for its seams."""
    if "seams" in view.seen.project.sheet.gate_demands:
        return ""
    return tr("Not asked for on this project: its zones may be released with seams not walked or at fault.")


def drawing(view: ZoneView, label: str, only: str = "") -> ZoneDrawing | None:
    """The zone with its seams and nothing else. `only`: the tag of the one seam drawn; None where there is
    none to draw."""
    shown = Shown(view.seen.sketch)
    drawn = [seam for seam in installed_shown(view, shown).seams if seam.tag == (only or seam.tag)]
    if not drawn:
        return None
    return draw_zone(
        shown.ring(view.zone.outline),
        shown.nm_per_px,
        kind="clear",
        label=label,
        grid=shown.grid(),
        walls=shown.walls(view.site.walls.values()),
        installed=replace(NOTHING, seams=tuple(drawn)),
    )


def say_way(nm: float, units: Units) -> str:
    """A way along a seam as it is typed and read back: `5 ft`, `14 ft 6 1/2 in`, `1.52 m`."""
    whole = round(nm)
    if units == "us":
        return say_run(whole, units).replace(",", "")
    return f"{round(whole / NM_PER_M, 3):g} m"
