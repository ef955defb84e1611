"""Form bodies into typed values: errors by field, and everything typed kept to be given back.

    def save(desk: TheDesk, person: Signed, form: Typed) -> Response:
        name = form.text("name", most=120, needed="Give the zone a name.")
        distance = form.length("distance")
        if form.errors:
            return HTMLResponse(render("office/page.html", Page(values=form.values), errors=form.errors), 422)

Every reader notes what is wrong in `errors` and then returns a harmless value of its type, so that one look
tells everything there is to put right. Refusals of the rules join in with `form.refused(refusal)`.
"""

from __future__ import annotations

from collections.abc import AsyncIterator, Collection
from datetime import UTC, datetime, timedelta
from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import Depends
from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request

from service.domain.words.measures import BadLength, parse_length
from service.domain.words.refusals import Refusal
from service.domain.words.speech import tr

MOST_FILES, MOST_FIELDS = 5, 500  # an outline typed by its corners has two fields a corner


class Form:
    """What was sent. `values`: name of a field to the text typed (the last, if sent twice)."""

    def __init__(self, data: FormData) -> None:
        self._data = data
        self.errors: dict[str, str] = {}
        self.refusal: Refusal | None = None  # what the rules said to the form as a whole, when it was sent
        self.values: dict[str, str] = {
            name: value for name, value in data.multi_items() if isinstance(value, str)
        }

    def wrong(self, name: str, words: str) -> None:
        """Note what is wrong with a field; the first note stands. Name "" is for the whole form."""
        self.errors.setdefault(name, words)

    def refused(self, refusal: Refusal) -> None:
        """Note a refusal: beside the fields it names, or for the whole form."""
        for name, words in (refusal.fields or {"": refusal.message}).items():
            self.wrong(name, words)

    def value(self, name: str) -> str:
        """The text of a field as typed, or nothing."""
        return self.values.get(name, "")

    def has(self, name: str) -> bool:
        """True when the field was sent at all: which button was pressed, for example."""
        return name in self._data

    def text(self, name: str, *, most: int = 2000, needed: str = "") -> str:
        """Trimmed text. `needed`: what to say when it is empty; without it empty is fine."""
        text = self.value(name).replace("\r\n", "\n").strip()
        if not text and needed:
            self.wrong(name, needed)
        if len(text) > most:
            self.wrong(
                name,
                tr(
                    "Keep it to {most} characters; this has {count}.",
                    most=f"{most:,}",
                    count=f"{len(text):,}",
                ),
            )
        if "\x00" in text:
            self.wrong(name, tr("This holds a character that cannot be kept."))
        return text

    def many(self, name: str) -> list[str]:
        """Every text sent under one name, in order."""
        return [value for value in self._data.getlist(name) if isinstance(value, str)]

    def length(self, name: str, *, zero_ok: bool = False, needed: bool = True) -> int:
        """A length in nanometres. A bare number takes the unit that stood beside it, sent as NAME_unit."""
        typed = self.value(name).strip()
        if not typed and not needed:
            return 0
        if not typed:
            self.wrong(name, tr("Write a length with its unit, like 6 in or 150 mm."))
            return 0
        try:
            return parse_length(self.with_unit(name), zero_ok=zero_ok)
        except BadLength as bad:
            self.wrong(name, str(bad))
            return 0

    def with_unit(self, name: str) -> str:
        """The text of a length field with the unit beside it, where it has none of its own."""
        typed, unit = self.value(name).strip(), self.value(f"{name}_unit")
        bare = typed and not any(sign.isalpha() or sign in "'\"′″’”" for sign in typed)
        return f"{typed} {unit}" if bare and unit in ("in", "ft", "mm", "m") else typed

    def whole(self, name: str, *, least: int | None = None, most: int | None = None) -> int:
        """A whole number."""
        try:
            number = int(self.value(name).strip())
        except ValueError:
            self.wrong(name, tr("Write a whole number."))
            return least or 0
        if (least is not None and number < least) or (most is not None and number > most):
            self.wrong(
                name,
                tr("Write a number from {least} to {most}.", least=least, most=most)
                if most
                else tr("At least {least}.", least=least),
            )
        return number

    def choice(self, name: str, options: Collection[str], *, needed: str = "Choose one.") -> str:
        """One of the options; anything else, or nothing, is an error."""
        chosen = self.value(name)
        if chosen not in options:
            self.wrong(name, needed)
            return next(iter(options))
        return chosen

    def flag(self, name: str) -> bool:
        """True when the box was ticked."""
        return self.value(name) not in ("", "no", "off", "false", "0")

    def moment(self, name: str, time_zone: str, *, needed: str = "") -> datetime | None:
        """A day and time of the project's time zone (`2026-11-26T06:30`, or with a space), in UTC.

        A time that the clocks leave out in spring is an error; of one that comes twice the first is taken.
        """
        typed = self.value(name).strip()
        if not typed:
            if needed:
                self.wrong(name, needed)
            return None
        try:
            plain = datetime.fromisoformat(typed.replace(" ", "T", 1))
        except ValueError:
            plain = None
        if plain is None or plain.tzinfo is not None or not 1 < plain.year < 9999:
            self.wrong(name, tr("Write the day and time as 2026-11-26 06:30."))
            return None
        local = plain.replace(tzinfo=ZoneInfo(time_zone))
        if local.astimezone(UTC).astimezone(local.tzinfo).replace(tzinfo=None) != plain:
            later = (plain + timedelta(hours=1)).strftime("%H:%M")
            self.wrong(
                name,
                tr(
                    "The clocks go forward then: there is no such time that day. {time} perhaps?",
                    time=later,
                ),
            )
            return None
        return local.astimezone(UTC)

    def file(self, name: str) -> UploadFile | None:
        """A file that was chosen, or None. Its bytes are in `.file`; its name is never to be trusted."""
        found = self._data.get(name)
        return found if isinstance(found, UploadFile) and (found.filename or found.size) else None

    def sent(self) -> bytes:
        """Every field but the request key, in order, as bytes: what makes two sendings the same one."""
        parts = []
        for name, value in self._data.multi_items():
            if name == "request_key":
                continue
            text = value if isinstance(value, str) else f"{value.filename} {value.size}"
            parts.append(f"{len(name)}:{name}={len(text)}:{text}")
        return "\n".join(parts).encode("utf-8", "surrogatepass")


async def typed(request: Request) -> AsyncIterator[Form]:
    """The form of a request; its files are closed when the answer is sent."""
    async with request.form(max_files=MOST_FILES, max_fields=MOST_FIELDS) as data:
        request.state.form = Form(data)
        yield request.state.form


Typed = Annotated[Form, Depends(typed)]
