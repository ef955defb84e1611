"""The sentences of the sources, gathered: `python -m tests.languages` renews templates/languages/*.po.

What is new comes in untranslated, what no source says any more goes; translations are never touched. Two
people may add to a catalogue at once: each sentence is an entry of its own, in the order of the sources.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import polib
from babel.messages.extract import extract, extract_javascript, extract_python
from jinja2.ext import babel_extract

ROOT = Path(__file__).parents[1]
CATALOGUES = ROOT / "templates" / "languages"
KEYWORDS = {"tr": None, "later": None, "trn": (1, 2), "trc": ((1, "c"), 2)}
Method = Callable[..., Any]


@dataclass
class Sentence:
    """One message of the sources: its plural, its context, and the files that say it."""

    one: str
    many: str = ""
    context: str = ""
    places: list[str] = field(default_factory=list)


def sources() -> Iterator[tuple[Path, Method]]:
    """Every file that may say something, with how it is read."""
    yield from ((path, extract_python) for path in sorted((ROOT / "service").rglob("*.py")))
    yield from ((path, babel_extract) for path in sorted((ROOT / "templates").rglob("*.html")))
    yield from ((path, extract_javascript) for path in sorted((ROOT / "templates" / "static").glob("*.js")))


def sentences() -> list[Sentence]:
    """All of them, in the order in which the sources say them first."""
    found: dict[tuple[str, str], Sentence] = {}
    for path, method in sources():
        name = path.relative_to(ROOT).as_posix()
        if name == "service/domain/words/speech.py":
            continue
        with path.open("rb") as file:
            for _, message, _, context in extract(method, file, KEYWORDS):
                one, many = message if isinstance(message, tuple) else (message, "")
                sentence = found.setdefault((context or "", one), Sentence(one, many, context or ""))
                sentence.many = sentence.many or many
                if name not in sentence.places:
                    sentence.places.append(name)
    return list(found.values())


def renew(path: Path) -> tuple[int, int]:
    """The catalogue with today's sentences: how many there are, and how many are not translated."""
    catalogue = polib.pofile(str(path))
    old = {(entry.msgctxt or "", entry.msgid): entry for entry in catalogue}
    made = polib.POFile(wrapwidth=110)
    made.metadata = catalogue.metadata
    for sentence in sentences():
        before = old.get((sentence.context, sentence.one))
        entry = polib.POEntry(msgid=sentence.one, occurrences=[(place, "") for place in sentence.places])
        if sentence.context:
            entry.msgctxt = sentence.context
        if sentence.many:
            entry.msgid_plural = sentence.many
            kept = before.msgstr_plural if before is not None else {}
            entry.msgstr_plural = {0: kept.get(0, ""), 1: kept.get(1, "")}
        elif before is not None:
            entry.msgstr = before.msgstr
        if before is not None:
            entry.tcomment = before.tcomment
        made.append(entry)
    made.save(str(path))
    return len(made), len(made.untranslated_entries())


def main() -> None:
    for path in sorted(CATALOGUES.glob("*.po")):
        all_, missing = renew(path)
        print(f"{path.name}: {all_} sentences, {missing} not translated", file=sys.stderr)


if __name__ == "__main__":
    main()
