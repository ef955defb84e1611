"""The ready list by link, for those who place concrete: which zones are ready, as of when. No sign-in.

Whoever holds the address reads it, so it is in no index, told to no other site, and kept by no browser: going
back never shows a zone ready that is not any more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.office.ready_lists import (
    IS_PLACED,
    NOT_READY,
    READY_TO_PLACE,
    ReadyList,
    ReadyZone,
    ready_list,
    version_of,
)
from service.domain.words.measures import say_area
from service.domain.words.names import zone_state
from service.domain.words.refusals import NotFound
from service.domain.words.speech import later, spoken, tr, trn
from service.web.serving.guards import BY_LINK, TheDesk
from service.web.serving.render import moment, render
from service.web.shared.key_plan import KeyPlan, ZoneToPlan, draw_plan

router = APIRouter(include_in_schema=False)

HEADERS = {
    "Cache-Control": "private, no-store",
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": "noindex, nofollow, noarchive",
}
# Not ready is told by capitals too: it must not be taken for the other at a glance in the sun.
WORDS = {READY_TO_PLACE: later("Ready to place"), IS_PLACED: later("Placed"), NOT_READY: later("NOT READY")}
KINDS = {READY_TO_PLACE: "ready", IS_PLACED: "placed", NOT_READY: "held"}

CAUTIONS = (
    later(
        "Wet concrete burns skin and eyes: gloves, boots, water at hand. Bar ends and stakes "
        "stay capped or guarded wherever somebody could fall on them."
    ),
)


@dataclass(frozen=True, slots=True)
class ZoneBlock:
    """One zone as `blocks.title_block` takes it; `told` is its state for who listens."""

    letter: str
    told: str
    rows: tuple[tuple[str, str], ...]
    word: str
    small: str
    kind: str


@dataclass(frozen=True, slots=True)
class ReadyPage:
    """`templates/entrance/ready.html`. `head`: the newest entry's number, by which a change is seen."""

    head: int
    as_of: str
    newest: str
    headline: str
    counted: str
    any_ready: bool
    zones: tuple[ZoneBlock, ...]
    plans: tuple[KeyPlan, ...]
    key: tuple[tuple[str, str], ...]
    here: str


@router.get("/ready/{token}", dependencies=BY_LINK)
def ready_page(request: Request, desk: TheDesk, token: str) -> Response:
    try:
        etag = f'W/"{spoken().code}-{version_of(desk, token)}"'
        if etag in request.headers.get("if-none-match", ""):
            return Response(status_code=304, headers={**HEADERS, "ETag": etag})
        view = ready_list(desk, token)
    except NotFound:
        return HTMLResponse(render("entrance/ready_gone.html", None), 404, headers=HEADERS)
    html = render(
        "entrance/ready.html",
        _page(view, token),
        project=view.project_name,
        cautions=[tr(words) for words in CAUTIONS],
    )
    return HTMLResponse(html, headers={**HEADERS, "ETag": f'W/"{spoken().code}-{view.version}"'})


def _page(view: ReadyList, token: str) -> ReadyPage:
    states = [zone.state for zone in view.zones]
    ready = [zone.letter for zone in view.zones if zone.state == READY_TO_PLACE]
    return ReadyPage(
        head=view.head,
        as_of=moment(view.asked_at, view.time_zone),
        newest=tr("entry {head}, {moment}", head=view.head, moment=moment(view.head_at, view.time_zone)),
        headline=tr("Ready to place: {letters}", letters=_listed(ready))
        if ready
        else tr("No zone is ready to place"),
        counted=_counted(states),
        any_ready=bool(ready),
        zones=tuple(_block(zone, view) for zone in view.zones),
        plans=_plans(view),
        key=tuple((KINDS[state], tr(WORDS[state])) for state in KINDS if state in states),
        here=f"/ready/{token}",
    )


def _listed(letters: Sequence[str]) -> str:
    """`B`, `B and D`, `A, B and D`."""
    if len(letters) == 1:
        return letters[0]
    return tr("{list} and {last}", list=", ".join(letters[:-1]), last=letters[-1])


def _counted(states: Sequence[str]) -> str:
    """`1 of 5 zones ready to place, 1 placed, 3 not ready`."""
    if not states:
        return tr("No zone is outlined yet.")
    told = [f"{states.count(state)} {zone_state(state)}" for state in KINDS if state in states]
    return trn("Of {n} zone: {states}.", "Of {n} zones: {states}.", len(states), states=", ".join(told))


def _block(zone: ReadyZone, view: ReadyList) -> ZoneBlock:
    size = tr("no scale yet") if zone.area_m2 is None else say_area(zone.area_m2, view.units)
    planned = moment(zone.place_at, view.time_zone) if zone.place_at else tr("no time set")
    since = moment(zone.since, view.time_zone) if zone.since else ""
    small = {
        READY_TO_PLACE: tr("since {since}", since=since),
        IS_PLACED: since,
        NOT_READY: tr("do not place here"),
    }[zone.state]
    rows = [(tr("Zone"), f"{zone.name}, {size}" if zone.name else size)]
    if zone.state != IS_PLACED:
        rows.append((tr("Placing planned"), planned))
    if zone.mark:
        rows.append((tr("Release mark"), zone.mark))
    return ZoneBlock(
        letter=zone.letter,
        told=tr("Zone {letter}: {state}", letter=zone.letter, state=zone_state(zone.state)),
        rows=tuple(rows),
        word=tr(WORDS[zone.state]),
        small=small,
        kind=KINDS[zone.state],
    )


def _plans(view: ReadyList) -> tuple[KeyPlan, ...]:
    plans = []
    for number, sketch in enumerate(view.sketches):
        own = [
            ZoneToPlan(zone.letter, zone.outline, zone.state, KINDS[zone.state], "")
            for zone in view.zones
            if zone.sketch_id == sketch.id
        ]
        if own:
            plans.append(draw_plan(sketch, own, f"plan{number}"))
    return tuple(plans)
