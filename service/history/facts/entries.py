"""One line of the history: who did what, when, in which order, and its canonical bytes and leaf hash."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from service.history.facts.encoding import canonical_told, from_json, read_time, time_text, to_json
from service.history.facts.every_fact import FACTS, Fact
from service.history.proofs.merkle import leaf_hash

__all__ = ["VERSION", "Entry", "FromPhone", "leaf_hash", "phone_of", "read_entry"]

VERSION = 1


@dataclass(frozen=True, slots=True)
class FromPhone:
    """What a phone says of something that was made on it and sent later: `known`, the newest entry of the
    project that it knew (0: none), and its own clock then. A claim: nothing is ordered by it."""

    known: int
    device_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Entry:
    """`seq` counts from 1 without a gap; `by` is a person's id, never a name; `at` is UTC. `phone`: for what
    waited on a phone before it came; most entries have none, and their bytes say nothing of it."""

    project: str
    seq: int
    at: datetime
    by: str
    role: str
    fact: Fact
    phone: FromPhone | None = None

    @property
    def type(self) -> str:
        return self.fact.type

    def content(self) -> bytes:
        """The entry as RFC 8785 bytes: what is kept, hashed and handed to others."""
        return canonical_told(
            {
                "v": VERSION,
                "project": self.project,
                "seq": self.seq,
                "type": self.fact.type,
                "at": time_text(self.at),
                "by": self.by,
                "role": self.role,
                "fact": to_json(self.fact),
                **_told(self.phone),
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
            "layout",
            "readings",
            "thickness",
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


def _told(phone: FromPhone | None) -> dict[str, Any]:
    if phone is None:
        return {}
    clock = {} if phone.device_at is None else {"device_at": time_text(phone.device_at)}
    return {"known": phone.known, **clock}


def phone_of(data: Mapping[str, Any]) -> FromPhone | None:
    """What an entry's JSON says of the phone it came from. ValueError where that cannot be read."""
    if "known" not in data:
        return None
    clock = data.get("device_at")
    return FromPhone(data["known"], None if clock is None else read_time(clock))


def read_entry(content: bytes) -> Entry:
    """An entry from its bytes. ValueError or KeyError when they are no entry of a version known here."""
    data = json.loads(content)
    if data["v"] != VERSION:
        raise ValueError(f"entry version {data['v']} is not known here")
    fact = from_json(FACTS[data["type"]], data["fact"])
    at = read_time(data["at"])
    return Entry(data["project"], data["seq"], at, data["by"], data["role"], fact, phone_of(data))
