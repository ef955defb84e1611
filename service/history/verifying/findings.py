"""One thing that holds of a record or does not, and what a record's files are to whoever checks them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

# More of one kind than this are counted and not told one by one: nobody reads a thousand lines.
MOST_OF_A_KIND = 20


@dataclass(frozen=True, slots=True)
class Finding:
    """`code` is stable, for programs; `words` is a whole sentence or two, for people."""

    holds: bool
    code: str
    words: str


class Unreadable(ValueError):
    """A file of the record that cannot be read: `code` and the sentence that says why."""

    def __init__(self, code: str, words: str) -> None:
        super().__init__(words)
        self.code, self.words = code, words


class Files(Protocol):
    """The files of a record. Each name is there once."""

    @property
    def names(self) -> Sequence[str]:
        """In the order in which the record holds them."""

    def content(self, name: str, most: int) -> bytes:
        """All of a file of at most so many bytes. KeyError when it is not there, Unreadable."""

    def hashed(self, name: str) -> tuple[str, int]:
        """Hex SHA-256 and size of a file, never held whole. KeyError when it is not there, Unreadable."""


def holds(code: str, words: str) -> Finding:
    return Finding(True, code, words)


def fails(code: str, words: str) -> Finding:
    return Finding(False, code, words)


def told(findings: Iterable[Finding]) -> Iterator[Finding]:
    """The findings, of each kind of fault no more than a person reads, and how many more there are."""
    counts: dict[str, int] = {}
    for finding in findings:
        if not finding.holds:
            counts[finding.code] = counts.get(finding.code, 0) + 1
        if finding.holds or counts[finding.code] <= MOST_OF_A_KIND:
            yield finding
    for code, count in counts.items():
        if count > MOST_OF_A_KIND:
            yield fails(code, f"And {count - MOST_OF_A_KIND:,} more of this kind ({code}).")


def count(number: int, one: str, many: str | None = None) -> str:
    """`1 entry`, `1,200 entries`."""
    return f"1 {one}" if number == 1 else f"{number:,} {many or one + 's'}"


def runs(numbers: Iterable[int]) -> list[tuple[int, int]]:
    """Ascending numbers as first and last of every run without a gap."""
    found: list[tuple[int, int]] = []
    for number in numbers:
        if found and number == found[-1][1] + 1:
            found[-1] = (found[-1][0], number)
        else:
            found.append((number, number))
    return found


def named(first: int, last: int) -> str:
    """`Entry 7`, `Entries 7 to 9`."""
    return f"Entry {first:,}" if first == last else f"Entries {first:,} to {last:,}"


def listed(items: Sequence[str]) -> str:
    """`a, b and c`, no more than five of them by name."""
    shown = [*items[:5], *([f"{len(items) - 5:,} more"] if len(items) > 5 else [])]
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"
