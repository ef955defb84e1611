"""One line of the history: who did what, when, in which order, and its canonical bytes and leaf hash."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime

from service.history.encoding import canonical, from_json, read_time, time_text, to_json
from service.history.every_fact import FACTS, Fact
from service.history.merkle import leaf_hash

__all__ = ["VERSION", "Entry", "leaf_hash", "read_entry"]

VERSION = 1


@dataclass(frozen=True, slots=True)
class Entry:
    """`seq` counts from 1 without a gap; `by` is a person's id, never a name; `at` is UTC."""

    project: str
    seq: int
    at: datetime
    by: str
    role: str
    fact: Fact

    @property
    def type(self) -> str:
        return self.fact.type

    def content(self) -> bytes:
        """The entry as RFC 8785 bytes: what is kept, hashed and handed to others."""
        return canonical(
            {
                "v": VERSION,
                "project": self.project,
                "seq": self.seq,
                "type": self.fact.type,
                "at": time_text(self.at),
                "by": self.by,
                "role": self.role,
                "fact": to_json(self.fact),
            }
        )

    @property
    def zone(self) -> str | None:
        """The zone an entry belongs to, or None for the project's own."""
        return getattr(self.fact, "zone", None)

    @property
    def tag(self) -> str | None:
        return getattr(self.fact, "tag", None) or None

    @property
    def subject(self) -> tuple[str, str]:
        """Kind and id of the thing the entry is about."""
        for kind in (
            "patch",
            "repair",
            "defect",
            "wall",
            "photo",
            "hold",
            "release",
            "penetration",
            "seam",
            "termination",
            "lot",
            "material",
            "link",
            "zone",
            "sketch",
            "person",
            "invitation",
        ):
            found = getattr(self.fact, kind, None)
            if isinstance(found, str):
                return kind, found
        return "project", self.project


def read_entry(content: bytes) -> Entry:
    """An entry from its bytes. ValueError or KeyError when they are no entry of a version known here."""
    data = json.loads(content)
    if data["v"] != VERSION:
        raise ValueError(f"entry version {data['v']} is not known here")
    fact = from_json(FACTS[data["type"]], data["fact"])
    return Entry(data["project"], data["seq"], read_time(data["at"]), data["by"], data["role"], fact)
