"""Verify a record that somebody hands in: what holds of it and what does not, without database or network."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from service.actions.record.verifying_tables import table_findings
from service.domain.words.refusals import BadInput
from service.domain.words.speech import IN_ENGLISH, speaking
from service.history.verifying.findings import Finding, Unreadable, count, fails, holds, told
from service.history.verifying.outside import read_fingerprint
from service.history.verifying.signed import MOST_NOTE_BYTES
from service.history.verifying.whole import check
from service.storage.blobs.containers import Container, opened


@dataclass(frozen=True, slots=True)
class Verified:
    """`readable` false: it is no ZIP whose files may be read, and nothing more was looked at."""

    findings: tuple[Finding, ...]
    readable: bool

    @property
    def whole(self) -> bool:
        return self.readable and all(finding.holds for finding in self.findings)

    @property
    def faults(self) -> tuple[Finding, ...]:
        return tuple(finding for finding in self.findings if not finding.holds)


def verify_record(path: Path, kept: Path | None = None, key: str | None = None) -> Verified:
    """Every finding in its fixed order. `kept`: a file with a checkpoint that somebody kept; `key`: the
    fingerprint of the key that signs, as a certificate gives it. BadInput names what cannot be taken."""
    given, asked = _key(key), _kept(kept)
    if not path.is_file():
        raise BadInput(f"There is no file {path}.", fields={"record": "There is no such file."})
    try:
        # What a record tells is worked out again in the language it is told in.
        with speaking(IN_ENGLISH), opened(path) as container:
            return Verified(tuple(_findings(container, asked, given)), readable=True)
    except Unreadable as bad:
        return Verified((fails(bad.code, bad.words),), readable=False)
    except OSError as bad:
        why = f"{path} cannot be read: {bad.strerror}."
        raise BadInput(why, fields={"record": "It cannot be read."}) from None


def _findings(container: Container, kept: bytes | None, key: str | None) -> list[Finding]:
    files = count(len(container.names), "file")
    inside = holds("zip", f"The ZIP is sound: {files}, {count(container.size, 'byte')} unpacked.")
    checked = check(container, kept, key)
    return [inside, *checked.findings, *told(table_findings(container, checked))]


def _kept(path: Path | None) -> bytes | None:
    if path is None:
        return None
    try:
        if not path.is_file():
            raise BadInput(f"There is no file {path}.", fields={"kept": "There is no such file."})
        with path.open("rb") as file:
            return file.read(MOST_NOTE_BYTES + 1)
    except OSError as bad:
        why = f"{path} cannot be read: {bad.strerror}."
        raise BadInput(why, fields={"kept": "It cannot be read."}) from None


def _key(text: str | None) -> str | None:
    try:
        return None if text is None else read_fingerprint(text)
    except ValueError as bad:
        raise BadInput(str(bad), fields={"key": str(bad)}) from None


def tell(verified: Verified, say: Callable[[str], None]) -> None:
    """Each finding as a line, and a last one that says whether the record is whole."""
    for finding in verified.findings:
        say(f"{'holds' if finding.holds else 'FAULT'}  {finding.words}")
    say(last_line(verified))


def last_line(verified: Verified) -> str:
    if not verified.readable:
        return "This cannot be read as a record: nothing of it was unpacked."
    if verified.whole:
        return "The record is whole."
    number = len(verified.faults)
    return f"The record is NOT whole: {'1 thing does' if number == 1 else f'{number:,} things do'} not hold."
