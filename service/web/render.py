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

from service.web.static import StaticFiles

TEMPLATES = Path(__file__).parents[2] / "templates"
STATIC = StaticFiles(TEMPLATES / "static")
RECORD_SENTENCE = (
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

    lang: str
    project: str
    project_href: str
    person: str
    person_id: str
    role: str
    ways: Sequence[Way]
    sign_out_href: str
    cautions: Sequence[str]
    errors: Mapping[str, str]
    said: str  # one sentence about what was just done, shown once at the top


BARE: Shell = {
    "lang": "en",
    "project": "",
    "project_href": "/",
    "person": "",
    "person_id": "",
    "role": "",
    "ways": (),
    "sign_out_href": "/sign-out",
    "cautions": (),
    "errors": {},
    "said": "",
}


def many(count: int, one: str, more: str = "") -> str:
    """`1 mark`, `3 marks`, `1,204 marks`; `more` is given where the plural is not just an s."""
    return f"{count:,} {one if count == 1 else more or one + 's'}"


def day(at: datetime, zone: str) -> str:
    """`Thu 26 Nov 2026` in the project's time zone."""
    local = at.astimezone(ZoneInfo(zone))
    return f"{local:%a} {local.day} {local:%b %Y}"


def clock(at: datetime, zone: str) -> str:
    """`6:30 am` in the project's time zone."""
    local = at.astimezone(ZoneInfo(zone))
    return f"{local.hour % 12 or 12}:{local:%M} {'am' if local.hour < 12 else 'pm'}"


def moment(at: datetime, zone: str) -> str:
    """`Thu 26 Nov 2026, 6:30 am` in the project's time zone."""
    return f"{day(at, zone)}, {clock(at, zone)}"


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
    made.filters.update(many=many, day=day, clock=clock, moment=moment)
    made.globals.update(static=STATIC.url, record_sentence=RECORD_SENTENCE)
    return made


def render(template: str, page: object, **shell: Unpack[Shell]) -> str:
    """HTML of a template below templates/; it sees `page` (decided, nothing left to work out) and `shell`."""
    return environment().get_template(template).render(page=page, shell={**BARE, **shell})
