"""Reads iCalendar files by RFC 5545 alone: lines, folding, text. It imports nothing from service/.

Section 3.1: content lines end in CRLF and should be no longer than 75 octets without it; a long one is folded
by CRLF and one blank. Section 3.3.11: in TEXT, backslash, semicolon, comma and newline are escaped.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import UTC, datetime

LONGEST = 75
_ESCAPED = re.compile(r"\\(.)")
_NAME = re.compile(r"([A-Z0-9-]+)((?:;[A-Z0-9-]+=[^:;]*)*):(.*)", re.DOTALL)


@dataclass
class Component:
    """`fields`: each property's name to its value as written, still escaped."""

    name: str
    fields: dict[str, str] = field(default_factory=dict)
    inside: list[Component] = field(default_factory=list)

    def text(self, name: str) -> str:
        """A TEXT value. ValueError where a comma or a semicolon stands in it unescaped."""
        if re.search(r"[,;]", _ESCAPED.sub("", self.fields[name])):
            raise ValueError(f"not escaped: {self.fields[name]!r}")
        return _ESCAPED.sub(lambda m: "\n" if m[1] in "nN" else m[1], self.fields[name])

    def time(self, name: str) -> datetime:
        """A DATE-TIME of form 2, in UTC (3.3.5). ValueError for any other form."""
        return datetime.strptime(self.fields[name], "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC)


def lines_of(written: bytes) -> list[str]:
    """The unfolded lines. ValueError where a line is too long, or ends in anything but CRLF."""
    if not written.endswith(b"\r\n") or re.search(rb"(?<!\r)\n|\r(?!\n)", written):
        raise ValueError("a line does not end in CRLF")
    folded = written[:-2].split(b"\r\n")
    if too_long := [line for line in folded if len(line) > LONGEST]:
        raise ValueError(f"{len(too_long[0])} octets in one line")
    for line in folded:
        line.decode()  # no character is cut in two, so that programs that read line by line can show it
    return b"\r\n".join(folded).replace(b"\r\n ", b"").decode().split("\r\n")


def read(written: bytes) -> Component:
    """The one calendar of a file. ValueError for what is none."""
    whole = Component("")
    open_ones = [whole]
    for line in lines_of(written):
        found = _NAME.fullmatch(line)
        if found is None:
            raise ValueError(f"no property: {line!r}")
        name, _, value = found.groups()
        if name == "BEGIN":
            made = Component(value)
            open_ones[-1].inside.append(made)
            open_ones.append(made)
        elif name == "END":
            if open_ones.pop().name != value:
                raise ValueError(f"{value} ends, and was not open")
        elif name in open_ones[-1].fields:
            raise ValueError(f"{name} stands twice")
        else:
            open_ones[-1].fields[name] = value
    [calendar] = whole.inside
    if len(open_ones) != 1 or calendar.name != "VCALENDAR":
        raise ValueError("not one whole calendar")
    return calendar
