"""What the record is held against from outside: the fingerprint of a key that somebody has on paper."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from service.history.proofs.checkpoints import fingerprint, in_fours
from service.history.verifying.findings import Finding, fails, holds
from service.history.verifying.keys import Keys, short
from service.history.verifying.signed import Against, Signed, signature_faults

_GAPS = re.compile(r"[\s:]")
_HEX = re.compile(r"[0-9a-f]{64}")


def read_fingerprint(text: str) -> str:
    """64 hex digits, however they are spaced. ValueError says what is wrong, as a sentence."""
    found = _GAPS.sub("", text).lower()
    if not _HEX.fullmatch(found):
        raise ValueError("A key's fingerprint is 64 hex digits, as the certificate gives it.")
    return found


def key_given_findings(
    given: str, size: int, earlier: Sequence[Signed], against: Against
) -> Iterator[Finding]:
    """The history is signed with the key somebody knows, or with one that it handed over to.

    `given`: as `read_fingerprint` returns it. `size`: of the whole history.
    """
    keys = against.keys
    known = next((key for key in keys.all if fingerprint(key) == given), None)
    if known is None:
        now = keys.at(size)
        who = f" It is signed with {in_fours(fingerprint(now[0]))}." if now else ""
        yield fails("key-other", f"This history is not signed with the key {in_fours(given)}.{who}")
        return
    for seq in _handed(keys, known):
        if not _attested(seq, earlier, against):
            told = (
                f"The key {short(known)} signed this history up to entry {seq - 1:,}. That it handed over to "
                "the next key is only said here: no checkpoint that both signed is in the record."
            )
            yield fails("key-not-handed-over", told)
            return
    if keys.at(size)[:1] == [known]:
        yield holds("key", f"It is signed with the key that was given, {in_fours(given)}.")
    else:
        yield holds(
            "key", f"The key that was given, {in_fours(given)}, signed it and handed over to the next."
        )


def _handed(keys: Keys, known: bytes) -> list[int]:
    """The entries from which on another key signed, after the last that `known` signed."""
    last = keys.last_of(known)
    return [] if last is None else [start for start, _ in keys.spans if start > last]


def _attested(seq: int, earlier: Sequence[Signed], against: Against) -> bool:
    """Whether the checkpoint of a change of key is here, fits, and is signed with both keys."""
    both = set(against.keys.at(seq))
    for signed in earlier:
        checkpoint = signed.checkpoint
        if checkpoint.size == seq and against.roots.at(seq) == checkpoint.root and len(both) == 2:
            return len(signed.note.signatures) == 2 and not list(signature_faults(signed, against))
    return False


NO_ANCHOR = holds(
    "no-anchor",
    "Nothing from outside was given to hold it against. Whoever holds the signing key could have written all "
    "of it anew: compare the fingerprint with the one on a certificate, or give a checkpoint that was kept.",
)
