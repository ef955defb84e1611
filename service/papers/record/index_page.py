"""index.html of a record: everything in it to read and to open, from disk, with no script and no network."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

TEMPLATES = Path(__file__).parents[3] / "templates"
LETTERS = TEMPLATES / "static" / "vendor" / "atkinson-hyperlegible-5.3.0"


@dataclass(frozen=True, slots=True)
class Link:
    """`href`: a path inside the record; `small`: said below."""

    href: str
    words: str
    small: str = ""


@dataclass(frozen=True, slots=True)
class ZoneLine:
    """A zone as it stood. `kind`: the line that tells its state; `why`: the first reasons against it."""

    letter: str
    name: str
    kind: str
    state: str
    why: tuple[str, ...]
    more: str
    certificates: tuple[Link, ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture shown small. `alt`: what it shows; `width`, `height`: in pixels."""

    href: str
    width: int
    height: int
    alt: str
    words: str


@dataclass(frozen=True, slots=True)
class Shown:
    """The photos of one thing, by its tag."""

    tag: str
    pictures: tuple[Picture, ...]


@dataclass(frozen=True, slots=True)
class Told:
    """An entry as a sentence."""

    seq: int
    words: str
    when: str
    role: str


@dataclass(frozen=True, slots=True)
class IndexPage:
    """`templates/record/index.html`. `facts`: pairs (term, words); `fingerprint`: in fours, in
    pieces that stay whole;
    `history_told`: how much of the history stands on the page; `lost`: what is missing or damaged."""

    name: str
    up_to: int
    facts: tuple[tuple[str, str], ...]
    zones: tuple[ZoneLine, ...]
    papers: tuple[Link, ...]
    proof: tuple[Link, ...]
    tables: tuple[Link, ...]
    sketches: tuple[Link, ...]
    photos: tuple[Shown, ...]
    key_href: str
    fingerprint: tuple[str, ...]
    history: tuple[Told, ...]
    history_told: str
    lost: tuple[str, ...]
    honesty: str


def index_html(page: IndexPage) -> str:
    """The page, everything typed by people escaped."""
    return _environment().get_template("record/index.html").render(page=page, letters=_letters())


@cache
def _environment() -> Environment:
    return Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )


@cache
def _letters() -> dict[str, str]:
    """The page's letters in base64, by weight: the page is whole by itself."""
    return {
        weight: base64.b64encode(
            (LETTERS / f"atkinson-hyperlegible-latin-{weight}-normal.woff2").read_bytes()
        ).decode()
        for weight in ("400", "700")
    }
