"""The lines of a history read as entries: each line's JSON is parsed once, and its hash is of its bytes."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field, fields
from functools import cache
from itertools import pairwise
from typing import Any, NoReturn

from service.history.facts.encoding import canonical, from_json, read_time
from service.history.facts.entries import VERSION, Entry, FromPhone, phone_of
from service.history.facts.every_fact import FACTS
from service.history.proofs.merkle import leaf_hash
from service.history.verifying.findings import Finding, count, fails

_KEYS = frozenset(("v", "project", "seq", "type", "at", "by", "role", "fact"))
_FROM_PHONE = frozenset(("known", "device_at"))
_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z")


@dataclass(slots=True)
class History:
    """One item a line, in order: the entry (None where the line is none), its leaf hash, its own number.

    `faults`: what is wrong with single lines.
    """

    entries: list[Entry | None] = field(default_factory=list)
    leaves: list[bytes] = field(default_factory=list)
    seqs: list[int | None] = field(default_factory=list)
    faults: list[Finding] = field(default_factory=list)

    @property
    def whole(self) -> list[Entry] | None:
        """The entries where every line is one and they count from 1 without a gap; else None."""
        found = [entry for entry in self.entries if entry is not None]
        return found if self.seqs == list(range(1, len(self.entries) + 1)) else None

    @property
    def project(self) -> str:
        """The project the first entry names; empty where there is none."""
        return next((entry.project for entry in self.entries if entry is not None), "")


class _NotOne(ValueError):
    """The line is no entry: `code` and why."""

    def __init__(self, code: str, why: str) -> None:
        super().__init__(why)
        self.code, self.why = code, why


def read_lines(content: bytes) -> History:
    """The history as it stands in entries.jsonl. What is no entry is told, and its place kept."""
    history = History()
    *lines, rest = content.split(b"\n")
    if rest:
        told = f"entries.jsonl breaks off in the middle of its line {len(lines) + 1:,}."
        history.faults.append(fails("tail-cut", told))
    for number, line in enumerate(lines, start=1):
        history.leaves.append(leaf_hash(line))
        entry = None
        try:
            data = _parsed(line)
            entry = _entry(data)
            _check_form(line, data)
        except _NotOne as bad:
            told = f"Line {number:,} of entries.jsonl is no entry as this service writes them: {bad.why}."
            history.faults.append(fails(bad.code, told))
        history.entries.append(entry)
        history.seqs.append(entry.seq if entry else None)
    return history


def _refuse(text: str) -> NoReturn:
    raise _NotOne("not-an-entry", f"it holds {text[:40]}, and every number of an entry is whole")


def _whole(text: str) -> int:
    """RFC 8785 knows numbers as far as they are exact in every program: below 2**53."""
    found = int(text)
    if len(text) > 15 and abs(found) >= 1 << 53:
        raise _NotOne("not-an-entry", "it holds a number too large to be exact everywhere")
    return found


_decode = json.JSONDecoder(parse_int=_whole, parse_float=_refuse, parse_constant=_refuse).decode
_encode = json.JSONEncoder(
    sort_keys=True, separators=(",", ":"), ensure_ascii=False, check_circular=False
).encode


def _parsed(line: bytes) -> Any:
    try:
        return _decode(line.decode())
    except _NotOne:
        raise
    except (ValueError, RecursionError) as bad:
        raise _NotOne("not-an-entry", "it is no JSON") from bad


def _entry(data: Any) -> Entry:
    if not isinstance(data, dict) or data.keys() - _FROM_PHONE != _KEYS:
        raise _NotOne("not-an-entry", "it has not the fields of one")
    kinds = {type(data[name]) for name in ("project", "type", "at", "by", "role")}
    if kinds != {str} or type(data["seq"]) is not int or data["seq"] < 1:
        raise _NotOne("not-an-entry", "a field is not of its kind")
    if data["v"] != VERSION or type(data["v"]) is not int:
        raise _NotOne("entry-not-known", "it is of a version that this program does not know")
    kind = FACTS.get(data["type"])
    if kind is None:
        raise _NotOne("entry-not-known", f'this program does not know what "{data["type"][:60]}" is')
    if not _TIME.fullmatch(data["at"]):
        raise _NotOne("not-an-entry", "its time is not written in UTC to the microsecond")
    phone = _phone(data)
    fact = data["fact"]
    if not isinstance(fact, dict) or not fact.keys() <= _fields(data["type"]):
        raise _NotOne("not-an-entry", f"it is not told as {data['type']} is")
    try:
        at, told = read_time(data["at"]), from_json(kind, fact)
    except (KeyError, ValueError, TypeError, AttributeError, IndexError, RecursionError) as bad:
        raise _NotOne("not-an-entry", f"it is not told as {data['type']} is") from bad
    return Entry(data["project"], data["seq"], at, data["by"], data["role"], told, phone)


def _phone(data: Any) -> FromPhone | None:
    """What an entry says of the phone it waited on: a whole number, and a time where one was given."""
    known, clock = data.get("known"), data.get("device_at")
    if "known" not in data and "device_at" not in data:
        return None
    timed = "device_at" not in data or (isinstance(clock, str) and _TIME.fullmatch(clock) is not None)
    if type(known) is not int or known < 0 or not timed:
        raise _NotOne("not-an-entry", "what it says of a phone is not of its kind")
    try:
        return phone_of(data)
    except ValueError as bad:
        raise _NotOne("not-an-entry", "its phone's time is none") from bad


@cache
def _fields(type: str) -> frozenset[str]:
    return frozenset(f.name for f in fields(FACTS[type]))


def _check_form(line: bytes, data: Any) -> None:
    """Nothing where the line is the one canonical form of what it says: no other text could mean the same."""
    try:
        if _encode(data).encode() == line and line.isascii():
            return
        if canonical(data) == line:
            return
    except (ValueError, RecursionError):  # a lone surrogate, a number too large
        pass
    raise _NotOne("not-canonical", "it is not in canonical form (RFC 8785)")


# --- the order of entries --------------------------------------------------------------------------------


def order_faults(history: History, size: int | None) -> Iterator[Finding]:
    """What the entries' own numbers say: missing, doubled, swapped, cut off. `size`: the checkpoint's."""
    lines: dict[int, int] = {}
    first_of: list[int] = []
    for line, seq in enumerate(history.seqs, start=1):
        if seq is None:
            continue
        if seq in lines:
            yield fails(
                "entry-doubled", f"Entry {seq:,} is there twice: in lines {lines[seq]:,} and {line:,}."
            )
            continue
        lines[seq] = line
        first_of.append(seq)
    yield from _missing(history, set(first_of), size)
    for before, after in pairwise(first_of):
        if after < before:
            yield fails(
                "entry-swapped", f"Entry {before:,} stands before entry {after:,}: the order was changed."
            )


def _missing(history: History, there: set[int], size: int | None) -> Iterator[Finding]:
    last = max(there, default=0)
    # A line that is no entry has told of itself: its number is not missing besides.
    unread = {line for line, seq in enumerate(history.seqs, start=1) if seq is None}
    for first, end in _gaps(there | unread):
        one = "is" if first == end else "are"
        what = f"Entry {first:,}" if first == end else f"Entries {first:,} to {end:,}"
        yield fails("entry-missing", f"{what} {one} missing.")
    if size is None:
        return
    reaches = max(last, len(history.seqs))
    if reaches < size:
        told = f"The history ends after entry {reaches:,}, and its checkpoint is of {size:,}"
        yield fails("tail-cut", f"{told}: {count(size - reaches, 'entry', 'entries')} at its end cut off.")
    elif len(history.seqs) > size and last > size:
        told = f"The history goes on to entry {last:,}, and its checkpoint is of {size:,}"
        yield fails("entry-added", f"{told}: nothing vouches for what comes after.")


def _gaps(numbers: set[int]) -> Iterator[tuple[int, int]]:
    before = 0
    for number in sorted(numbers):
        if number > before + 1:
            yield before + 1, number - 1
        before = number


def stream_faults(history: History) -> Iterator[Finding]:
    """What an entry says that cannot stand where it does: of another project, or before the one before it."""
    project = history.project
    before: Entry | None = None
    for entry in history.entries:
        if entry is None:
            continue
        if entry.project != project:
            told = f"Entry {entry.seq:,} is of another project: {entry.project[:60]}."
            yield fails("other-project", told)
        if before is not None and entry.at < before.at:
            told = f"Entry {entry.seq:,} says it was written earlier than entry {before.seq:,} before it."
            yield fails("time-order", told)
        before = entry
