"""The printed lists of a zone: the cut list with its pieces by size, and the punch list to write on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from fastapi import APIRouter
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.reading import ZoneView
from service.domain.gate.wording import say_blocker, say_state
from service.domain.nouns.rules import not_asked_for
from service.domain.nouns.site import PATCHABLE, Defect
from service.domain.patches.repair import SEALED
from service.domain.shapes.sides import SIDE_NAMES
from service.domain.words.measures import say_length
from service.domain.words.names import zone_state
from service.domain.words.speech import later, tr, trn
from service.web.drawings.drawing import ZoneDrawing
from service.web.drawings.shown import Shown, where_words
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import (
    CAUTION_PATCH,
    CAUTION_WALK,
    CAUTION_WEATHER,
    css,
    need,
    starting,
    summary,
    title_rows,
    what,
    zone_drawing,
)
from service.web.shared.zone_views import standing_view
from service.web.together.cutting import Cutting, cutting_of

router = APIRouter(include_in_schema=False)

BLANK_LINES = 4  # to write marks found on the walk
SEE_GATE = later(
    "This sheet shows how the zone stood when it was drawn up. Only the gate says whether the zone may be "
    "released, and it is asked again then."
)


@dataclass(frozen=True, slots=True)
class ListHead:
    """The top of both lists: the zone, how it stands, its drawing, when it was drawn up and by whom."""

    letter: str
    title: tuple[tuple[str, str], ...]
    state: str
    why: str
    kind: str
    drawing: ZoneDrawing | None
    printed: str
    cautions: tuple[str, ...]
    root: str
    see_gate: str


@dataclass(frozen=True, slots=True)
class OtherRepair:
    """A mark that no piece of film mends."""

    tag: str
    what: str
    where: str
    repair: str


@dataclass(frozen=True, slots=True)
class CutListPage:
    """`templates/lists/cut_list.html`."""

    head: ListHead
    cutting: Cutting
    asked: str
    others: tuple[OtherRepair, ...]
    neighbours: str
    empty: str


@dataclass(frozen=True, slots=True)
class PunchLine:
    """One mark to walk to. `write`: a patch is to be read with the tape here; `box`: the words of its box."""

    tag: str
    what: str
    where: str
    note: str
    stands: str
    mend: str
    kind: str
    write: bool
    box: str


@dataclass(frozen=True, slots=True)
class PunchListPage:
    """`templates/lists/punch_list.html`. `reasons`: what holds the zone besides its marks."""

    head: ListHead
    reasons: tuple[str, ...]
    told: str
    lines: tuple[PunchLine, ...]
    neighbours: tuple[PunchLine, ...]
    withdrawn: tuple[PunchLine, ...]
    blank_lines: int
    sides: tuple[str, ...]
    asked: str
    not_asked: str


@router.get("/zones/{zone_id}/cut-list")
def cut_list(desk: TheDesk, person: Signed, zone_id: str) -> Response:
    view = standing_view(desk, person, zone_id)
    open_marks = [mark for mark in view.defects() if not mark.withdrawn and not _sealed(view, mark)]
    others = [mark for mark in open_marks if mark.kind not in PATCHABLE]
    page = CutListPage(
        head=list_head(view, person, desk.clock(), (CAUTION_PATCH, CAUTION_WALK)),
        cutting=cutting_of(view, [mark for mark in open_marks if mark.kind in PATCHABLE]),
        asked=asked_words(view),
        others=tuple(_other(view, mark) for mark in others),
        neighbours=_neighbour_words(view),
        empty="" if open_marks else tr("No piece to cut: no mark of this zone is open."),
    )
    return _answer("lists/cut_list.html", page, view, person)


@router.get("/zones/{zone_id}/punch-list")
def punch_list(desk: TheDesk, person: Signed, zone_id: str) -> Response:
    view = standing_view(desk, person, zone_id)
    own = [mark for mark in view.defects() if not mark.withdrawn]
    left_out = not_asked_for(view.seen.project.sheet)
    units = view.seen.project.units
    to_mend = sum(not _sealed(view, mark) for mark in own)
    page = PunchListPage(
        head=list_head(view, person, desk.clock(), (CAUTION_WALK, CAUTION_PATCH, CAUTION_WEATHER)),
        reasons=tuple(say_blocker(b, units) for b in view.standing.blockers if b.subject[0] != "defect"),
        told=trn("{n} mark, {open} to mend.", "{n} marks, {open} to mend.", len(own), open=to_mend),
        lines=tuple(_punch_line(view, mark) for mark in own),
        neighbours=tuple(_punch_line(view, mark) for mark in view.reaching_in()),
        withdrawn=tuple(_gone_line(view, mark) for mark in view.defects() if mark.withdrawn),
        blank_lines=BLANK_LINES,
        sides=tuple(map(tr, SIDE_NAMES.values())),
        asked=asked_words(view),
        not_asked=tr("Not asked for on this project: {list}.", list=", ".join(map(tr, left_out)))
        if left_out
        else "",
    )
    return _answer("lists/punch_list.html", page, view, person)


def _answer(template: str, page: object, view: ZoneView, person: Person) -> Response:
    return HTMLResponse(render(template, page, **shell_of(view.seen.project, view.seen.role, person)))


def list_head(view: ZoneView, person: Person, now: datetime, cautions: tuple[str, ...]) -> ListHead:
    shown, standing, project = Shown(view.seen.sketch), view.standing, view.seen.project
    return ListHead(
        letter=view.zone.letter,
        title=tuple(title_rows(view, shown)),
        state=starting(zone_state(standing.state)),
        why=summary(standing),
        kind=css(standing.state),
        drawing=zone_drawing(view, shown),
        printed=tr(
            "{project}. Drawn up {when} by {person}, {role}, at entry {entry} of the history.",
            project=project.name,
            when=moment(now, project.time_zone),
            person=person.name,
            role=tr(view.seen.role),
            entry=f"{view.seen.head:,}",
        ),
        cautions=cautions,
        root=f"/zones/{view.zone.id}",
        see_gate=tr(SEE_GATE),
    )


def asked_words(view: ZoneView) -> str:
    """The numbers a patch is held to, each with its source."""
    sheet, units = view.seen.project.sheet, view.seen.project.units
    overlap, tape = sheet.patch_overlap, sheet.tape_width
    return tr(
        "Overlap on every side: at least {overlap} ({source}). Tape: at least {width} wide ({tape_source}).",
        overlap=say_length(overlap.nm, units),
        source=tr(overlap.source),
        width=say_length(tape.nm, units),
        tape_source=tr(tape.source),
    )


def _sealed(view: ZoneView, mark: Defect) -> bool:
    return view.verdict(mark).state == SEALED


def _where(view: ZoneView, mark: Defect) -> str:
    return where_words(view.seen.sketch, mark.at, view.seen.project.units)


def _other(view: ZoneView, mark: Defect) -> OtherRepair:
    project = view.seen.project
    return OtherRepair(
        mark.tag, what(mark, project.units), _where(view, mark), need(mark, project.sheet, project.units)
    )


def _neighbour_words(view: ZoneView) -> str:
    """Marks of other zones that hold this one too: their pieces stand on their own zone's list."""
    tags = [mark.tag for mark in view.reaching_in() if not _sealed(view, mark)]
    if not tags:
        return ""
    return trn(
        "{tags} reaches in from a neighbour: its piece stands on that zone's own cut list.",
        "{tags} reach in from a neighbour: their pieces stand on that zone's own cut list.",
        len(tags),
        tags=", ".join(tags),
    )


def _punch_line(view: ZoneView, mark: Defect) -> PunchLine:
    project, verdict = view.seen.project, view.verdict(mark)
    sealed, patchable = verdict.state == SEALED, mark.kind in PATCHABLE
    return PunchLine(
        tag=mark.tag,
        what=what(mark, project.units),
        where=_where(view, mark),
        note=_note(mark),
        stands=starting(say_state(verdict, project.units)),
        mend="" if sealed else need(mark, project.sheet, project.units),
        kind=css(verdict.state),
        write=patchable and not sealed,
        box=tr("looked at") if sealed else tr("patched") if patchable else tr("mended"),
    )


def _note(mark: Defect) -> str:
    if mark.after_placing:
        return tr("{note} (received after placing)", note=mark.note)
    return tr("{note} (found during placing)", note=mark.note) if mark.during_placing else mark.note


def _gone_line(view: ZoneView, mark: Defect) -> PunchLine:
    project = view.seen.project
    return PunchLine(
        tag=mark.tag,
        what=what(mark, project.units),
        where=_where(view, mark),
        note="",
        stands=tr("Withdrawn: {reason}", reason=mark.withdrawn),
        mend="",
        kind="withdrawn",
        write=False,
        box="",
    )
