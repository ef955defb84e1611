"""The crew's words and drawings of zones and marks: rows of schedules, summaries, the drawing of a zone."""

from __future__ import annotations

from collections.abc import Iterable

from service.actions.frame.reading import ZoneView
from service.domain.gate.gate import Blocker
from service.domain.gate.mark_facts import patches_by_mark
from service.domain.gate.wording import say_blocker, say_cut, say_state
from service.domain.nouns.rules import RuleSheet
from service.domain.nouns.site import OTHER_REPAIR, Defect, Patch, Zone
from service.domain.patches.repair import COVERED, NOT_SEALED, OPEN, SEALED
from service.domain.shapes.outline_texts import say_outline
from service.domain.shapes.outlines import Outline, Point, Sides, cut_size
from service.domain.shapes.sides import sides_as_rectangle
from service.domain.sketch.zones import area_m2
from service.domain.words.measures import Units, say_area, say_length
from service.domain.words.names import hold_cause, mark_state, zone_state
from service.domain.words.speech import later, tr, trc, trn
from service.history.replay.standing import PLACED, PLACED_WITHOUT_RELEASE, READY, Standing
from service.web.drawings.drawing import MarkToDraw, ReasonRow, ScheduleRow, ZoneDrawing
from service.web.drawings.installed_shown import installed_shown
from service.web.drawings.shown import Shown, where_words
from service.web.drawings.zone_drawing import MOST_TAGS, draw_zone
from service.web.serving.render import moment
from service.web.shared.placing_words import found_words, since_words
from service.web.shared.zone_installed import installed_words

CAUTION_WALK = later(
    "Wet film is slick, worst on a slope: dry it or walk round it. Keep bar ends and stakes capped or "
    "guarded wherever somebody could fall on them."
)
CAUTION_PATCH = later(
    "Cut away from your body, with a board under the blade so that the film below stays whole. Solvents and "
    "primers: read the maker's sheet, keep air moving, no flame."
)
CAUTION_WEATHER = later(
    "Film in the sun adds to the heat: drink, shade, rest. In wind weigh the edges down at once with sand "
    "bags, never stakes, and keep off the lee edge of a loose sheet."
)
FORM_UNIT: dict[Units, str] = {"us": "in", "metric": "mm"}


def css(state: str) -> str:
    """A zone's or mark's state as the style sheet and the drawings name it."""
    return "ready" if state == READY else state.replace(" ", "-")


def starting(words: str) -> str:
    """The words with a capital first letter."""
    return words[:1].upper() + words[1:]


def tape_length(outline: Outline, sheet: RuleSheet) -> int:
    """Tape for all four edges of the piece as cut, in nanometres."""
    length, width, _ = cut_size(outline, sheet.patch_overlap.nm, sheet.cut_allowance.nm)
    return 2 * (length + width)


def what(defect: Defect, units: Units) -> str:
    """`Tear, 4 by 2 in`."""
    return f"{starting(tr(defect.kind))}, {say_outline(defect.outline, units)}"


COVER_STRIP, PATCH = later("cover strip"), later("patch")
SEAM_KINDS_OF_MARK = ("open seam", "short lap", "unbonded tape")
# What besides film laid over it mends a mark that such film may mend too.
OR_MENDED = {
    "open seam": later("{cut} as a cover strip, or clean, dry and tape the seam"),
    "short lap": later("{cut} as a cover strip, or lap it again and tape it"),
    "unbonded tape": later("{cut} as a cover strip, or take the tape off, clean and tape again"),
    "contamination": later("{cut} as a patch over it, or clean the film"),
}


def need(defect: Defect, sheet: RuleSheet, units: Units) -> str:
    """What mends it: the cut size, or the repair that is not a patch.

    A cover strip is cut as a patch is: past the run by the overlap on both sheets and at both ends
    (`seams.cover_strip`).
    """
    if defect.kind not in COVERED:
        return tr("Not mended by a patch: {mend}", mend=tr(OTHER_REPAIR[defect.kind]))
    cut = say_cut(defect.outline, sheet, units)
    other = OR_MENDED.get(defect.kind)
    return tr(other, cut=cut) if other else cut


def film_word(defect: Defect) -> str:
    """What a piece of film over the mark is called: a patch over damage, a cover strip along a seam."""
    return COVER_STRIP if defect.kind in SEAM_KINDS_OF_MARK else PATCH


def patch_words(defect: Defect, again: bool) -> str:
    """What the button says that logs a piece of film over the mark."""
    if film_word(defect) == COVER_STRIP:
        return tr("Log another cover strip") if again else tr("Log the cover strip")
    return tr("Log another patch") if again else tr("Log the patch")


def patch_outline(patch: Patch, mark: Defect) -> tuple[Outline, Point]:
    """A patch as an outline and its offset from its own mark; a side at a wall ends at the damage."""
    if patch.outline is not None:
        return patch.outline, patch.offset
    assert patch.sides is not None, "a patch has an outline or sides"
    left, right, near, far = (reading or 0 for reading in patch.sides.readings().values())
    return sides_as_rectangle(mark.outline, Sides(left, right, near, far, patch.sides.angle_udeg))


def marks_shown(view: ZoneView, shown: Shown) -> list[tuple[MarkToDraw, str]]:
    """Every standing mark in or reaching into the zone as the drawings take it, with its address."""
    minimum = view.seen.project.sheet.patch_overlap.nm
    standing = [d for d in view.site.defects.values() if d.id in view.standing.verdicts]
    patches = patches_by_mark(view.site.patches.values()) if len(standing) <= MOST_TAGS else {}
    rows = []
    for defect in sorted(standing, key=lambda d: (len(d.tag), d.tag)):
        own = [p for p in patches.get(defect.id, ()) if p.defect_id == defect.id]
        patch, offset = patch_outline(own[-1], defect) if own else (None, (0, 0))
        mark = MarkToDraw(
            tag=defect.tag,
            state=view.verdict(defect).state,
            at=shown.point(defect.at),
            outline=shown.outline(defect.outline),
            needed_nm=minimum if defect.kind in COVERED else 0,
            patch=shown.outline(patch) if patch else None,
            patch_offset=shown.offset(offset),
        )
        rows.append((mark, f"/defects/{defect.id}"))
    return rows


def zone_drawing(view: ZoneView, shown: Shown) -> ZoneDrawing | None:
    """The zone drawn on the server; None with no scale."""
    if not shown.nm_per_px:
        return None
    return draw_zone(
        shown.ring(view.zone.outline),
        shown.nm_per_px,
        tuple(mark for mark, _ in marks_shown(view, shown)),
        kind=css(view.standing.state),
        label=tr(
            "Zone {letter}, {state}: {why}",
            letter=view.zone.letter,
            state=zone_state(view.standing.state),
            why=summary(view.standing),
        ),
        walls=shown.walls(view.site.walls.values()),
        grid=shown.grid(),
        installed=installed_shown(view, shown),
    )


def mark_rows(view: ZoneView, defects: Iterable[Defect], *, stating: bool = False) -> list[ScheduleRow]:
    """One ruled row a mark: tag, what it is, how it stands, what mends it, where it lies.

    `stating`: the state stands at the row's end too, for lists whose heading does not tell it.
    """
    waiting = {blocker.name for blocker in view.standing.blockers if blocker.code == "second-look"}
    return [mark_row(view, defect, stating, defect.tag in waiting) for defect in defects]


def mark_row(view: ZoneView, defect: Defect, stating: bool, waits: bool) -> ScheduleRow:
    """`waits`: it is sealed, and holds the zone until another person has looked at it."""
    sheet, units = view.seen.project.sheet, view.seen.project.units
    verdict = view.verdict(defect)
    where = where_words(view.seen.sketch, defect.at, units)
    if defect.withdrawn is not None:
        told = tr("Withdrawn: {reason}", reason=defect.withdrawn)
    elif verdict.state == SEALED:
        told = starting(say_state(verdict, units))
        told = tr("{state}, waits for a second look", state=told) if waits else told
    elif verdict.state == NOT_SEALED:
        told = f"{starting(say_state(verdict, units))}. {need(defect, sheet, units)}"
    else:
        told = need(defect, sheet, units)
    return ScheduleRow(
        tag=defect.tag,
        main=what(defect, units),
        sub=" · ".join(filter(None, (told, found_words(defect), where))),
        way=mark_state(verdict.state) if stating and defect.withdrawn is None else "",
        href=f"/defects/{defect.id}",
        kind=css(verdict.state),
    )


ZONE_WORDS = {
    "zone-hold": later("on hold: {what}"),
    "no-scale": later("no scale"),
    "not-walked": later("not walked yet"),
    "cannot-be-checked": later("{what} cannot be checked yet"),
}


def summary(standing: Standing) -> str:
    """`3 marks open, 1 not sealed, not walked yet`: what stands against the zone, in one line."""
    if standing.state in (PLACED, PLACED_WITHOUT_RELEASE):
        return tr("concrete is in")
    states = [verdict.state for verdict in standing.verdicts.values()]
    opened, short = states.count(OPEN), states.count(NOT_SEALED)
    told = [trn("{n} mark open", "{n} marks open", opened)] if opened else []
    told += [trn("{n} not sealed", "{n} not sealed", short)] if short else []
    told += [blocker_words(b) for b in standing.blockers if b.code in ZONE_WORDS]
    told += installed_words(standing.blockers)
    if standing.placing is not None:
        told.insert(0, tr("being placed"))
    if standing.fallen and not told:
        told = [tr("changed since its release")]
    if told:
        return ", ".join(dict.fromkeys(told))
    return trc("zone", "released") if standing.state == READY else tr("not released yet")


def blocker_words(blocker: Blocker) -> str:
    """A blocker of the zone as a whole, in the few words of a summary."""
    what = hold_cause(blocker.detail) if blocker.code == "zone-hold" else tr(blocker.detail)
    return tr(ZONE_WORDS[blocker.code], what=what)


def other_reasons(standing: Standing, units: Units) -> list[ReasonRow]:
    """Why the zone is held as a whole: marks, holds and what is installed have rows of their own."""
    told = (b for b in standing.blockers if b.code in ZONE_WORDS and b.code != "zone-hold")
    return [ReasonRow(say_blocker(blocker, units)) for blocker in told]


def title_rows(view: ZoneView, shown: Shown) -> list[tuple[str, str]]:
    """The rows of a zone's title block."""
    zone, project = view.zone, view.seen.project
    ground_m2 = area_m2(shown.ring(zone.outline), shown.nm_per_px)
    size = say_area(ground_m2, project.units) if shown.nm_per_px else ""
    walked = moment(zone.walked_at, project.time_zone) if zone.walked_at else trc("walk", "none that counts")
    return [
        (tr("Zone"), ", ".join(filter(None, (zone.name, size))) or zone.letter),
        (tr("Placing"), placing(zone, project.time_zone)),
        (tr("Overlap"), say_length(project.sheet.patch_overlap.nm, project.units)),
        (tr("Last walk"), walked),
    ]


def placing(zone: Zone, time_zone: str) -> str:
    """When the zone is to be placed, or was, or since when it is being placed. It stands behind the word
    Placing, and the zone's state says which of them it is."""
    if zone.placement is not None:
        return moment(zone.placement.at, time_zone)
    planned = moment(zone.place_at, time_zone) if zone.place_at else tr("no time set")
    return since_words(zone, time_zone) or planned
