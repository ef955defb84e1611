"""The files of a record that say what it holds: its manifest, its keys, its leaf hashes. Version 2."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from typing import Any

from service.history.facts.entries import Entry
from service.history.facts.evidence import CheckpointGiven, KeyChanged, RecordMade
from service.history.proofs.checkpoints import fingerprint, key_of, origin_of, pem_of, public_key

VERSION = 2
ENTRIES, CHECKPOINT, MANIFEST = "entries.jsonl", "checkpoint", "manifest.json"
# What stands in no manifest: it is written after the manifest, and names it.
OUTSIDE = frozenset((ENTRIES, CHECKPOINT, MANIFEST))
KEYS, LEAVES, NAMES = "keys.txt", "leaves.txt", "names.csv"


def keys_named(entries: Iterable[Entry]) -> list[bytes]:
    """Every public key that entries name (32 bytes each), in the order in which they come up."""
    found: dict[bytes, None] = {}
    for entry in entries:
        if isinstance(entry.fact, KeyChanged):
            found[public_key(entry.fact.before)] = None
        if isinstance(entry.fact, KeyChanged | CheckpointGiven | RecordMade):
            found[public_key(entry.fact.key)] = None
    return list(found)


def key_files(project_id: str, keys: Sequence[bytes]) -> dict[str, str]:
    """Path to text: the verifier keys one a line, and each as PEM under its fingerprint."""
    lines = "".join(f"{key_of(project_id, key)}\n" for key in keys)
    return {KEYS: lines} | {f"keys/{fingerprint(key)}.pem": pem_of(key) for key in keys}


def leaves_text(leaves: Iterable[bytes]) -> str:
    """Hex leaf hashes one a line, in the order of the entries."""
    return "".join(f"{leaf.hex()}\n" for leaf in leaves)


def manifest_text(
    project_id: str,
    up_to: int,
    files: Iterable[dict[str, Any]],
    missing: Sequence[str] = (),
    damaged: Sequence[str] = (),
) -> str:
    """JSON with a file a line, so that a line editor can take it apart. `files`: path, sha256, bytes each."""
    head = {"record": VERSION, "project": project_id, "origin": origin_of(project_id), "up_to": up_to}
    lines = [f'"{name}": {json.dumps(value)}' for name, value in head.items()]
    rows = ",\n  ".join(json.dumps(file) for file in sorted(files, key=lambda file: str(file["path"])))
    lines += [f'"files": [\n  {rows}\n]', f'"missing": {json.dumps(list(missing))}']
    lines.append(f'"damaged": {json.dumps(list(damaged))}')
    return "{\n" + ",\n".join(lines) + "\n}\n"
