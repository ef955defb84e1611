"""Reads what a person gives field by field, so that one answer tells everything there is to put right."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from service.actions.frame.doing import length, temperature, words
from service.domain.words.refusals import BadInput
from service.domain.words.speech import tr

T = TypeVar("T")


def read_distance(text: str, name: str) -> int:
    """A length in nanometres; nothing is nothing in every unit. BadInput names the field."""
    return 0 if text.strip() == "0" else length(text, name, zero_ok=True)


class Asked:
    """The fields of one thing given. Every reader notes what is wrong and returns a harmless value."""

    def __init__(self, given: Mapping[str, Any]) -> None:
        self.given = given
        self.faults: dict[str, str] = {}
        self.code = ""

    def take(self, read: Callable[[], T], instead: T) -> T:
        """What `read` gives, or the harmless value where it refuses."""
        try:
            return read()
        except BadInput as bad:
            self.faults = {**bad.fields, **self.faults}
            self.code = self.code or bad.code
            return instead

    def wrong(self, name: str, told: str, code: str = "") -> None:
        """Note what is wrong with a field; the first note stands."""
        self.faults.setdefault(name, told)
        self.code = self.code or code

    def has(self, name: str) -> bool:
        """Whether anything was given there: blank text is nothing."""
        value = self.given.get(name)
        return bool(value.strip()) if isinstance(value, str) else value is not None

    def yes_or_no(self, name: str, question: str) -> bool:
        value = self.given.get(name)
        if not isinstance(value, bool):
            self.wrong(name, tr("{question} Answer yes or no.", question=question))
        return value is True

    def text(self, name: str, most: int, needed: str | None = None) -> str:
        value = self.given.get(name) or ""
        if not isinstance(value, str):
            self.wrong(name, tr("Write text."))
            return ""
        return self.take(lambda: words(value, name, most=most, needed=needed), "")

    def length(self, name: str, asked: str) -> int:
        """Nanometres; `asked` is told where nothing was given."""
        value = self.given.get(name)
        if not isinstance(value, str) or not value.strip():
            self.wrong(name, asked)
            return 0
        return self.take(lambda: length(value, name), 0)

    def distance(self, name: str, asked: str) -> int:
        """As `length`, and nothing is a distance too, with a unit or without."""
        value = self.given.get(name)
        if not isinstance(value, str) or not value.strip():
            self.wrong(name, asked)
            return 0
        return self.take(lambda: read_distance(value, name), 0)

    def temperature(self, name: str) -> int | None:
        typed = self.text(name, 40)
        return self.take(lambda: temperature(typed, name), None)

    def ids(self, name: str, most: int) -> tuple[str, ...]:
        """Ids of other things, each once."""
        given = self.given.get(name)
        if given is None:
            return ()
        listed = isinstance(given, list | tuple) and all(isinstance(item, str) for item in given)
        if not listed or len(given) > most:
            self.wrong(name, tr("The others are a list of ids, at most {most}.", most=most))
            return ()
        return tuple(dict.fromkeys(given))

    def done(self) -> None:
        """BadInput with everything that is wrong, if anything is."""
        if self.faults:
            code = self.code if len(self.faults) == 1 else ""
            told = " ".join(dict.fromkeys(self.faults.values()))
            raise BadInput(told, fields=self.faults, code=code or None)
