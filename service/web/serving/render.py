"""Pages from templates: one strict Jinja environment, filters that only format, hashed static addresses."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import TypedDict, Unpack
from zoneinfo import ZoneInfo

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from service.actions.frame.languages import speeches
from service.domain.words.speech import later, spoken, tr, trc, trn
from service.web.serving.gathered import gather
from service.web.serving.static import StaticFiles
from service.web.serving.type_size import larger
from service.web.serving.words import words_files, words_name

TEMPLATES = Path(__file__).parents[3] / "templates"
STATIC = StaticFiles(TEMPLATES / "static", more=words_files)
RECORD_SENTENCE = later(
    "A quality record, not engineering advice. The local code, the engineer of record, the material maker's "
    "instructions and licensed radon professionals come first."
)


@dataclass(frozen=True, slots=True)
class Way:
    """One link of the page's head; `here` marks the page being shown."""

    text: str
    href: str
    here: bool = False


class Shell(TypedDict, total=False):
    """What the skeleton shows round a page; everything may be left out.

    `errors` maps a field's name to its message, in page order; the name "" is a trouble of the whole form.
    """

    project: str
    project_href: str
    person: str
    person_id: str
    role: str
    project_id: str
    zone_id: str
    known: int  # the newest entry of the project that the page was made from; 0 where it does not matter
    phone: bool  # a page that lives on the phone and is nobody's
    ways: Sequence[Way]
    sign_out_href: str
    told: int  # messages that whoever looks has not read
    cautions: Sequence[str]
    errors: Mapping[str, str]
    said: str  # one sentence about what was just done, shown once at the top


BARE: Shell = {
    "project": "",
    "project_href": "/",
    "person": "",
    "person_id": "",
    "role": "",
    "project_id": "",
    "zone_id": "",
    "known": 0,
    "phone": False,
    "ways": (),
    "sign_out_href": "/sign-out",
    "told": 0,
    "cautions": (),
    "errors": {},
    "said": "",
}


def day(at: datetime, zone: str) -> str:
    """`Thu 26 Nov 2026` in the project's time zone."""
    local = at.astimezone(ZoneInfo(zone))
    weekday, month = weekdays()[local.weekday()], months()[local.month - 1]
    return tr("{weekday} {day} {month} {year}", weekday=weekday, day=local.day, month=month, year=local.year)


def clock(at: datetime, zone: str) -> str:
    """`6:30 am` in the project's time zone."""
    local = at.astimezone(ZoneInfo(zone))
    time = f"{local.hour % 12 or 12}:{local:%M}"
    return tr("{time} am", time=time) if local.hour < 12 else tr("{time} pm", time=time)


def moment(at: datetime, zone: str) -> str:
    """`Thu 26 Nov 2026, 6:30 am` in the project's time zone."""
    return tr("{day}, {time}", day=day(at, zone), time=clock(at, zone))


def weekdays() -> tuple[str, ...]:
    """Monday first, as short as on a calendar."""
    return (
        trc("weekday", "Mon"), trc("weekday", "Tue"), trc("weekday", "Wed"), trc("weekday", "Thu"),
        trc("weekday", "Fri"), trc("weekday", "Sat"), trc("weekday", "Sun"),
    )  # fmt: skip


def months() -> tuple[str, ...]:
    """January first, as short as on a calendar."""
    return (
        trc("month", "Jan"), trc("month", "Feb"), trc("month", "Mar"), trc("month", "Apr"),
        trc("month", "May"), trc("month", "Jun"), trc("month", "Jul"), trc("month", "Aug"),
        trc("month", "Sep"), trc("month", "Oct"), trc("month", "Nov"), trc("month", "Dec"),
    )  # fmt: skip


@cache
def environment() -> Environment:
    """The one environment: undefined names are errors, everything is escaped, blocks leave no blank lines."""
    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    made.filters.update(day=day, clock=clock, moment=moment)
    made.globals.update(static=STATIC.url, record_sentence=RECORD_SENTENCE)
    made.globals.update(tr=_said, trn=_counted, trc=_meant)
    return made


def _said(message: str, /, **fields: object) -> str:
    return _set(tr(message), fields)


def _counted(one: str, many: str, n: int, /, **fields: object) -> str:
    still = {name: f"{{{name}}}" for name in ("n", *fields)}
    return _set(trn(one, many, n, **still), {"n": f"{n:,}", **fields})


def _meant(context: str, message: str, /, **fields: object) -> str:
    return _set(trc(context, message), fields)


def _set(message: str, fields: dict[str, object]) -> str:
    """A sentence of a template with its fields set in. Where it holds markup it is markup, and the fields are
    escaped: what a catalogue says is the project's own, what stands in the fields is anybody's."""
    if "<" in message:
        return Markup(message).format_map(fields) if fields else Markup(message)  # noqa: S704
    return message.format_map(fields) if fields else message


def render(template: str, page: object, **shell: Unpack[Shell]) -> str:
    """HTML of a template below templates/; it sees `page` (decided, nothing left to work out) and `shell`."""
    speech = spoken()
    html = (
        environment()
        .get_template(template)
        .render(
            page=page,
            shell={**BARE, **shell},
            lang=speech.code,
            other_languages=[other for code, other in speeches().items() if code != speech.code],
            words_name=words_name(),
            larger=larger(),
        )
    )
    return gather(html, STATIC.together)
