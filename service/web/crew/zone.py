"""One zone for the crew: how it stands and why, its drawing, its marks; and a punch walk finished."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.reading import ZoneView, zone_view
from service.actions.sketches.zones import finish_walk
from service.domain.nouns import roles
from service.domain.nouns.rules import not_asked_for
from service.domain.nouns.site import Defect, Px
from service.domain.patches.repair import SEALED, WITHDRAWN
from service.domain.words.names import hold_cause, zone_state
from service.domain.words.speech import later, tr
from service.history.replay.standing import PLACED, PLACED_WITHOUT_RELEASE
from service.web.crew.walk_order import in_walk_order, stands_at
from service.web.drawings.drawing import ReasonRow, ScheduleRow, SketchDrawing, ZoneDrawing
from service.web.drawings.installed_shown import installed_shown
from service.web.drawings.shown import Shown
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import (
    CAUTION_WALK,
    CAUTION_WEATHER,
    css,
    mark_rows,
    marks_shown,
    other_reasons,
    starting,
    summary,
    title_rows,
    zone_drawing,
)
from service.web.shared.placing_words import placing_note, start_href
from service.web.shared.zone_installed import work_rows
from service.web.shared.zone_views import certificate_of

router = APIRouter(include_in_schema=False)

SAID = {
    "walk": later("The punch walk is recorded."),
    "hold": later("The zone is on hold."),
    "placing": later("Placing is started. Damage from here on is kept as found during placing."),
    "lifted": later("The hold is lifted."),
    "withdrawn": later("The mark is withdrawn. It stays in the history with its reason."),
}
LOOKED_AT = later(
    "I walked all of this zone and looked at the whole film: every hole, tear and burn, every lap, pipe and "
    "edge. Everything I found is marked."
)


@dataclass(frozen=True, slots=True)
class HoldLine:
    words: str
    reason: str
    lift_href: str


@dataclass(frozen=True, slots=True)
class ZonePage:
    """`templates/crew/zone.html`. `may_*` decide which buttons stand; `key` is the walk form's."""

    letter: str
    title: tuple[tuple[str, str], ...]
    state: str
    why: str
    kind: str
    reasons: tuple[ReasonRow, ...]
    note: str
    holds: tuple[HoldLine, ...]
    drawing: ZoneDrawing | None
    sketch: SketchDrawing
    unsettled: tuple[ScheduleRow, ...]
    sealed: tuple[ScheduleRow, ...]
    withdrawn: tuple[ScheduleRow, ...]
    neighbours: tuple[ScheduleRow, ...]
    work: tuple[ScheduleRow, ...]
    empty: str
    not_asked: str
    root: str
    history_href: str
    certificate_href: str
    start_href: str
    may_mark: bool
    may_walk: bool
    may_hold: bool
    looked_at: str
    walk_note: str
    key: str


@router.get("/zones/{zone_id}")
def zone(request: Request, desk: TheDesk, person: Signed, zone_id: str, said: str = "") -> Response:
    view, start = zone_view(desk, person.id, zone_id), stands_at(request, zone_id)
    return _shown(view, person, said=tr(SAID.get(said, "")), start=start)


@router.get("/zones/{zone_id}/marks.json")
def marks(desk: TheDesk, person: Signed, zone_id: str) -> Response:
    """The marks and what is installed, as the pan-and-zoom sketch reads them."""
    view = zone_view(desk, person.id, zone_id)
    shown = Shown(view.seen.sketch)
    rows = shown.viewer(
        "sketch", "", marks=marks_shown(view, shown), installed=installed_shown(view, shown)
    ).rows
    return JSONResponse({part: rows[part] for part in ("marks", "pipes", "seams", "edges") if part in rows})


@router.post("/zones/{zone_id}/walks")
def walk(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    note = form.text("walk_note")
    if not form.flag("looked"):
        form.wrong("looked", tr("Say that you looked at all of it. A walk not finished is not recorded."))
    if form.errors:
        return _shown(zone_view(desk, person.id, zone_id), person, form)

    def act() -> str:
        finish_walk(desk, person.id, zone_id, note)
        return f"/zones/{zone_id}?said=walk"

    return send_once(request, desk, person.id, form, act)


def _shown(
    view: ZoneView, person: Person, form: Form | None = None, said: str = "", start: Px | None = None
) -> Response:
    shell = shell_of(
        view.seen.project,
        view.seen.role,
        person,
        errors=form.errors if form else {},
        cautions=(CAUTION_WALK, CAUTION_WEATHER),
        said=said,
        known=view.seen.head,
        zone_id=view.zone.id,
    )
    html = render("crew/zone.html", zone_page(view, form, start), **shell)
    return HTMLResponse(html, 422 if form and form.errors else 200)


def zone_page(view: ZoneView, form: Form | None = None, start: Px | None = None) -> ZonePage:
    """Everything the zone's page shows, decided. `start`: where this phone stands, for the walk order."""
    shown, zone, role = Shown(view.seen.sketch), view.zone, view.seen.role
    standing, units = view.standing, view.seen.project.units
    stands = zone.withdrawn is None
    unsettled, sealed, withdrawn = _sorted(view)
    return ZonePage(
        letter=zone.letter,
        title=tuple(title_rows(view, shown)),
        state=starting(zone_state(standing.state)) if stands else tr("Taken off"),
        why=summary(standing) if stands else tr("not on the sketch any more"),
        kind=css(standing.state) if stands else "clear",
        reasons=tuple(other_reasons(standing, units)) if stands else (),
        note=_note(view),
        holds=tuple(_holds(view)) if stands else (),
        drawing=zone_drawing(view, shown),
        sketch=_viewer(view, shown),
        unsettled=tuple(mark_rows(view, in_walk_order(view, start, unsettled))),
        sealed=tuple(mark_rows(view, sealed)),
        withdrawn=tuple(mark_rows(view, withdrawn)),
        neighbours=tuple(mark_rows(view, view.reaching_in(), stating=True)),
        work=work_rows(view) if stands else (),
        empty=_empty(view),
        not_asked=_not_asked(view),
        root=f"/zones/{zone.id}",
        history_href=f"/projects/{view.seen.project.id}/history?zone={zone.id}",
        certificate_href=certificate_of(view),
        start_href=start_href(view),
        may_mark=stands and bool(shown.nm_per_px) and roles.may(role, "mark a defect"),
        may_walk=stands and zone.placement is None and roles.may(role, "finish a walk"),
        may_hold=stands and zone.placement is None and roles.may(role, "hold a zone"),
        looked_at=tr(LOOKED_AT),
        walk_note=form.value("walk_note") if form else "",
        key=new_key(),
    )


def _sorted(view: ZoneView) -> tuple[list[Defect], list[Defect], list[Defect]]:
    """Open and not sealed, sealed, withdrawn: each in tag order."""
    found: tuple[list[Defect], list[Defect], list[Defect]] = ([], [], [])
    for defect in view.defects():
        state = view.verdict(defect).state
        found[2 if state == WITHDRAWN else 1 if state == SEALED else 0].append(defect)
    return found


def _viewer(view: ZoneView, shown: Shown) -> SketchDrawing:
    """The pan-and-zoom sketch; its marks are fetched when it is opened, so that the page stays small."""
    return shown.viewer(
        "sketch",
        tr("Zone {letter} on the sketch", letter=view.zone.letter),
        ring=view.zone.outline,
        zones=[(view.zone.letter, view.zone.outline, css(view.standing.state))],
        walls=view.site.walls.values(),
        marks_href=f"/zones/{view.zone.id}/marks.json",
    )


def _holds(view: ZoneView) -> list[HoldLine]:
    standing = (h for h in view.site.holds.values() if h.zone_id == view.zone.id and h.lifted is None)
    may = roles.may(view.seen.role, "lift a hold") and view.zone.placement is None
    return [
        HoldLine(
            tr("On hold for {cause}", cause=hold_cause(hold.cause)),
            f"{hold.reason} ({view.names.get(hold.by, tr('a person no longer named'))})",
            f"/holds/{hold.id}/lift" if may else "",
        )
        for hold in sorted(standing, key=lambda hold: hold.at)
    ]


def _note(view: ZoneView) -> str:
    """What a person must know before reading on: fallen release, concrete in, zone taken off."""
    if view.zone.withdrawn is not None:
        return tr("This zone was taken off the sketch: {reason}.", reason=view.zone.withdrawn)
    if view.standing.state == PLACED_WITHOUT_RELEASE:
        return tr("Concrete went in while the zone was held. What stood against it stays on record.")
    if view.standing.state == PLACED:
        return _placed(view)
    if going_on := placing_note(view.standing, view.seen.project.time_zone):
        return going_on
    if view.standing.fallen:
        return tr("The zone was released, and something changed since. It needs a new release.")
    return ""


def _placed(view: ZoneView) -> str:
    placement = view.zone.placement
    assert placement is not None  # the zone stands as placed
    when = moment(placement.at, view.seen.project.time_zone)
    if not placement.blockers:
        return tr("Concrete is in, {when}.", when=when)
    return tr(
        "Concrete is in, {when}. Found during placing and not mended before the concrete covered it: {what}.",
        when=when,
        what="; ".join(placement.blockers),
    )


def _empty(view: ZoneView) -> str:
    if not Shown(view.seen.sketch).nm_per_px:
        return tr(
            "The sketch has no scale yet, so nothing on it has a size. The project manager sets it first."
        )
    if view.zone.withdrawn is not None or view.zone.placement is not None:
        return tr("No mark was made in this zone.")
    return tr("No mark yet. Walk the film, and mark every hole, tear and burn where it is.")


def _not_asked(view: ZoneView) -> str:
    left_out = not_asked_for(view.seen.project.sheet)
    told = tr("Not asked for on this project: {list}.", list=", ".join(map(tr, left_out)))
    return told if left_out else ""
