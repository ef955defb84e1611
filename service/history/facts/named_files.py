"""Which files of the store a fact names: what a record takes along, and what a check looks for."""

from __future__ import annotations

from service.history.facts.every_fact import Fact
from service.history.facts.evidence import TimestampReceived
from service.history.facts.facts import PhotoAdded, SketchAdded, SketchRevised

SKETCH, PHOTO, SMALL_PHOTO = "the sketch", "the photo", "the small photo"
TIMESTAMP, CHAIN = "the timestamp", "the chain"
NAMING = (SketchAdded, SketchRevised, PhotoAdded, TimestampReceived)  # facts that name files


def files_of(fact: Fact) -> tuple[tuple[str, str], ...]:
    """What each file is, in one of the words above, and its SHA-256."""
    match fact:
        case SketchAdded() | SketchRevised():
            return ((SKETCH, fact.sha256),)
        case PhotoAdded():
            return ((PHOTO, fact.sha256), (SMALL_PHOTO, fact.thumb_sha256))
        case TimestampReceived():
            return ((TIMESTAMP, fact.token_sha256), (CHAIN, fact.chain_sha256))
    return ()
