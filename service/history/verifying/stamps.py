"""Timestamps against the history and the checkpoints they are over: each verified as of its own moment."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator

from service.history.facts.entries import Entry
from service.history.facts.evidence import TimestampReceived
from service.history.proofs.timestamps import MOST_BYTES, BadStamp, check_stamp
from service.history.verifying.findings import Files, Finding, Unreadable, fails, holds

MOST_CHAIN_BYTES = 1024 * 1024


def stamp_findings(files: Files, entries: Iterable[Entry]) -> Iterator[Finding]:
    """Of each checkpoint that was stamped, the first stamp: the record holds that one."""
    first: dict[int, TimestampReceived] = {}
    for entry in entries:
        if isinstance(entry.fact, TimestampReceived):
            first.setdefault(entry.fact.size, entry.fact)
    for size, fact in sorted(first.items()):
        finding = _stamp(files, size, fact)
        if finding is not None:
            yield finding


def _stamp(files: Files, size: int, fact: TimestampReceived) -> Finding | None:
    try:
        token = files.content(f"timestamps/{size}.tsr", MOST_BYTES)
        chain = files.content(f"timestamps/{size}.pem", MOST_CHAIN_BYTES)
        note = files.content(f"checkpoints/{size}", MOST_BYTES)
    except (KeyError, Unreadable):
        return None  # told where all files are
    found = hashlib.sha256(token).hexdigest(), hashlib.sha256(chain).hexdigest()
    if found != (fact.token_sha256, fact.chain_sha256):
        told = f"The timestamp of checkpoint {size:,} is not the one that the history tells of."
        return fails("timestamp-changed", told)
    try:
        at = check_stamp(token, chain, note)
    except BadStamp as bad:
        return fails("timestamp", f"The timestamp of checkpoint {size:,} does not hold: {bad}.")
    if at != fact.stamped_at:
        told = f"The timestamp of checkpoint {size:,} is of {at}, and the history tells of {fact.stamped_at}."
        return fails("timestamp", told)
    moment = at.strftime("%Y-%m-%d %H:%M:%S UTC")
    return holds(
        "timestamp",
        f"An authority saw checkpoint {size:,} on {moment}: by its signature, as of then, and the chain of "
        "certificates kept beside it.",
    )
