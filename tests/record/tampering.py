"""What can be done to a record on its way, seeded: flipped bits and structural attacks, and who tells it.

A verifier here takes a ZIP and answers whether it tells that something is wrong. Nothing may be missed: no
flip in a byte of the history, its checkpoints, the manifest or any file, and no attack.

A flip in the ZIP's own bytes may also be *harmless*. It is so only where the ZIP still gives the same names
with the same bytes under each, as Python's `zipfile` reads it, and as our own reader and Info-ZIP's unzip do
unless they refuse it. What is left are times, attributes and versions in its headers, unused bits at the end
of a packed stream, and (for verify.py, which reads by the directory as `zipfile` does) what a file's own
header says besides: nothing of it is evidence, and nobody who opens the record finds another one.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import random
import shutil
import subprocess
import sys
import tempfile
import zipfile
import zlib
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import load_pem_public_key

from service.actions.record.verifying_tables import table_findings
from service.history.facts.encoding import canonical
from service.history.facts.entries import leaf_hash
from service.history.proofs.checkpoints import checkpoint_in, origin_of
from service.history.proofs.merkle import root_of
from service.history.verifying.findings import Unreadable
from service.history.verifying.records import CHECKPOINT, ENTRIES, LEAVES, MANIFEST, OUTSIDE, key_files
from service.history.verifying.whole import check
from service.papers.record import verify_alone
from service.storage.blobs.containers import container_of
from tests.record.making import NOON, PROJECT, Files, Log, bundle, few_facts, sealed, signer
from tests.record.spoiling import begun, lines_of, picture_files, pictured, true_files

Verifier = Callable[[bytes], bool]
Attack = Callable[[random.Random, Files], Files]


def handed_out(files: Files) -> bytes:
    """The ZIP as the service packs it: pictures stored, all else deflated, with the fields for long files."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for path, content in files.items():
            info = zipfile.ZipInfo(path, NOON.timetuple()[:6])
            info.external_attr = 0o644 << 16
            if not path.startswith(("photos/", "sketches/")):
                info.compress_type = zipfile.ZIP_DEFLATED
            with archive.open(info, "w", force_zip64=path not in OUTSIDE) as into:
                into.write(content)
    return out.getvalue()


# --- who tells ---------------------------------------------------------------------------------------------


def by_us(content: bytes) -> bool:
    """`laptight verify`; what is worked out again is asked only where all else holds."""
    try:
        container = container_of(io.BytesIO(content))
    except Unreadable:
        return True
    if not all(finding.holds for finding in check(container, judge=False).findings):
        return True
    checked = check(container)
    findings = [*checked.findings, *table_findings(container, checked)]
    return not all(finding.holds for finding in findings)


def by_the_script(folder: Path) -> Verifier:
    """The bundled verify.py, imported; another library answers for openssl, which makes thousands cheap."""
    path = folder / "record.zip"

    def told(content: bytes) -> bool:
        path.write_bytes(content)
        with contextlib.redirect_stdout(io.StringIO()), _quick_openssl():
            return verify_alone.main([str(path)]) != 0

    return told


def by_the_script_alone(folder: Path) -> Verifier:
    """verify.py as a stranger runs it: a process of its own, with openssl."""
    path = folder / "alone.zip"

    def told(content: bytes) -> bool:
        path.write_bytes(content)
        words = [sys.executable, "-I", str(Path(verify_alone.__file__)), str(path)]
        return subprocess.run(words, capture_output=True, check=False, timeout=120).returncode != 0

    return told


@contextlib.contextmanager
def _quick_openssl() -> Iterator[None]:
    true = verify_alone.openssl
    verify_alone.openssl = _openssl
    try:
        yield
    finally:
        verify_alone.openssl = true


def _openssl(command: str, **files: bytes) -> subprocess.CompletedProcess[bytes]:
    """The answer of `openssl pkeyutl -verify -rawin` for an Ed25519 key."""
    assert command.startswith("pkeyutl -verify"), command
    key = load_pem_public_key(files["key"])
    assert isinstance(key, Ed25519PublicKey)
    try:
        key.verify(files["signature"], files["text"])
    except InvalidSignature:
        return subprocess.CompletedProcess([], 1, b"", b"")
    return subprocess.CompletedProcess([], 0, b"", b"")


# --- counting ----------------------------------------------------------------------------------------------


@dataclass
class Counts:
    """How many were tried, told and harmless; and each that was missed, by its name."""

    tried: int = 0
    told: int = 0
    harmless: int = 0
    missed: list[str] = field(default_factory=list)

    def take(self, name: str, told: bool, harmless: bool = False) -> None:
        self.tried += 1
        self.told += told
        self.harmless += harmless and not told
        if not told and not harmless:
            self.missed.append(name)

    def __str__(self) -> str:
        harmless = f", {self.harmless:,} harmless" if self.harmless else ""
        return f"{self.tried:,} tried, {self.told:,} told{harmless}, {len(self.missed):,} missed"


def flip(content: bytes, bit: int) -> bytes:
    spoilt = bytearray(content)
    spoilt[bit // 8] ^= 1 << bit % 8
    return bytes(spoilt)


def flips(verifier: Verifier, count: int, seed: int) -> Counts:
    """One bit in one file's content: any byte of the record alike, and every other time any file alike."""
    draw, counts, files = random.Random(seed), Counts(), true_files()
    names = [name for name in files if files[name]]
    for number in range(count):
        weights = None if number % 2 else [len(files[name]) for name in names]
        [name] = draw.choices(names, weights)
        bit = draw.randrange(len(files[name]) * 8)
        spoilt = {**files, name: flip(files[name], bit)}
        counts.take(f"bit {bit} of {name}", verifier(handed_out(spoilt)))
    return counts


def flips_in_the_zip(verifier: Verifier, count: int, seed: int) -> Counts:
    """One bit anywhere in the ZIP; every other time where its headers and its directory are."""
    draw, counts, true = random.Random(seed), Counts(), handed_out(true_files())
    headers = header_bytes(true)
    for number in range(count):
        at = draw.choice(headers) if number % 2 else draw.randrange(len(true))
        bit = at * 8 + draw.randrange(8)
        spoilt = flip(true, bit)
        told = verifier(spoilt)
        counts.take(f"bit {bit} of the ZIP", told, harmless=not told and same_record(spoilt, true))
    return counts


def header_bytes(content: bytes) -> list[int]:
    """Every byte that belongs to no file's content."""
    packed: set[int] = set()
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        for info in archive.infolist():
            at = info.header_offset
            start = at + 30 + sum(int.from_bytes(content[at + i : at + i + 2], "little") for i in (26, 28))
            packed |= set(range(start, start + info.compress_size))
    return sorted(set(range(len(content))) - packed)


def same_record(content: bytes, true: bytes) -> bool:
    """The same names and the same bytes under each, whoever reads it; all but the library may refuse it."""
    files = read_by_library(true)
    if read_by_library(content) != files or read_by_us(content) not in (None, files):
        return False
    return shutil.which("unzip") is None or read_by_unzip(content) in (None, files)


def read_by_library(content: bytes) -> Files | None:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            return {info.orig_filename: archive.read(info) for info in archive.infolist()}
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, ValueError, OSError, EOFError, KeyError):
        return None
    except RuntimeError:  # it says that it is encrypted
        return None


def read_by_us(content: bytes) -> Files | None:
    try:
        container = container_of(io.BytesIO(content))
        return {name: container.content(name, 1 << 30) for name in container.names}
    except Unreadable:
        return None


def read_by_unzip(content: bytes) -> Files | None:
    """As Info-ZIP's program unpacks it; None where it does not, or not without an error."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "record.zip").write_bytes(content)
        words = ["unzip", "-qq", "record.zip", "-d", "out"]
        done = subprocess.run(words, cwd=folder, capture_output=True, check=False, stdin=subprocess.DEVNULL)
        if done.returncode > 1:  # 1: it unpacked all of it, and warned of something
            return None
        out = Path(folder) / "out"
        return {str(p.relative_to(out)): p.read_bytes() for p in out.rglob("*") if p.is_file()}


# --- the attacks -------------------------------------------------------------------------------------------


def attacked(verifier: Verifier, name: str, count: int, seed: int) -> Counts:
    """One of ATTACKS, so many times."""
    draw, counts, files = random.Random(f"{seed} {name}"), Counts(), true_files()
    for number in range(count):
        spoilt = ATTACKS[name](draw, dict(files))
        assert spoilt != files
        counts.take(f"{name} {number}", verifier(handed_out(spoilt)))
    return counts


def _with(files: Files, lines: list[bytes]) -> Files:
    return {**files, ENTRIES: b"".join(line + b"\n" for line in lines)}


def _listed(files: Files) -> Files:
    """The manifest written anew, as whoever has no key may: it lists the files as they are now."""
    inside = {name: content for name, content in files.items() if name not in OUTSIDE}
    up_to = len(files[LEAVES].split(b"\n")) - 1
    return {**files, MANIFEST: sealed(inside, PROJECT, up_to)}


def _told_anew(files: Files) -> Files:
    """leaves.txt and the manifest as they would be of the entries as they are now."""
    up_to = len(files[LEAVES].split(b"\n")) - 1
    leaves = "".join(f"{leaf_hash(line).hex()}\n" for line in lines_of(files)[:up_to])
    return _listed({**files, LEAVES: leaves.encode()})


def deleted(draw: random.Random, files: Files) -> Files:
    lines = lines_of(files)
    del lines[draw.randrange(len(lines))]
    return _perhaps(draw, _told_anew, _with(files, lines))


def swapped(draw: random.Random, files: Files) -> Files:
    lines = lines_of(files)
    one, other = draw.sample(range(len(lines)), 2)
    lines[one], lines[other] = lines[other], lines[one]
    return _perhaps(draw, _told_anew, _with(files, lines))


def doubled(draw: random.Random, files: Files) -> Files:
    lines = lines_of(files)
    lines.insert(draw.randrange(len(lines) + 1), draw.choice(lines))
    return _perhaps(draw, _told_anew, _with(files, lines))


def cut(draw: random.Random, files: Files) -> Files:
    """Whole entries, or in the middle of one."""
    if draw.random() < 0.2:
        return {**files, ENTRIES: files[ENTRIES][: draw.randrange(1, len(files[ENTRIES]))]}
    lines = lines_of(files)
    return _perhaps(draw, _told_anew, _with(files, lines[: draw.randrange(len(lines))]))


def edited(draw: random.Random, files: Files) -> Files:
    """One value somewhere in an entry, and the entry in canonical form again."""
    lines = lines_of(files)
    place = draw.randrange(len(lines))
    data = json.loads(lines[place])
    _change(draw, data)
    lines[place] = canonical(data)
    return _perhaps(draw, _told_anew, _with(files, lines))


def _change(draw: random.Random, data: Any) -> None:
    """Another value in the place of one: a number moved, a word changed, yes for no."""
    keys = list(data) if isinstance(data, dict) else list(range(len(data)))
    key = draw.choice(keys)
    value = data[key]
    if isinstance(value, dict | list) and value:
        _change(draw, value)
    elif isinstance(value, bool):
        data[key] = not value
    elif isinstance(value, int):
        data[key] = value + draw.choice((-1, 1, 1000))
    elif isinstance(value, str):
        data[key] = value[:-1] if value and draw.random() < 0.5 else value + draw.choice("0aZ")
    else:
        data[key] = draw.choice((1, "x", True))


def photo_replaced(draw: random.Random, files: Files) -> Files:
    """By another of any length, one of the same length, or an empty one; the manifest sometimes with it."""
    name = draw.choice([name for name in files if name.startswith(("photos/", "sketches/"))])
    size = draw.choice((0, len(files[name]), draw.randrange(1, 4000)))
    return _perhaps(draw, _listed, {**files, name: draw.randbytes(size)})


def photos_exchanged(draw: random.Random, files: Files) -> Files:
    names = [name for name in files if name.startswith(("photos/", "sketches/"))]
    one, other = draw.sample(names, 2)
    return _perhaps(draw, _listed, {**files, one: files[other], other: files[one]})


def older_checkpoint(draw: random.Random, files: Files) -> Files:
    """The checkpoint of an earlier moment, or of an older record of the same history."""
    if draw.random() < 0.5:
        earlier = [name for name in files if name.startswith("checkpoints/")]
        return {**files, CHECKPOINT: files[draw.choice(earlier)]}
    return {**files, CHECKPOINT: draw.choice(_older_records())[CHECKPOINT]}


@cache
def _older_records() -> list[Files]:
    facts = [entry.fact for entry in begun().entries]
    return [bundle(Log().tell(*facts[:size]), picture_files()) for size in range(8, 40, 4)]


def file_added(draw: random.Random, files: Files) -> Files:
    name = draw.choice(
        (
            "notes.txt",
            "photos/{}.jpg",
            "keys/{}.pem",
            "checkpoints/{}",
            "certificates/B-{}.pdf",
            "{}.csv",
            ".{}",
        )
    ).format(draw.randrange(1 << 32))
    spoilt = {**files, name: draw.randbytes(draw.randrange(200))}
    return _perhaps(draw, _listed, spoilt)


def another_project(draw: random.Random, files: Files) -> Files:
    """A checkpoint of another project, as it is or under this one's name."""
    log = Log(project=f"{draw.randrange(1 << 80):020x}").tell(*pictured(few_facts(draw.randrange(4))))
    note = bundle(log, picture_files())[CHECKPOINT]
    if draw.random() < 0.5:
        note = note.replace(origin_of(log.project).encode(), origin_of(PROJECT).encode())
    return {**files, CHECKPOINT: note}


def signed_anew(draw: random.Random, files: Files) -> Files:
    """Every checkpoint signed with another key and the key's files put in place of the true ones.

    The entries name the true keys still, but for the last at times, with a manifest and a root that fit.
    """
    key, true = signer(draw.randrange(10, 250)), checkpoint_in(files[CHECKPOINT].decode())
    spoilt = {name: content for name, content in files.items() if not name.startswith("keys")}
    for name in files:
        if name.startswith("checkpoints/"):
            spoilt[name] = checkpoint_in(files[name].decode()).signed([key]).encode()
    spoilt |= {name: text.encode() for name, text in key_files(PROJECT, [key.public]).items()}
    how = draw.randrange(4)
    if how == 0:  # the checkpoint alone
        return {**files, CHECKPOINT: true.signed([key]).encode()}
    if how == 1:  # all that is signed, and the keys
        return {**spoilt, CHECKPOINT: true.signed([key]).encode()}
    spoilt = _listed(spoilt)
    lines = lines_of(files)
    last = json.loads(lines[-1])
    last["fact"]["manifest_sha256"] = hashlib.sha256(spoilt[MANIFEST]).hexdigest()
    if how == 3:  # the last entry names the other key
        last["fact"]["key"] = key.public_text
    lines[-1] = canonical(last)
    root = root_of(leaf_hash(line) for line in lines)
    return {**_with(spoilt, lines), CHECKPOINT: replace(true, root=root).signed([key]).encode()}


def _perhaps(draw: random.Random, change: Callable[[Files], Files], files: Files) -> Files:
    """Half the time whoever did it also wrote anew what they can without the key."""
    return change(files) if draw.random() < 0.5 else files


ATTACKS: dict[str, Attack] = {
    "entry deleted": deleted,
    "entries swapped": swapped,
    "entry doubled": doubled,
    "tail cut": cut,
    "field edited": edited,
    "signed with another key": signed_anew,
    "photo replaced": photo_replaced,
    "photos exchanged": photos_exchanged,
    "older checkpoint": older_checkpoint,
    "checkpoint of another project": another_project,
    "file added": file_added,
}


def campaign(verifier: Verifier, flipped: int, each: int, seed: int) -> dict[str, Counts]:
    """All of it: so many flips in contents and in the ZIP, and each attack so many times."""
    found = {"bits of contents": flips(verifier, flipped, seed)}
    found["bits of the ZIP"] = flips_in_the_zip(verifier, flipped, seed)
    return found | {name: attacked(verifier, name, each, seed) for name in ATTACKS}


def missed(found: dict[str, Counts]) -> Counter[str]:
    return Counter({name: len(counts.missed) for name, counts in found.items() if counts.missed})
