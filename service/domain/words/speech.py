"""The language a sentence is said in: every sentence is written in English and looked up on the way out.

`tr("Short by {short} on the {side}", short="1/4 in", side=...)` says it in the language of whoever is being
answered. Which one that is, is ambient (`speaking`), so that a judge and its words keep the same arguments;
nothing that is judged, recorded or hashed is ever made of a translated sentence.

    tr(message, **fields)              one sentence
    trn(one, many, n, **fields)        by number; `{n}` is a field of both
    trc(context, message, **fields)    one word with two meanings: trc("zone", "open")
    later(message)                     marks a sentence of a table at module level, said with tr() when used

A sentence's fields stand in braces, by name. Where the sentence itself holds markup (templates alone), the
answer is markup and the fields are escaped. Extraction: `python -m tests.languages`.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from gettext import NullTranslations

ENGLISH = "en"


class Speech:
    """A language that sentences can be said in: its code, its own name, and its catalogue."""

    def __init__(self, code: str, name: str, catalogue: NullTranslations) -> None:
        self.code, self.name, self.catalogue = code, name, catalogue


IN_ENGLISH = Speech(ENGLISH, "English", NullTranslations())
_spoken: ContextVar[Speech] = ContextVar("spoken", default=IN_ENGLISH)


def spoken() -> Speech:
    """The language being spoken now."""
    return _spoken.get()


@contextmanager
def speaking(speech: Speech) -> Iterator[None]:
    """Everything said inside is said in this language."""
    before = _spoken.set(speech)
    try:
        yield
    finally:
        _spoken.reset(before)


def tr(message: str, /, **fields: object) -> str:
    """The sentence in the language being spoken, its fields filled in."""
    return _filled(_spoken.get().catalogue.gettext(message) if message else "", fields)


def trn(one: str, many: str, n: int, /, **fields: object) -> str:
    """The sentence for this number of things; `{n}` is the number, with its thousands set apart."""
    return _filled(_spoken.get().catalogue.ngettext(one, many, n), {"n": f"{n:,}", **fields})


def trc(context: str, message: str, /, **fields: object) -> str:
    """The sentence as it is meant in this context."""
    return _filled(_spoken.get().catalogue.pgettext(context, message), fields)


def later(message: str) -> str:
    """The message itself: it stands in a table, and is said with `tr` when somebody is there to hear it."""
    return message


def _filled(message: str, fields: dict[str, object]) -> str:
    return message.format_map(fields) if fields else message

