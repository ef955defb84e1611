"""Names against the salted hashes that the history tells: one that opens no hash of its person is another."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence

from service.history.facts.entries import Entry
from service.history.facts.facts import PersonJoined
from service.history.verifying.findings import Finding, count, fails, holds


def name_findings(rows: Sequence[Mapping[str, str]], entries: Iterable[Entry]) -> Iterator[Finding]:
    """Each row of names.csv (person, name, salt, name_sha256) opens a hash that its person joined by."""
    told: dict[str, set[str]] = defaultdict(set)
    for entry in entries:
        if isinstance(entry.fact, PersonJoined):
            told[entry.fact.person].add(entry.fact.name_sha256)
    faults = [fault for row in rows for fault in _faults(row, told)]
    yield from faults
    if not faults and rows:
        one = "1 name opens the hash" if len(rows) == 1 else f"{count(len(rows), 'name')} open the hashes"
        yield holds("names", f"{one} that the history tells of people.")


def _faults(row: Mapping[str, str], told: Mapping[str, set[str]]) -> Iterator[Finding]:
    person, sha256 = row.get("person", ""), row.get("name_sha256", "")
    if not sha256 or sha256 not in told.get(person, ()):
        yield fails("name-not-told", f"names.csv gives person {person[:60]} a hash that no entry tells.")
    elif not any(_opens(name, row.get("salt", ""), sha256) for name in _readings(row.get("name", ""))):
        yield fails(
            "name-does-not-open", f"The name in names.csv of person {person[:60]} does not open its hash."
        )


def _readings(cell: str) -> Iterator[str]:
    """As it is written; and without the mark in front of what a spreadsheet would run as a formula."""
    yield cell
    if cell.startswith("'"):
        yield cell[1:]


def _opens(name: str, salt: str, sha256: str) -> bool:
    try:
        return hashlib.sha256(bytes.fromhex(salt) + name.encode()).hexdigest() == sha256
    except ValueError:
        return False
