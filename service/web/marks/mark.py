"""Mark a defect: press the place, say what it is and how large; the tag to chalk beside it comes at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.doing import TakenOff, allow, chosen_id, standing_zone
from service.actions.frame.reading import ZoneView, defect_view, zone_view
from service.actions.marks.defects import MarkEntry, OutsideZone, mark_defect, read_mark
from service.domain.gate.during import goes_on
from service.domain.nouns import roles
from service.domain.nouns.site import KINDS, Defect, Zone
from service.domain.patches.repair import COVERED, MENDED_BY
from service.domain.words.measures import say_length
from service.domain.words.refusals import BadInput, Conflict, NoScale
from service.domain.words.speech import tr
from service.web.drawings.drawing import Choice, SketchDrawing
from service.web.drawings.shown import Shown, where_words
from service.web.forms.choosing import POINT, Chosen, choose, ground_of
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key
from service.web.marks.marked_before import Often, common_kinds, last_mark, often_here
from service.web.marks.mending import cause_choices
from service.web.marks.pictures import send_once_with_photos
from service.web.marks.shapes import ShapeFields, given_outline, note_wrong, offered, shape_fields
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import (
    CAUTION_PATCH,
    CAUTION_WALK,
    CAUTION_WEATHER,
    css,
    marks_shown,
    need,
    patch_words,
    starting,
    tape_length,
    what,
)

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class OtherZone:
    """The zone the place really lies in: a button that keeps everything typed."""

    id: str
    letter: str


@dataclass(frozen=True, slots=True)
class MarkPage:
    """`templates/crew/mark.html`. `kind_more`: one of the rarer kinds is chosen, so they stand open.

    `often`: the last mark of this person here, and what is marked here most.
    """

    letter: str
    action: str
    back: str
    key: str
    sketch: SketchDrawing
    chosen: Chosen
    units: str
    often: tuple[Often, ...]
    first_kinds: tuple[Choice, ...]
    more_kinds: tuple[Choice, ...]
    kind: str
    kind_more: bool
    shape: ShapeFields
    causes: tuple[Choice, ...]
    cause: str
    note: str
    told: str
    other: OtherZone | None


@dataclass(frozen=True, slots=True)
class MarkedPage:
    """`templates/crew/marked.html`. `tape`: empty where no patch mends it."""

    tag: str
    letter: str
    what: str
    need: str
    tape: str
    where: str
    found: str
    patch_href: str
    patch_words: str
    repair_href: str
    repair_words: str
    next_href: str
    zone_href: str
    mark_href: str


@router.get("/zones/{zone_id}/mark")
def mark_page(desk: TheDesk, person: Signed, zone_id: str) -> Response:
    view = _zone(desk, person, zone_id)
    standing_zone(view.seen)
    values = _offered(view, person)
    return _shown(view, person, values, _chosen(view, {}))


@router.post("/zones/{zone_id}/mark")
def mark(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    view = _zone(desk, person, zone_id)
    chosen = _chosen(view, form.values)
    if chosen.pressed:
        return _shown(view, person, form.values, chosen)
    place = chosen.places[0]
    if place is None:
        form.wrong("sketch", tr("Press the place on the sketch: where is it?"))
    kind = form.choice("kind", KINDS, needed=tr("Say what it is."))
    form.text("note")
    other = None
    try:
        entry = read_mark(kind, place or (0, 0), given_outline(form), form.value("note"), form.value("cause"))
        entry = replace(entry, new_id=chosen_id(form.value("new_id")))
        if not form.errors:
            into = form.value("zone") or zone_id
            return send_once_with_photos(
                request, desk, person.id, form, ("zone", into), lambda: _marked(desk, person, into, entry)
            )
    except (BadInput, Conflict) as refusal:
        other = refusal.right_zone if isinstance(refusal, OutsideZone | TakenOff) else None
        note_wrong(form, refusal)
    return _shown(_zone(desk, person, zone_id), person, form.values, chosen, form, other)


def _marked(desk: Desk, person: Person, zone_id: str, entry: MarkEntry) -> tuple[str, str, str]:
    defect = mark_defect(desk, person.id, zone_id, entry)
    return "defect", defect.id, f"/defects/{defect.id}/marked"


def _zone(desk: Desk, person: Person, zone_id: str) -> ZoneView:
    """The zone to mark in, for who may, on a sketch that has a scale; it may be off the sketch by now."""
    view = zone_view(desk, person.id, zone_id)
    allow(view.seen, "mark a defect")
    if view.seen.sketch.scale is None:
        raise NoScale
    return view


def _chosen(view: ZoneView, sent: Mapping[str, str]) -> Chosen:
    """What was pressed on the still picture, where no script runs."""
    zone, walls = view.zone, view.site.walls.values()
    ground = ground_of(
        view.seen.sketch,
        home=zone.outline,
        rings=[zone.outline],
        walls=[(w.a, w.b) for w in walls if w.withdrawn is None],
        words=[(d.tag, d.at) for d in view.defects() if d.withdrawn is None][-60:],
    )
    return choose(sent, ground, POINT, units=view.seen.project.units)


def _offered(view: ZoneView, person: Person) -> dict[str, str]:
    """Kind, size and cause of this person's last mark here: the next hole is often like the last."""
    last = last_mark(view, person.id)
    if last is None:
        return {}
    return {"kind": last.kind, "cause": last.cause, **offered(last.outline, view.seen.project.units)}


def _shown(
    view: ZoneView,
    person: Person,
    values: Mapping[str, str],
    chosen: Chosen,
    form: Form | None = None,
    other: Zone | None = None,
) -> Response:
    errors = form.errors if form else {}
    zone, units, shown = view.zone, view.seen.project.units, Shown(view.seen.sketch)
    kind, first = values.get("kind", ""), common_kinds(view)
    page = MarkPage(
        letter=zone.letter,
        action=f"/zones/{zone.id}/mark",
        back=f"/zones/{zone.id}",
        key=values.get("request_key") or new_key(),
        sketch=shown.viewer(
            "sketch",
            tr("Zone {letter} on the sketch: press the place of the defect", letter=zone.letter),
            ring=zone.outline,
            zones=[(zone.letter, zone.outline, css(view.standing.state))],
            walls=view.site.walls.values(),
            marks=marks_shown(view, shown),
        ),
        chosen=chosen,
        units=units,
        often=often_here(view, person.id),
        first_kinds=tuple(Choice(k, starting(tr(k))) for k in first),
        more_kinds=tuple(Choice(k, starting(tr(k)), _mended(k)) for k in KINDS if k not in first),
        kind=kind,
        kind_more=kind in KINDS and kind not in first,
        shape=shape_fields(values, units),
        causes=cause_choices(),
        cause=values.get("cause", ""),
        note=values.get("note", ""),
        told=_told(zone),
        other=OtherZone(other.id, other.letter) if other else None,
    )
    shell = shell_of(
        view.seen.project,
        view.seen.role,
        person,
        errors=errors,
        cautions=(CAUTION_WALK, CAUTION_WEATHER),
        known=view.seen.head,
        zone_id=view.zone.id,
    )
    return HTMLResponse(render("crew/mark.html", page, **shell), 422 if errors else 200)


def _mended(kind: str) -> str:
    return "" if kind in COVERED else tr("not mended by a patch")


def _told(zone: Zone) -> str:
    if goes_on(zone):
        return tr(
            "Zone {letter} is being placed. A mark now is kept as found during placing.", letter=zone.letter
        )
    if zone.placement is None:
        return ""
    return tr(
        "Concrete is in zone {letter}. A mark now is kept as received after placing.", letter=zone.letter
    )


@router.get("/defects/{defect_id}/marked")
def marked(desk: TheDesk, person: Signed, defect_id: str) -> Response:
    """What to do now: chalk the tag, cut the piece."""
    view, defect = defect_view(desk, person.id, defect_id)
    project, repair = view.seen.project, _other_way(defect, view.seen.role)
    page = MarkedPage(
        tag=defect.tag,
        letter=view.zone.letter,
        what=what(defect, project.units),
        need=need(defect, project.sheet, project.units),
        tape=_tape(defect, view) if defect.kind in COVERED else "",
        where=where_words(view.seen.sketch, defect.at, project.units).removeprefix(
            tr("at {crossing}", crossing="")
        ),
        found=_found(defect),
        patch_href=f"/defects/{defect.id}/patch" if roles.may(view.seen.role, "log a patch") else "",
        patch_words=patch_words(defect, again=False),
        repair_href=repair[0],
        repair_words=repair[1],
        next_href=f"/zones/{view.zone.id}/mark",
        zone_href=f"/zones/{view.zone.id}",
        mark_href=f"/defects/{defect.id}",
    )
    shell = shell_of(
        project, view.seen.role, person, cautions=(CAUTION_PATCH,) if page.tape else (CAUTION_WALK,)
    )
    return HTMLResponse(render("crew/marked.html", page, **shell))


def _found(defect: Defect) -> str:
    if defect.after_placing:
        return tr("Received after placing: concrete was in already.")
    if defect.during_placing:
        return tr("Found during placing: mend it before the concrete covers it.")
    return ""


def _other_way(defect: Defect, role: str) -> tuple[str, str]:
    """(address, words) of what mends it without a patch; a hole is patched before a sheet is replaced."""
    zone = f"/zones/{defect.zone_id}"
    if defect.kind == "unsealed penetration":
        return f"{zone}/penetrations", tr("Place the penetration, log its seal")
    if defect.kind == "unsealed termination":
        return f"{zone}/edges", tr("Describe the edge, log its seal")
    may = len(MENDED_BY[defect.kind]) > 1 and roles.may(role, "log a repair")
    return (f"/defects/{defect.id}/repair", tr("Log another repair")) if may else ("", "")


def _tape(defect: Defect, view: ZoneView) -> str:
    project = view.seen.project
    far = say_length(tape_length(defect.outline, project.sheet), project.units, "up")
    wide = say_length(project.sheet.tape_width.nm, project.units, "up")
    return tr("{length} of tape, {width} wide or more, for all four edges", length=far, width=wide)
