"""Facts about the history itself: checkpoints that left the building, keys, names erased, links to read by.

None of them moves the gate: they say what was handed to whom, so that it can be held against us later.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

# How a checkpoint leaves: kept by a person, on a release's certificate, to a timestamp authority.
WAYS = ("download", "certificate", "timestamp")


@dataclass(frozen=True, slots=True)
class CheckpointGiven:
    """The checkpoint whose size is this entry's own number leaves the building. `key`: base64, 32 bytes."""

    type: ClassVar[str] = "checkpoint-given"
    way: str
    key: str


@dataclass(frozen=True, slots=True)
class RecordMade:
    """A record leaves with the checkpoint of this entry's number. Its tables tell the site after entry
    `up_to`; `manifest_sha256` names the list of all its files."""

    type: ClassVar[str] = "record-made"
    up_to: int
    manifest_sha256: str
    key: str


@dataclass(frozen=True, slots=True)
class KeyChanged:
    """From this entry on the log is signed with another key; where the old one was at hand, it signs this
    checkpoint too. Both in base64."""

    type: ClassVar[str] = "key-changed"
    before: str
    key: str


@dataclass(frozen=True, slots=True)
class NameErased:
    """The name and the salt behind a person's entries were erased; what they did stays."""

    type: ClassVar[str] = "name-erased"
    person: str


@dataclass(frozen=True, slots=True)
class PasswordLinkMade:
    """A link with which this person can choose a new password. Whoever was given it could act as them."""

    type: ClassVar[str] = "password-link-made"
    person: str


@dataclass(frozen=True, slots=True)
class PasswordLinkUsed:
    type: ClassVar[str] = "password-link-used"
    person: str


@dataclass(frozen=True, slots=True)
class TimestampReceived:
    """An authority's word (RFC 3161) that the checkpoint of `size` was there at `stamped_at`."""

    type: ClassVar[str] = "timestamp-received"
    size: int
    token_sha256: str
    chain_sha256: str
    stamped_at: datetime


@dataclass(frozen=True, slots=True)
class ReadyListOpened:
    """A page by link that says which zones are ready. Only the link's hash is kept."""

    type: ClassVar[str] = "ready-list-opened"
    link: str
    label: str
    token_sha256: str


@dataclass(frozen=True, slots=True)
class ReadyListWithdrawn:
    type: ClassVar[str] = "ready-list-withdrawn"
    link: str
    label: str
    reason: str
