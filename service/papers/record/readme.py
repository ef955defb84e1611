"""README.txt of a record: what each file is, what is proved, and the steps to prove it by hand."""

from __future__ import annotations

from collections.abc import Sequence

from service.domain.nouns.rules import not_asked_for
from service.domain.nouns.site import Project
from service.history.proofs.checkpoints import fingerprint, in_fours

HONESTY = (
    "A record is evidence against later change by anyone, provided one checkpoint left our hands before the\n"
    "change. Whoever holds the service and its key can write a whole history anew and sign it: only a\n"
    "checkpoint, a certificate on paper or a timestamp kept from before shows that. Keep one."
)


def readme(
    project: Project, up_to: int, key: bytes, *, stamped: Sequence[int], missing: Sequence[str],
    damaged: Sequence[str],
) -> str:  # fmt: skip
    """The text. `key`: the one that signs the checkpoint; `stamped`: sizes that have a timestamp here."""
    parts = (
        _about(project),
        _files(project, up_to),
        _proof(key),
        _by_hand(fingerprint(key)),
        *(_stamps(stamped) if stamped else ()),
        _lost(missing, damaged),
    )
    return "\n".join(parts)


def _about(project: Project) -> str:
    return f"""The record of "{project.name}"

This is a quality record of the film under a slab: what was found, how it was patched, which zones were
released, by whom and when. It is not engineering advice and does not replace the engineer of record, the
local code or the film maker's instructions.

Open index.html in a browser to read it. To prove it, with no network:

    python3 verify.py
"""


def _files(project: Project, up_to: int) -> str:
    unasked = ", ".join(not_asked_for(project.sheet)) or "nothing"
    return f"""WHAT IS IN IT

index.html      this record to read: the project, its zones, its history in sentences.
closeout.pdf    what lies under the slab, who did what and when, with drawings true to scale.
certificates/   a page for each release, named by the zone's letter and the number of the release's entry.
entries.jsonl   the history, one entry a line, in order: the exact bytes that are kept (canonical JSON,
                RFC 8785). Lengths are whole nanometres, angles millionths of a degree, places on a sketch
                thousandths of a pixel of its first picture. The service only ever adds to it.
checkpoint      how many entries there are and the root of the tree over them (RFC 6962), signed. The last
                entry says that this record was made and names manifest.json by its SHA-256.
manifest.json   the SHA-256 and size of every other file here.
checkpoints/    every checkpoint that left before, named by its size. Each covers a beginning of the history.
keys.txt        every key that signed this history, and keys/ the same for openssl, by fingerprint.
leaves.txt      the hash of each of the first {up_to} entries, so that a changed one can be named.
names.csv       what opens each hash of a name in the history: SHA-256 of the salt's bytes and the name. A
                name that was erased has no row; what that person did stays.
timestamps/     an authority's word (RFC 3161) on when a checkpoint was there, with its chain, if any.
history.csv     the history as sentences, with each entry's leaf hash.
project.json    the project and the numbers it is held to. Its gate did not ask for: {unasked}.
*.csv           the facts as they stand after entry {up_to}, told from the entries alone. States are worked
                out from them. A cell that a spreadsheet would run as a formula has a ' in front;
                entries.jsonl has the text as it was typed.
sketches/       each picture or PDF as it is kept, named by its SHA-256.
photos/         each photo as it is kept, turned upright and stripped of all but its pixels, named likewise.
verify.py       proves all of this: one page of Python, no library. It came with this record, so whoever
                could change the record could change it too: in doubt, take it from somewhere else.

Tables and papers tell the site after entry {up_to}. Entries after it say that the record was made, and what
happened while it was put together.
"""


def _proof(key: bytes) -> str:
    return f"""WHAT IS PROVED

Every file is listed in manifest.json by its hash; the last entry names manifest.json by its hash; the
checkpoint covers every entry; the key below signed the checkpoint.

Key             {in_fours(fingerprint(key))}
                Compare it with the one on a certificate on paper, or on any that you were given before.

{HONESTY}
"""


def _by_hand(key: str) -> str:
    """Each block is run by a test in a shell, in the order they stand here."""
    return f"""BY HAND

In the folder of the record, with sha256sum and openssl 3. Nothing is written into it.

1. Every file is the one that the manifest lists:

    sed -n 's/.*"path": "\\([^"]*\\)", "sha256": "\\([0-9a-f]*\\)".*/\\2  \\1/p' manifest.json \\
        | sha256sum -c --quiet

2. The manifest is the one that the last entry names. These print the same 64 digits:

    sha256sum manifest.json
    tail -n 1 entries.jsonl | grep -o '"manifest_sha256":"[0-9a-f]*"'

3. The checkpoint covers all entries. These print the same number:

    wc -l < entries.jsonl
    sed -n 2p checkpoint

4. The key signed the checkpoint. This prints "Signature Verified Successfully":

    aside=$(mktemp -d)
    sed '/^$/,$d' checkpoint > "$aside/text"
    tail -n 1 checkpoint | cut -d ' ' -f 3 | base64 -d | tail -c 64 > "$aside/signature"
    openssl pkeyutl -verify -pubin -inkey keys/{key}.pem -rawin -in "$aside/text" -sigfile "$aside/signature"

5. The key is the one whose fingerprint you know. This prints it:

    openssl pkey -pubin -in keys/{key}.pem -outform DER | openssl dgst -sha256

6. One entry, here entry 1, is the one that was logged. These print the same 64 digits:

    (printf '\\000'; sed -n 1p entries.jsonl | tr -d '\\n') | sha256sum
    sed -n 1p leaves.txt

The tree over the entries, and that every earlier checkpoint is a beginning of it, is what verify.py works
out: the root of line 3 of each checkpoint, from the hashes of leaves.txt and of the entries after them.
"""


def _stamps(sizes: Sequence[int]) -> tuple[str]:
    steps = "\n".join(
        f"""    at=$(openssl ts -reply -in timestamps/{size}.tsr -text 2>&1 | sed -n 's/^Time stamp: //p')
    echo "$at"
    openssl ts -verify -data checkpoints/{size} -in timestamps/{size}.tsr -CAfile timestamps/{size}.pem \\
        -attime "$(date -d "$at" +%s)" 2>&1 | grep Verification"""
        for size in sizes
    )
    return (
        f"""TIMESTAMPS

When an authority saw a checkpoint, by its own word, checked as of that time: its certificate may have run out
since. The chain that vouches for it lies beside it; compare its root with the one the authority makes public.

{steps}
""",
    )


def lost_words(missing: Sequence[str], damaged: Sequence[str]) -> list[str]:
    """What the history names and is not here, or is here with other bytes, each in a sentence."""
    lines = [f"Missing, named by the history and not found where it was kept: {path}" for path in missing]
    return lines + [f"Damaged, its bytes no longer fit its name: {path}" for path in damaged]


def _lost(missing: Sequence[str], damaged: Sequence[str]) -> str:
    whole = "Every picture that the history names is here, and fits its name."
    return "\n".join(lost_words(missing, damaged) or [whole]) + "\n"
