"""Which key signs the history when, as its own entries tell it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from service.history.facts.entries import Entry
from service.history.facts.evidence import CheckpointGiven, KeyChanged, RecordMade
from service.history.proofs.checkpoints import fingerprint, in_fours, public_key
from service.history.verifying.findings import Files, Finding, Unreadable, fails, holds
from service.history.verifying.records import KEYS, key_files

MOST_KEY_BYTES = 64 * 1024


@dataclass(slots=True)
class Keys:
    """`spans`: from which entry on which key (32 bytes) signs. `handed`: entry to the key before it,
    where a key took the place of another and both may sign."""

    spans: list[tuple[int, bytes]] = field(default_factory=list)
    handed: dict[int, bytes] = field(default_factory=dict)
    faults: list[Finding] = field(default_factory=list)

    @property
    def all(self) -> list[bytes]:
        return list(dict.fromkeys(key for _, key in self.spans))

    def at(self, size: int) -> list[bytes]:
        """The keys that may sign the checkpoint of this size: the one in force first."""
        now = next((key for start, key in reversed(self.spans) if start <= size), None)
        before = self.handed.get(size)
        return [key for key in (now, before) if key is not None]

    def last_of(self, key: bytes) -> int | None:
        """The last entry before another key took over; None for the key in force at the end."""
        places = [place for place, (_, other) in enumerate(self.spans) if other == key]
        after = places[-1] + 1 if places else len(self.spans)
        return self.spans[after][0] - 1 if after < len(self.spans) else None


def keys_of(entries: Iterable[Entry]) -> Keys:
    """The keys in force, and every change of key that no entry tells."""
    keys = Keys()
    for entry in entries:
        fact = entry.fact
        if not isinstance(fact, CheckpointGiven | RecordMade | KeyChanged):
            continue
        try:
            _take(keys, entry.seq, fact)
        except ValueError:
            keys.faults.append(fails("key-unreadable", f"Entry {entry.seq:,} names a key that is none."))
    return keys


def _take(keys: Keys, seq: int, fact: CheckpointGiven | RecordMade | KeyChanged) -> None:
    told = public_key(fact.before if isinstance(fact, KeyChanged) else fact.key)
    if not keys.spans:
        keys.spans.append((1, told))
    elif keys.spans[-1][1] != told:
        words = (
            f"Entry {seq:,} says that the key {short(told)} signs the history. Before it, "
            f"{short(keys.spans[-1][1])} did, and no entry tells of a change."
        )
        keys.faults.append(fails("key-changed-unsaid", words))
        keys.spans.append((seq, told))
    if isinstance(fact, KeyChanged):
        keys.handed[seq] = told
        keys.spans.append((seq, public_key(fact.key)))


def short(key: bytes) -> str:
    """The first 16 hex digits of a key's fingerprint, in fours."""
    return in_fours(fingerprint(key)[:16])


def key_findings(files: Files, project: str, keys: Keys) -> Iterator[Finding]:
    """keys.txt and the keys as PEM are those that the entries name, no more and no less."""
    yield from keys.faults
    wanted = key_files(project, keys.all)
    extra = [name for name in files.names if name.startswith("keys/") and name not in wanted]
    wrong = []
    for name, text in wanted.items():
        try:
            content = files.content(name, MOST_KEY_BYTES)
        except (KeyError, Unreadable):
            continue  # told where all files are
        if not _same(name, content.decode("utf-8", "replace"), text):
            wrong.append(name)
    for name in sorted(wrong):
        yield fails("key-file", f"{name} does not hold what the history's entries name.")
    for name in sorted(extra):
        yield fails("key-file", f"{name} is a key that no entry of the history names.")
    if not (wrong or extra or keys.faults) and keys.spans:
        yield holds("keys", _said(keys))


def _same(name: str, content: str, text: str) -> bool:
    """The lines of keys.txt may come in any order."""
    return (
        sorted(content.splitlines(True)) == sorted(text.splitlines(True)) if name == KEYS else content == text
    )


def _said(keys: Keys) -> str:
    if len(keys.spans) == 1:
        return "One key signs the history from its first entry to its last."
    changes = ", ".join(f"{start:,}" for start, _ in keys.spans[1:])
    return f"The key that signs the history was changed at entry {changes}, and entries tell of it."
