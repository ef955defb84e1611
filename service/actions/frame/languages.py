"""The languages the service speaks: one gettext catalogue each, and which of them a person chose."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from functools import cache
from gettext import GNUTranslations
from pathlib import Path

import polib

from service.actions.frame.desk import Desk
from service.domain.words.refusals import BadInput
from service.domain.words.speech import ENGLISH, IN_ENGLISH, Speech
from service.storage.accounts import people

CATALOGUES = Path(__file__).parents[3] / "templates" / "languages"
# `es`, and what it stands for in a header such as `es-MX,es;q=0.9,en;q=0.8` (RFC 9110 section 12.5.4).
_RANGE = re.compile(r"([A-Za-z]{2,3})(?:-[A-Za-z0-9-]+)?\s*(?:;\s*q=([0-9.]+))?\s*$")


@cache
def speeches() -> Mapping[str, Speech]:
    """Every language by its code, English first; read once."""
    found = {ENGLISH: IN_ENGLISH}
    for path in sorted(CATALOGUES.glob("*.po")):
        speech = _read(path)
        found[speech.code] = speech
    return found


def _read(path: Path) -> Speech:
    catalogue = polib.pofile(str(path), wrapwidth=0)
    said = catalogue.metadata
    return Speech(
        said["Language"], said["X-Language-Name"], GNUTranslations(io.BytesIO(catalogue.to_binary()))
    )


def speech_for(code: str) -> Speech:
    """The language of this code; English where there is no catalogue for it."""
    return speeches().get(code, IN_ENGLISH)


def best_for(header: str) -> Speech:
    """What an Accept-Language header likes best of the languages there are; English without one."""
    liked = []
    for place, part in enumerate(header.split(",")[:20]):
        found = _RANGE.match(part.strip())
        if found is None or found[1].lower() not in speeches():
            continue
        try:
            weight = float(found[2] or 1)
        except ValueError:
            continue
        liked.append((-weight, place, found[1].lower()))
    return speech_for(min(liked)[2]) if liked and min(liked)[0] < 0 else IN_ENGLISH


@cache
def words_of_scripts(code: str) -> tuple[dict[str, str | list[str]], str]:
    """What the scripts say in this language, by message (a context before it, and U+0004 between), and the
    rule that chooses among plurals, as gettext writes it: an expression over `n`."""
    catalogue = polib.pofile(str(CATALOGUES / f"{code}.po"), wrapwidth=0)
    said: dict[str, str | list[str]] = {}
    for entry in catalogue.translated_entries():
        if not any(place.endswith(".js") for place, _ in entry.occurrences):
            continue
        key = f"{entry.msgctxt}\u0004{entry.msgid}" if entry.msgctxt else entry.msgid
        plurals = [entry.msgstr_plural[i] for i in sorted(entry.msgstr_plural)]
        said[key] = plurals or entry.msgstr
    rule = re.search(r"plural=([n0-9 !=<>&|?:()%]+);", catalogue.metadata["Plural-Forms"])
    return said, rule[1] if rule else "0"


def choose_language(desk: Desk, person_id: str | None, code: str) -> Speech:
    """Keep what somebody chose, for every phone they sign in on and their mail. BadInput on `language`."""
    if code not in speeches():
        told = "There is no such language here."
        raise BadInput(told, fields={"language": told})
    if person_id is not None:
        with desk.writing() as session:
            people.choose_language(session, person_id, code)
    return speech_for(code)
