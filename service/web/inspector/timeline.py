"""A zone's life: drawn day by day from its history, and beside it the same as a list in words."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.evidence.timeline import ZoneLife, zone_life
from service.domain.words.names import zone_state
from service.domain.words.speech import tr, trc, trn
from service.history.facts.entries import Entry
from service.history.replay.following import OFF
from service.history.replay.spans import Span
from service.web.forms.forms import Form
from service.web.forms.moments import asked
from service.web.inspector.timeline_drawing import LifeDrawing
from service.web.inspector.timeline_strips import Gap, Strip, state_words
from service.web.inspector.words import kind_words
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import clock, day, moment, render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import css, starting

router = APIRouter(include_in_schema=False)

MOST_DAYS, MOST_STATES = 31, 200


@dataclass(frozen=True, slots=True)
class Turn:
    """What began or ended a state: the entry in words, and the page that shows how it left things."""

    seq: str
    words: str
    href: str


@dataclass(frozen=True, slots=True)
class SpanRow:
    """One state in words. `ended` is None where it still stands."""

    number: int
    state: str
    kind: str
    lasted: str
    times: str
    marks: str
    began: Turn
    ended: Turn | None


@dataclass(frozen=True, slots=True)
class TimelinePage:
    """`templates/inspector/timeline.html`. `rows`: strips and what is left out between them, in order."""

    letter: str
    root: str
    zone_time: str
    told: str
    shown: str
    whole: Strip | None
    rows: tuple[Strip | Gap, ...]
    key: tuple[tuple[str, str], ...]
    states: tuple[SpanRow, ...]
    states_told: str
    typed: dict[str, str]
    earlier_href: str
    later_href: str
    more_states_href: str
    all_href: str
    history_href: str


@router.get("/zones/{zone_id}/timeline")
def timeline(request: Request, desk: TheDesk, person: Signed, zone_id: str) -> Response:
    form = asked(request.query_params)
    life = zone_life(desk, person.id, zone_id)
    page = _page(life, form)
    shell = shell_of(life.seen.project, life.seen.role, person, errors=form.errors)
    return HTMLResponse(render("inspector/timeline.html", page, **shell), 422 if form.errors else 200)


def _page(life: ZoneLife, form: Form) -> TimelinePage:
    seen, root = life.seen, f"/zones/{life.seen.zone.id}"
    zone_time = seen.project.time_zone
    drawing = LifeDrawing(life.life, life.as_of, zone_time)
    days = _days(form, drawing.days)
    rows = tuple(drawing.strips(days)) if days else ()
    within = _within(life, days, zone_time) if days else range(0)
    first = max(form.whole("state", least=1) - 1, within.start) if form.value("state") else within.start
    listed = range(first, min(within.stop, first + MOST_STATES))
    kinds = dict.fromkeys(span.state for span in life.life.spans)
    period = {name: f"{at:%Y-%m-%d}" for name, at in (("from", days[0]), ("to", days[-1]))} if days else {}
    return TimelinePage(
        letter=seen.zone.letter,
        root=root,
        zone_time=zone_time,
        told=_told(life),
        shown=_shown(days, drawing.days),
        whole=drawing.whole() if len(drawing.days) > 1 else None,
        rows=rows,
        key=tuple((kind_of(state), state_words(state)) for state in kinds),
        states=tuple(_row(life, number, zone_time) for number in listed),
        states_told=_states_told(listed, within, len(life.life.spans)),
        typed={name: form.value(name) for name in ("from", "to")},
        earlier_href=_href(root, to=_before(days, drawing.days)),
        later_href=_href(root, since=_after(days, drawing.days)),
        more_states_href=_states_href(root, period, listed.stop) if listed.stop < within.stop else "",
        all_href=f"{root}/timeline" if form.value("from") or form.value("to") else "",
        history_href=f"/projects/{seen.project.id}/history?zone={seen.zone.id}",
    )


def kind_of(state: str) -> str:
    """A state as the style sheet and the drawing name it."""
    return "off" if state == OFF else css(state)


# --- which days are shown --------------------------------------------------------------------------------


def _days(form: Form, days: list[date]) -> list[date]:
    """The days to show, of those with something recorded: the newest, unless `from` is given."""
    since, until = _day(form, "from"), _day(form, "to")
    if form.errors:
        return []
    fit = [day for day in days if (not since or day >= since) and (not until or day <= until)]
    if not fit:
        form.wrong("from", tr("Nothing was recorded in this zone on those days."))
    return fit[:MOST_DAYS] if since else fit[-MOST_DAYS:]


def _day(form: Form, name: str) -> date | None:
    typed = form.value(name).strip()
    if not typed:
        return None
    try:
        return date.fromisoformat(typed)
    except ValueError:
        form.wrong(name, tr("Write the day as 2026-11-26."))
        return None


def _before(days: list[date], every: list[date]) -> date | None:
    return next((day for day in reversed(every) if days and day < days[0]), None)


def _after(days: list[date], every: list[date]) -> date | None:
    return next((day for day in every if days and day > days[-1]), None)


def _href(root: str, *, since: date | None = None, to: date | None = None) -> str:
    if since:
        return f"{root}/timeline?from={since:%Y-%m-%d}"
    return f"{root}/timeline?to={to:%Y-%m-%d}" if to else ""


def _states_href(root: str, period: dict[str, str], listed: int) -> str:
    sent = "&".join(f"{name}={value}" for name, value in period.items())
    return f"{root}/timeline?{sent}&state={listed + 1}#words"


def _shown(days: list[date], every: list[date]) -> str:
    if not days or len(days) == len(every):
        return ""
    return trn(
        "{n} day of {all} with something recorded.",
        "{n} days of {all} with something recorded.",
        len(days),
        all=f"{len(every):,}",
    )


# --- in words ----------------------------------------------------------------------------------------------


def _told(life: ZoneLife) -> str:
    """The life in one sentence: since when, and how it stands."""
    spans, zone_time = life.life.spans, life.seen.project.time_zone
    letter, now = life.seen.zone.letter, spans[-1]
    return trn(
        "Outlined {outlined}. {n} state in turn; zone {letter} is {state} since {since}, as of {as_of}.",
        "Outlined {outlined}. {n} states in turn; zone {letter} is {state} since {since}, as of {as_of}.",
        len(spans),
        outlined=moment(spans[0].began.at, zone_time),
        letter=letter,
        state=_being(now.state),
        since=moment(now.began.at, zone_time),
        as_of=moment(life.as_of, zone_time),
    )


def _being(state: str) -> str:
    return trc("zone", "off the sketch") if state == OFF else zone_state(state)


def _within(life: ZoneLife, days: list[date], zone_time: str) -> range:
    """The spans, by place, that stand at any time of the days shown."""
    ends = [span.ended.at if span.ended else life.as_of for span in life.life.spans]
    on = [
        (_local_day(span.began.at, zone_time), _local_day(end, zone_time))
        for span, end in zip(life.life.spans, ends, strict=True)
    ]
    places = [place for place, (start, end) in enumerate(on) if start <= days[-1] and end >= days[0]]
    return range(places[0], places[-1] + 1)


def _local_day(at: datetime, zone_time: str) -> date:
    return at.astimezone(ZoneInfo(zone_time)).date()


def _states_told(listed: range, within: range, count: int) -> str:
    if len(listed) == count:
        return ""
    told = {"first": f"{listed.start + 1:,}", "last": f"{listed.stop:,}", "all": f"{count:,}"}
    if len(listed) == len(within):
        return tr("States {first} to {last} of {all}.", **told)
    return tr("States {first} to {last} of {all}; more stand on these days.", **told)


def _row(life: ZoneLife, place: int, zone_time: str) -> SpanRow:
    span = life.life.spans[place]
    end = span.ended.at if span.ended else life.as_of
    return SpanRow(
        number=place + 1,
        state=starting(state_words(span.state)),
        kind=kind_of(span.state),
        lasted=lasting(end - span.began.at),
        times=_times(span, end, zone_time),
        marks=_marks(span),
        began=_began(life, span.began),
        ended=_ended(life, span.ended) if span.ended else None,
    )


def _times(span: Span, end: datetime, zone_time: str) -> str:
    start = moment(span.began.at, zone_time)
    same = day(span.began.at, zone_time) == day(end, zone_time)
    told = clock(end, zone_time) if same else moment(end, zone_time)
    if span.ended:
        return tr("From {start} to {end}", start=start, end=told)
    return tr("From {start} until now, {end}", start=start, end=told)


def _marks(span: Span) -> str:
    told = tr("no mark open")
    if span.open and span.not_sealed:
        told = trn("{n} mark open", "{n} marks open", span.open)
        told = ", ".join((told, trn("{n} not sealed", "{n} not sealed", span.not_sealed)))
    elif span.open:
        told = trn("{n} mark open", "{n} marks open", span.open)
    elif span.not_sealed:
        told = trn("{n} mark not sealed", "{n} marks not sealed", span.not_sealed)
    return tr("As it ended: {marks}.", marks=told) if span.ended else tr("Now: {marks}.", marks=told)


def _began(life: ZoneLife, entry: Entry) -> Turn:
    return _turn(
        life,
        entry,
        tr("{what} (entry {seq}).", what=life.told(entry).removesuffix("."), seq=f"{entry.seq:,}"),
    )


def _ended(life: ZoneLife, entry: Entry) -> Turn:
    """In short: the next state begins with the same entry, and tells it whole."""
    kind = kind_words(entry.type)
    about = f", {entry.tag}" if entry.tag else ""
    return _turn(life, entry, tr("{what} (entry {seq}).", what=f"{kind}{about}", seq=f"{entry.seq:,}"))


def _turn(life: ZoneLife, entry: Entry, words: str) -> Turn:
    """Also an entry of another zone or of the rule sheet is shown by what it left of this zone."""
    return Turn(f"{entry.seq:,}", words, f"/zones/{life.seen.zone.id}/as-it-stood?entry={entry.seq}")


def lasting(time: timedelta) -> str:
    """`2 days 3 h`, `1 h 2 min`, `under a minute`: how long, rounded down."""
    minutes = int(time.total_seconds() // 60)
    if minutes < 1:
        return tr("under a minute")
    days, rest = divmod(minutes, 24 * 60)
    hours, minutes = divmod(rest, 60)
    told = [trn("{n} day", "{n} days", days)] if days else []
    told += [tr("{n} h", n=hours)] if hours else []
    told += [tr("{n} min", n=minutes)] if minutes else []
    return " ".join(told[:2])
