"""The plan of pours and a person's calendar links as JSON."""

from __future__ import annotations

from fastapi import APIRouter
from pydantic import Field
from starlette.requests import Request
from starlette.responses import Response

from service.actions.placing import calendars, pour_plan
from service.actions.placing.calendars import CalendarLink
from service.actions.placing.pour_plan import PlannedZone
from service.api.answers.sites import Answer, Time
from service.api.inspector.checkpoints import NoFields
from service.api.shared.bodies import Sent, Text, example
from service.api.shared.calls import SIGNED_IN, Id, Reads, SignedRoute, Writes, json_answer
from service.api.shared.errors import READS, WRITES, told
from service.api.telling.telling import time
from service.domain.placing.pace import Pace, Span
from service.history.facts.encoding import time_text

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["plan of pours"])

DAY = Field(examples=["2026-11-26"], description="A day of the site, YYYY-MM-DD.")
MONDAY_FIRST = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


class PaceTold(Answer):
    """Things of one kind closed a working day, over `days` of them: on the slower third, on all, and on the
    faster third. A kind with too little history is left out."""

    kind: str
    days: int
    closed: int
    slow: float
    usual: float
    fast: float


class Expected(Answer):
    """By when what is left is closed. `latest` null: on the slower days nothing was closed."""

    soonest: str = DAY
    about: str = DAY
    latest: str | None


class LeftTold(Answer):
    """`before`: how many more are left in the zones whose day comes first. `expected` null: no pace."""

    kind: str
    here: int
    before: int
    expected: Expected | None


class PlannedZoneTold(Answer):
    """`day`: of `place_at` at the site. `needs`: blockers by their code. `verdict`: in time, likely, on the
    day, late, no pace, no day or nothing left. `conflicts`: overdue, no walk, same day.
    """

    id: str
    letter: str
    name: str
    state: str
    place_at: Time | None
    day: str | None
    needs: dict[str, int]
    sheets_left: int
    left: list[LeftTold]
    expected: Expected | None
    verdict: str
    days_late: int
    conflicts: list[str]
    same_day: list[str]


class PlanOfPours(Answer):
    """A forecast: it releases nothing and holds nothing. `zones` by placing day, those without one last;
    placed ones are left out."""

    today: str = DAY
    working_days: list[str]
    paces: list[PaceTold]
    zones: list[PlannedZoneTold]


class NewCalendarLink(Sent):
    model_config = example(project="1f3c9a0757d24a6b8c10")
    project: Text | None = Field(default=None, description="A project's id; left out: all you are on.")


class CalendarLinkTold(Answer):
    """`project` null: of all projects. `link` is told once, in the answer that makes it: no secret is kept to
    be told again, so the same Idempotency-Key gets the same answer with `link` null."""

    id: str
    project: str | None
    made_at: Time
    link: str | None


@router.get("/projects/{project_id}/plan-of-pours", responses=told(READS))
def plan_of_pours(project_id: Id, call: Reads) -> PlanOfPours:
    """When each zone is to be placed, what it still needs, and by when that is closed at the pace so far."""
    plan = pour_plan.pour_plan(call.desk, call.by, project_id)
    return PlanOfPours(
        today=plan.paces.today.isoformat(),
        working_days=[MONDAY_FIRST[day] for day in sorted(plan.paces.week)],
        paces=[_pace(one) for one in plan.paces.of.values()],
        zones=[_zone(zone) for zone in (*plan.dated, *plan.undated)],
    )


def _pace(of: Pace) -> PaceTold:
    rates = {name: float(getattr(of, name)) for name in ("slow", "usual", "fast")}
    return PaceTold(kind=of.kind, days=of.days, closed=of.closed, **rates)


def _zone(of: PlannedZone) -> PlannedZoneTold:
    zone, planned = of.standing.zone, of.planned
    return PlannedZoneTold(
        id=zone.id,
        letter=zone.letter,
        name=zone.name,
        state=of.standing.state,
        place_at=time(zone.place_at),
        day=of.day.isoformat() if of.day else None,
        needs=of.needs,
        sheets_left=of.sheets_left,
        left=[
            LeftTold(kind=one.kind, here=one.here, before=one.before, expected=_expected(one.span))
            for one in planned.left
        ],
        expected=_expected(planned.span),
        verdict=planned.verdict,
        days_late=planned.days_late,
        conflicts=list(planned.conflicts),
        same_day=list(planned.same_day),
    )


def _expected(of: Span | None) -> Expected | None:
    if of is None:
        return None
    latest = of.latest.isoformat() if of.latest else None
    return Expected(soonest=of.soonest.isoformat(), about=of.about.isoformat(), latest=latest)


# --- calendar links --------------------------------------------------------------------------------------


@router.post(
    "/calendar-links",
    status_code=201,
    response_model=CalendarLinkTold,
    responses=told((401, 403, 408, 409, 413, 422, 503)),
)
def make_a_calendar_link(body: NewCalendarLink, call: Writes, request: Request) -> Response:
    """A link by which your calendar reads when zones are placed (iCalendar), without signing in, until you
    end it or leave the project. It shows no name, no mark and no reason."""
    home = request.app.state.settings.base_url or str(request.base_url).rstrip("/")
    links: list[CalendarLinkTold] = []

    def act() -> CalendarLinkTold:
        made = calendars.make_link(call.desk, call.by, body.project)
        kept = _link(made.link)
        links.append(kept.model_copy(update={"link": f"{home}/calendar/{made.token}.ics"}))
        return kept

    answer = call.once(201, act)
    if links:
        answer = json_answer(201, links[0].model_dump_json())
    answer.headers["Cache-Control"] = "no-store"
    return answer


@router.get("/calendar-links", responses=told((401, 503)))
def your_calendar_links(call: Reads) -> list[CalendarLinkTold]:
    """Your own links, the newest first. No link is told again."""
    return [_link(own.link) for own in calendars.links_of(call.desk, call.by)]


@router.post("/calendar-links/{calendar_id}/end", response_model=CalendarLinkTold, responses=told(WRITES))
def end_a_calendar_link(calendar_id: Id, call: Writes, body: NoFields | None = None) -> Response:
    """The link opens nothing from now on. 404 for one that is not yours."""
    return call.once(200, lambda: _link(calendars.end_link(call.desk, call.by, calendar_id)))


def _link(of: CalendarLink) -> CalendarLinkTold:
    return CalendarLinkTold(id=of.id, project=of.project_id, made_at=time_text(of.made_at), link=None)
