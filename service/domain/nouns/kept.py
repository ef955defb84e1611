"""Two nouns that no rule reads: photos, and links by which a ready list is read."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Photo:
    """`subject` is the id of the defect, patch or zone it shows; blobs are named by their SHA-256."""

    id: str
    subject: str
    zone_id: str
    sha256: str
    thumb_sha256: str
    width_px: int
    height_px: int
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class ReadyLink:
    """A page by link that says which zones are ready. `token_sha256` is the link's hash; `withdrawn`: why it
    stopped working."""

    id: str
    label: str
    token_sha256: str
    by: str
    at: datetime
    withdrawn: str | None
