"""Which repairs go together: a zone's open marks under the patches that take the least film, to cut."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from fastapi import APIRouter
from starlette.responses import HTMLResponse, Response

from service.actions.frame.reading import ZoneView
from service.actions.marks import together
from service.actions.marks.together import USUAL_ROLLS_NM, ZonePlan
from service.domain.nouns import roles
from service.domain.patches.patch_plan import PlanGroup
from service.domain.patches.repair import NOT_SEALED, OPEN
from service.domain.patches.roll_cuts import CutRow, off_the_roll, too_wide
from service.domain.words.measures import Units, say_distance, say_length, say_sides
from service.domain.words.speech import later, tr, trn
from service.web.drawings.drawing import ZoneDrawing
from service.web.drawings.installed_shown import installed_shown
from service.web.drawings.plan_drawing import PatchToDraw, draw_plan
from service.web.drawings.shown import Shown, where_words
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import CAUTION_PATCH, css, starting
from service.web.shared.zone_views import standing_view
from service.web.together.cutting import film_words, run_words, tape_to_fetch, tape_words
from service.web.together.lists import ListHead, asked_words, list_head
from service.web.together.patch_offers import as_shown, listed, planned_href, turn_words
from service.web.together.plan_meets import Met, met_by

router = APIRouter(include_in_schema=False)

EXACT = later(
    "Every way of grouping these marks was weighed, one rectangle a patch: none takes less film, and none "
    "that takes as little takes less tape."
)
NEARLY = later(
    "The marks lie so many and so close that not every way of grouping them was weighed. This is a good way, "
    "and a better one may exist; it never takes more film than one patch each."
)


@dataclass(frozen=True, slots=True)
class PatchRow:
    """One patch of the plan: its marks, cut size, how it lies, what to mind; `href` for who may log it."""

    number: int
    tags: str
    where: str
    cut: str
    turn: str
    told: tuple[str, ...]
    href: str


@dataclass(frozen=True, slots=True)
class RollRow:
    """One length off the roll, and the pieces side by side in it: patch number and size."""

    length: str
    pieces: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TogetherPage:
    """`templates/crew/together.html`. `rolls`: (value, words) to choose from; `roll` the one chosen."""

    head: ListHead
    empty: str
    summary: tuple[str, str]
    asked: str
    rows: tuple[PatchRow, ...]
    totals: tuple[tuple[str, str], ...]
    exact: str
    rolls: tuple[tuple[str, str], ...]
    roll: str
    roll_words: str
    cuts: tuple[RollRow, ...]
    wide: str
    others: str


@router.get("/zones/{zone_id}/together")
def which_together(desk: TheDesk, person: Signed, zone_id: str, roll: str = "") -> Response:
    view = standing_view(desk, person, zone_id)
    head = list_head(view, person, desk.clock(), (CAUTION_PATCH,))
    page = together_page(view, head, roll)
    html = render("crew/together.html", page, **shell_of(view.seen.project, view.seen.role, person))
    return HTMLResponse(html)


def together_page(view: ZoneView, head: ListHead, roll: str = "") -> TogetherPage:
    """Everything the page shows, decided. `roll`: a width chosen, in nanometres as text; else the widest."""
    units, widths = view.seen.project.units, together.rolls_of(view) or USUAL_ROLLS_NM
    asked_roll = next((width for width in widths if str(width) == roll), None)
    found, around = together.plan_of(view, asked_roll), view.around()
    if found is None or around is None or not found.plan.groups:
        return _empty_page(view, head, no_scale=found is None)
    met = met_by(view, found, around)
    rolled = say_distance(found.roll_nm, units)
    return TogetherPage(
        head=replace(head, drawing=_drawing(view, found, head)),
        empty="",
        summary=_summary(found, units),
        asked=f"{asked_words(view)} {_allowance_words(view)}",
        rows=tuple(_row(view, found, met[n - 1], n, group) for n, group in enumerate(found.plan.groups, 1)),
        totals=_totals(view, found),
        exact=tr(EXACT if found.plan.exact else NEARLY),
        rolls=tuple((str(width), _roll_words(width, units)) for width in widths),
        roll=str(found.roll_nm),
        roll_words=tr("Off a roll {width} wide, as laid in this zone", width=rolled)
        if found.known
        else tr("Off a roll {width} wide, a usual width (common practice, no source)", width=rolled),
        cuts=_cuts(found, units),
        wide=_wide_words(found, rolled),
        others=_others(view, found),
    )


def _empty_page(view: ZoneView, head: ListHead, no_scale: bool) -> TogetherPage:
    empty = (
        tr("The sketch has no scale yet, so nothing on it has a size. The project manager sets it first.")
        if no_scale
        else tr("Nothing to plan: no open mark here is mended by film laid over it.")
    )
    others = "" if no_scale else _others(view, None)
    return TogetherPage(head, empty, ("", ""), "", (), (), "", (), "", "", (), "", others)


def _allowance_words(view: ZoneView) -> str:
    allowance = view.seen.project.sheet.cut_allowance
    if not allowance.nm:
        return ""
    larger = say_length(allowance.nm, view.seen.project.units)
    return tr("Cut {length} larger on every side, for placing.", length=larger)


def _roll_words(width: int, units: Units) -> str:
    return tr("{width} wide", width=say_distance(width, units))


# --- what the plan comes to ------------------------------------------------------------------------------


def _summary(found: ZonePlan, units: Units) -> tuple[str, str]:
    """The sentence at the top: how many patches for how many marks, and what that saves."""
    groups, marks = len(found.plan.groups), len(found.marks)
    if groups == marks:
        return (
            trn("{n} open mark, a patch each", "{n} open marks, a patch each", marks),
            tr("No two lie so near that one patch over both takes less film."),
        )
    saved = film_words(found.plan.film_saved_nm2, units, up=False)
    return (
        trn(
            "{n} patch for {marks} open marks",
            "{n} patches for {marks} open marks",
            groups,
            marks=f"{marks:,}",
        ),
        tr("{film} less film than a patch each.", film=saved),
    )


def _totals(view: ZoneView, found: ZonePlan) -> tuple[tuple[str, str], ...]:
    plan, sheet, units = found.plan, view.seen.project.sheet, view.seen.project.units
    rows = [
        (tr("Patches"), f"{len(plan.groups):,}"),
        (tr("Film"), film_words(plan.film_nm2, units, up=True)),
        (tr("Tape"), tape_to_fetch(plan.tape_nm, sheet, units)),
    ]
    fewer, tape = len(found.marks) - len(plan.groups), plan.tape_saved_nm
    if fewer:
        told = [
            tr("{area} of film", area=film_words(plan.film_saved_nm2, units, up=False)),
            trn("{n} patch", "{n} patches", fewer),
        ]
        if tape > 0:
            told.append(tr("{length} of tape", length=tape_words(tape, units, up=False)))
        words = ", ".join(told)
        if tape < 0:
            more = tape_words(-tape, units, up=True)
            words = tr("{saved}; it takes {length} more tape", saved=words, length=more)
        rows.append((tr("Saved against a patch each"), words))
    return tuple(rows)


def _others(view: ZoneView, found: ZonePlan | None) -> str:
    """Open marks of the zone that are in no patch of the plan."""
    planned = found.marks if found else {}
    tags = [
        mark.tag
        for mark in view.defects()
        if mark.id not in planned and view.verdict(mark).state in (OPEN, NOT_SEALED)
    ]
    if not tags:
        return ""
    return tr(
        "In no patch here, because the usual repair is another than film laid over it: {tags}.",
        tags=listed(tags),
    )


# --- the patches -----------------------------------------------------------------------------------------


def _row(view: ZoneView, found: ZonePlan, met: Met, number: int, group: PlanGroup) -> PatchRow:
    units, sketch = view.seen.project.units, view.seen.sketch
    return PatchRow(
        number=number,
        tags=listed(group.tags),
        where=where_words(sketch, found.marks[group.marks[0]].at, units),
        cut=say_sides(group.length_nm, group.width_nm, units, "up"),
        turn=starting(turn_words(sketch, group)),
        told=tuple(map(starting, met.told)),
        href=planned_href(view, group, not met.past_end) if roles.may(view.seen.role, "log a patch") else "",
    )


def _drawing(view: ZoneView, found: ZonePlan, head: ListHead) -> ZoneDrawing:
    shown = Shown(view.seen.sketch)
    patches = [
        PatchToDraw(
            number,
            as_shown(view.seen.sketch, group),
            shown.point(group.centre),
            tuple(
                (shown.outline(found.marks[id].outline), shown.point(found.marks[id].at))
                for id in group.marks
            ),
        )
        for number, group in enumerate(found.plan.groups, 1)
    ]
    return draw_plan(
        shown.ring(view.zone.outline),
        shown.nm_per_px,
        patches,
        kind=css(view.standing.state),
        label=trn(
            "Zone {letter} with {n} patch to cut, by number",
            "Zone {letter} with {n} patches to cut, by number",
            len(patches),
            letter=head.letter,
        ),
        walls=shown.walls(view.site.walls.values()),
        grid=shown.grid(),
        installed=installed_shown(view, shown),
    )


# --- the roll --------------------------------------------------------------------------------------------


def _cuts(found: ZonePlan, units: Units) -> tuple[RollRow, ...]:
    numbers = {group.tags: number for number, group in enumerate(found.plan.groups, 1)}
    rows = [_cut(row, numbers, units) for row in found.cuts]
    if len(rows) > 1:
        rows.append(RollRow(tr("{length} in all", length=run_words(off_the_roll(found.cuts), units)), ()))
    return tuple(rows)


def _cut(row: CutRow, numbers: Mapping[tuple[str, ...], int], units: Units) -> RollRow:
    return RollRow(
        say_length(row.length_nm, units, "up"),
        tuple(
            f"{numbers[piece.tags]}: {say_sides(piece.across_nm, piece.along_nm, units, 'up')}"
            for piece in row.pieces
        ),
    )


def _wide_words(found: ZonePlan, rolled: str) -> str:
    numbers = {group.marks: number for number, group in enumerate(found.plan.groups, 1)}
    wide = [str(numbers[group.marks]) for group in too_wide(found.plan, found.roll_nm)]
    if not wide:
        return ""
    return trn(
        "Not to be had from a roll {width} wide: patch {numbers}.",
        "Not to be had from a roll {width} wide: patch {numbers}.",
        len(wide),
        width=rolled,
        numbers=listed(wide),
    )
