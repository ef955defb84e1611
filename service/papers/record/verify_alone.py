"""Verify a record: python3 verify.py [RECORD.zip or folder] [--kept OLD_CHECKPOINT] [--key FINGERPRINT]

Needs Python 3.9 and OpenSSL 3.0 or newer, no network; unpacks nothing and writes nothing into the record.
Exit: 0 all holds, 1 something does not hold or was not proved, 2 cannot be read.

A record is evidence against later change by anyone, provided one checkpoint left our hands before the
change: whoever holds the service and its key can write a whole history anew and sign it. Only a checkpoint, a
certificate or a timestamp kept from before shows that (--kept, --key). This file came with the record: in
doubt, take another. This is a quality record, not engineering advice.
"""

# One file to be read whole: what belongs together shares a line.
# fmt: off
# ruff: noqa: B905, E401, E402, I001, RUF007, S603, S605, S607, UP035
from __future__ import annotations
import os, sys
HERE = os.path.dirname(os.path.abspath(__file__))
if __name__ == "__main__":  # nothing that lies in the record may pose as a part of the standard library
    sys.path[:] = [path for path in sys.path if path and os.path.abspath(path) != HERE]
import argparse, base64, calendar, collections, contextlib, csv, functools, hashlib, io, itertools, json
import pathlib, re, stat, subprocess, tempfile, time, typing, zipfile, zlib
from concurrent.futures import ThreadPoolExecutor
from typing import Any, Callable, Iterator

CORE = {"entries.jsonl", "checkpoint", "manifest.json"}
PATH = re.compile(r"[A-Za-z0-9_-][A-Za-z0-9_.-]*(/[A-Za-z0-9_-][A-Za-z0-9_.-]*)?/?")
MOST, RATIO, LINES = 16 << 30, 400, 40  # bytes in all, how far a file may unfold, faults told of one kind
BROKEN = (OSError, EOFError, zipfile.BadZipFile, zlib.error, RuntimeError, ValueError, LookupError, TypeError)
PICTURES = {"photo-added": "photos/", "sketch-added": "sketches/", "sketch-revised": "sketches/"}
TOLD = {"record-made", "checkpoint-given", "key-changed", "person-joined", "timestamp-received", *PICTURES}
KEYS = ("record-made", "checkpoint-given", "key-changed")  # the entries that name a key
END = re.compile(rb'"seq":([1-9][0-9]{0,15}),"type":"([a-z-]+)","v":1}\Z')  # an entry's end: names are sorted
SPKI = bytes.fromhex("302a300506032b6570032100")  # the head of an Ed25519 key in DER (RFC 8410)
Keys = list[tuple[int, bytes]]  # from which entry on the history is signed with which key
Told = tuple[str, list[str]]  # what is to hold, and what is wrong with it
Note = collections.namedtuple("Note", "origin size root text signatures raw")

def read_note(raw: bytes) -> Note:
    text, _, below = raw.decode().rpartition("\n\n")
    signed = [(line.split(" ")[1], base64.b64decode(line.split(" ")[2])) for line in below.splitlines()]
    again = "".join(f"— {name} {base64.b64encode(one).decode()}\n" for name, one in signed)
    origin, size, root = text.split("\n")[:3]
    if f"{text}\n\n{again}".encode() != raw or not signed or not re.fullmatch("[1-9][0-9]{0,15}", size):
        raise ValueError("a checkpoint is no signed note")
    return Note(origin, int(size), base64.b64decode(root), f"{text}\n".encode(), signed, raw)

def node(right: bytes, left: bytes) -> bytes:
    return hashlib.sha256(b"\1" + left + right).digest()

def leaf_of(line: bytes) -> bytes:
    return hashlib.sha256(b"\0" + line).digest()

def roots(leaves: list[bytes], wanted: set[int]) -> dict[int, bytes]:
    """The root of the tree (RFC 6962) over the first so many leaves, for each size wanted."""
    peaks, found = leaves[:0], {}
    for size, leaf in enumerate(leaves, 1):
        peaks.append(leaf)
        for _ in range((size & -size).bit_length() - 1):
            peaks[-2:] = [node(peaks[-1], peaks[-2])]
        if size in wanted:
            found[size] = functools.reduce(node, reversed(peaks))
    return found

def differences(found: list[bytes], told: list[bytes], claims: list[int], size: int) -> Iterator[str]:
    """What happened to the entries, by the hashes of the lines, the hashes that leaves.txt tells, the number
    that each line gives itself, and how many entries there are by the checkpoint."""
    place = {leaf: number for number, leaf in enumerate(told, 1)}
    ids = [place.get(leaf, claim if len(told) < claim <= size else 0) for leaf, claim in zip(found, claims)]
    gone = {*range(1, min(size, len(told) + len(found) + 1) + 1)} - {*ids}
    for line, claim in enumerate(claims, 1):
        if not ids[line - 1]:
            ids[line - 1] = here = next((one for one in (claim, line) if one in gone), 0)
            gone.discard(here)
            yield f"entry {here} was changed." if here else f"line {line} is no entry of this history."
    times, most = collections.Counter(filter(None, ids)), max(ids, default=0)
    yield from (f"entry {one} is there {'twice' if many == 2 else f'{many} times'}."
                for one, many in times.items() if many > 1)
    yield from (f"entry {one} is missing." for one in sorted(gone) if one < most)
    yield from [f"the end is cut off: {most} of {size} entries are here."] * (most < size)
    moved = [here for here, belongs in zip(times, sorted(times)) if here != belongs]
    what = "and {} are swapped" if len(moved) == 2 else "to {} are out of order"
    yield from [f"entries {min(moved)} {what.format(max(moved))}."] if moved else []

def look_in(where: str) -> tuple[dict[str, Any], list[str]]:
    """What reads each file of a ZIP or folder, where it lies; and why nothing of it may be read."""
    if os.path.isdir(where):
        files: Any = [(path.relative_to(where).as_posix() + "/" * stat.S_ISDIR(path.lstat().st_mode), 0, 0,
                       path.lstat().st_mode, 0, path.read_bytes) for path in pathlib.Path(where).rglob("*")]
    else:
        record = zipfile.ZipFile(where)
        files = [(one.orig_filename, one.file_size, one.compress_size, one.external_attr >> 16,
                  one.flag_bits & 1, functools.partial(record.read, one)) for one in record.infolist()]
    times = collections.Counter(name.lower() for name, *_ in files)
    wrong = [f"{name!r} {what}." for name, size, packed, mode, locked, _ in files for what, so in (
        ("climbs out or is no plain path", not PATH.fullmatch(name)), ("is encrypted", locked),
        ("is no plain file but a link", stat.S_IFMT(mode) not in (0, stat.S_IFREG, stat.S_IFDIR)),
        ("is there more than once", times[name.lower()] > 1),
        ("unfolds too far: a ZIP bomb", size > max(1 << 20, RATIO * packed))) if so]
    if sum(row[1] for row in files) > MOST or sum(row[2] for row in files) > os.path.getsize(where):
        wrong.append("all of it is more than it can hold: a ZIP bomb.")
    return {name: read for name, *_, read in files if not name.endswith("/")}, wrong

def openssl(command: str, **files: bytes) -> subprocess.CompletedProcess[bytes]:
    with tempfile.TemporaryDirectory() as aside:
        for name, content in files.items():
            pathlib.Path(aside, name).write_bytes(content)
        return subprocess.run(["openssl", *command.split()], cwd=aside, capture_output=True, check=False)

def at_fault(name: str, note: Note, root: bytes | None, last: Note, trail: Keys, able: bool) -> str:
    """What is wrong with a checkpoint, by the root and the key that the history has at its size."""
    key = next((key for since, key in reversed(trail) if since <= note.size), b"")
    ident = hashlib.sha256(note.origin.encode() + b"\n\1" + key).digest()[:4]
    mine = [raw[4:] for who, raw in note.signatures if (who, raw[:4]) == (note.origin, ident)]
    pem = b"-----BEGIN PUBLIC KEY-----\n%s\n-----END PUBLIC KEY-----\n" % base64.b64encode(SPKI + key)
    command = "pkeyutl -verify -pubin -inkey key -rawin -in text -sigfile signature"
    if note.origin != last.origin or note.size > last.size or note.root != root:
        return (f"{name} belongs to another project, {note.origin}." if note.origin != last.origin else
                f"{name} is of {note.size} entries, and this record ends before, with entry {last.size}."
                if note.size > last.size else f"this history does not grow from {name}.")
    if not mine:
        return f"{name} is signed with another key than the one that the history names."
    bad = any(openssl(command, key=pem, text=note.text, signature=one).returncode for one in mine if able)
    return f"{name} was changed: its signature does not fit." if bad else ""

def stamped(note: Note, token: bytes, chain: bytes) -> str:
    """When an authority saw a checkpoint, where its token verifies as of then; else nothing."""
    told = openssl("ts -reply -in token -text", token=token).stdout.decode(errors="replace")
    when = re.search(r"Time stamp: (\w+ +\d+ [\d:]+)[.\d]* (\d+) GMT", told)
    at = calendar.timegm(time.strptime(f"{when[1]} {when[2]}", "%b %d %H:%M:%S %Y")) if when else 0
    command = f"ts -verify -data note -in token -CAfile chain -attime {at}"
    fit = openssl(command, note=note.raw, token=token, chain=chain).returncode == 0
    return time.strftime("%Y-%m-%d %H:%M:%S UTC", time.gmtime(at)) if fit else ""

def read_entry(line: bytes) -> tuple[int, str, dict[str, Any]]:
    end = END.search(line[-99:])  # of most entries no more is looked at
    if end and end[2].decode() not in TOLD:
        return int(end[1]), end[2].decode(), {}
    try:
        entry = json.loads(line)
        return int(entry["seq"]), str(entry["type"]), dict(entry["fact"])
    except BROKEN:
        return 0, "", {}

class Record:
    """A record held against itself; each of its last four methods tells what is to hold."""
    def __init__(self, files: dict[str, Any], kept: Note | None, wanted: str, able: bool) -> None:
        self.files, self.kept, self.wanted, self.able, self.key = files, kept, wanted, able, ""
        self.manifest = self.parsed("manifest.json", json.loads)
        self.note: Note = self.parsed("checkpoint", read_note)
        self.listed = {one["path"]: one["sha256"] for one in self.manifest["files"]}
        here = {name: hashlib.sha256(self.read(name)).hexdigest() for name in sorted(files.keys() - CORE)}
        self.here, self.good = here, {name: one for name, one in here.items() if one == self.listed.get(name)}
        kept_here = [name for name in self.good if name.startswith("checkpoints/")]
        self.notes: dict[str, Note] = {name: self.parsed(name, read_note) for name in kept_here}
        lines = self.read("entries.jsonl").split(b"\n")
        lines[-1:] = [lines[-1] + b" (cut off)"] if lines[-1] else []
        self.leaves, self.facts = [leaf_of(line) for line in lines], [read_entry(line) for line in lines]

    def read(self, name: str) -> bytes:
        with contextlib.suppress(*BROKEN):
            return bytes(self.files[name]())
        return b""

    def parsed(self, name: str, parse: Callable[[bytes], Any]) -> Any:
        try:
            return parse(self.read(name))
        except BROKEN as why:
            raise ValueError(f"{name} was changed, and cannot be read any more ({why})") from why

    def whole(self) -> Iterator[Told]:
        """Every file is the one that the manifest lists."""
        yield f"All {len(self.listed)} files are those that the manifest lists, byte for byte.", [
            *(f"{name} was replaced: it is not the file listed." for name in self.here
              if name in self.listed and name not in self.good),
            *(f"{name} is missing." for name in sorted(self.listed.keys() - self.here)),
            *(f"{name} is a file that the manifest does not list."
              for name in self.here if name not in self.listed)]

    def entries(self) -> Iterator[Told]:
        """The entries are those signed for, and the last of them names the manifest."""
        size, claims = self.note.size, [seq for seq, _, _ in self.facts]
        leaves = self.read("leaves.txt").decode().split() if "leaves.txt" in self.good else []
        told = [bytes.fromhex(leaf) for leaf in leaves]
        self.notes.update({"that old checkpoint": self.kept} if self.kept else {})
        sizes, wrong = {one.size for one in (self.note, *self.notes.values())}, list[str]()
        self.found = roots(self.leaves, sizes)
        if len(self.leaves) != size or self.found[size] != self.note.root:
            wrong = list(differences(self.leaves, told, claims, size))
            after = [leaf for leaf, claim in zip(self.leaves, claims) if claim > len(told)]
            self.found = roots(told + after, sizes)
            fit = [one.size for one in self.notes.values() if self.found.get(one.size) == one.root]
            wrong = wrong or ["the entries are not the checkpoint's: one after entry "
                              f"{max(fit, default=0)} was changed."]
        elif claims != [*range(1, size + 1)]:
            wrong = ["the entries do not count on from 1 without a gap."]
        yield f"All {size} entries are the checkpoint's, in their order, none changed or missing.", wrong
        digest = hashlib.sha256(self.read("manifest.json")).hexdigest()
        said = [(seq, kind, fact.get("manifest_sha256"), fact.get("up_to")) for seq, kind, fact in self.facts]
        made = (size, "record-made", digest, self.manifest["up_to"]) in said
        yield "The last entry says that this record was made, and names its manifest.", [
            "manifest.json is not the one that the last entry names."] * (not made)

    def signatures(self) -> Iterator[Told]:
        """Every checkpoint is signed with the key that the history names, and the history grew from it."""
        named = [(seq, fact.get("before", fact["key"]), fact["key"])
                 for seq, kind, fact in self.facts if kind in KEYS]
        steps = [(1, old) for _, old, _ in named[:1]] + [(seq, key) for seq, old, key in named if key != old]
        trail = [(seq, base64.b64decode(key)) for seq, key in steps]
        self.notes["the checkpoint"], self.found[self.note.size] = self.note, self.note.root
        last = self.note._replace(origin=f"laptight/{self.manifest['project']}")
        with ThreadPoolExecutor() as pool:
            faults = dict(zip(self.notes, pool.map(lambda one: at_fault(
                one[0], one[1], self.found.get(one[1].size), last, trail, self.able), self.notes.items())))
        yield f"The {len(self.notes)} checkpoints are signed with the history's keys; it grew from each.", [
            *["no signature was proved: there is no OpenSSL 3 on this computer."] * (not self.able),
            *(f"entry {seq} names another key, and no entry says that it was changed."
              for (_, _, before), (seq, key, _) in zip(named, named[1:]) if key != before),
            *filter(None, faults.values())]
        if self.kept and self.able and not faults["that old checkpoint"]:
            yield f"This history grew from that old checkpoint, of {self.kept.size} entries.", []
        prints = [(since, hashlib.sha256(SPKI + key).hexdigest()) for since, key in trail]
        mine = [one.size for name, one in self.notes.items() if not faults[name] and self.wanted in
                [key for since, key in prints if since <= one.size][-1:]]
        if self.wanted:
            yield f"The key you gave signed this history up to entry {max(mine, default=0)}.", [
                "the key you gave signed nothing of this history."] * (not mine or not self.able)
        self.key = prints[-1][1] if prints else ""

    def evidence(self) -> Iterator[Told]:
        """Pictures, names and timestamps are those that the entries name."""
        facts = [row for row in self.facts if row[0] <= self.manifest["up_to"]]
        lost = {name.partition(".")[0] for name in (*self.manifest["missing"], *self.manifest["damaged"])}
        named = {PICTURES[kind] + fact["sha256"] for _, kind, fact in facts if kind in PICTURES}
        stems = {name: name.partition(".")[0] for name in self.good}
        held = {stem for name, stem in stems.items() if stem.endswith(self.good[name])}
        but = f", but for {', '.join(sorted(lost))}, told as missing or damaged" if lost else ""
        yield f"The {len(named)} pictures that entries name are here{but}.", [
            f"{one}, named by an entry, is not here nor told as missing."
            for one in sorted(named - held - lost)]
        people = [fact for _, kind, fact in facts if kind == "person-joined"]
        joined = {(fact["person"], fact.get("name_sha256")) for fact in people}
        rows = list(csv.DictReader(io.StringIO(self.read("names.csv").decode(), newline="")))
        yield f"The {len(rows)} names told open their hashes in the history.", [
            f"the name of person {row['person']} is not the one that was logged." for row in rows
            if (row["person"], row["name_sha256"]) not in joined or row["name_sha256"] not in [
                hashlib.sha256(bytes.fromhex(row["salt"]) + name.encode()).hexdigest()
                for name in (row["name"], row["name"][1:])]]  # a name like a formula has a ' in front
        stamps = {fact["size"]: fact for _, kind, fact in facts[::-1] if kind == "timestamp-received"}
        for size, fact in sorted(stamps.items()):
            token, chain = f"timestamps/{size}.tsr", f"timestamps/{size}.pem"
            note, found = self.notes.get(f"checkpoints/{size}"), (self.good.get(token), self.good.get(chain))
            right = found == (fact["token_sha256"], fact["chain_sha256"])
            when = stamped(note, self.read(token), self.read(chain)) if note and right and self.able else ""
            yield f"An authority saw checkpoint {size} on {when}, by the chain kept with its word.", [
                f"the timestamp of checkpoint {size} was not proved."] * (not when)

def say(text: str) -> None:
    """One line, of signs that can be seen: a record's own words cannot pass for ours."""
    print("".join(sign if sign.isprintable() else "?" for sign in text))

def main(args: list[str] | None = None) -> int:
    about = argparse.ArgumentParser(prog="verify.py", description="Verify a record, with no network.")
    about.add_argument("record", nargs="?", default=HERE, help="its ZIP or folder; else where this file is")
    about.add_argument("--kept", help="a file with a checkpoint that was kept from before")
    about.add_argument("--key", default="", help="the fingerprint that the key should have")
    asked, failed = about.parse_args(args), 0
    able = re.match(r"OpenSSL ([3-9]|\d\d)\.", subprocess.getoutput("openssl version")) is not None
    try:
        files, wrong = look_in(asked.record)
        kept = read_note(pathlib.Path(asked.kept).read_bytes()) if asked.kept else None
        if not wrong and CORE - files.keys():
            raise ValueError(f"it is no whole record, and lacks {', '.join(sorted(CORE - files.keys()))}")
    except BROKEN as why:
        say(f"Cannot be read: {why}.")
        return 2
    record, wanted = None, "".join(asked.key.lower().split())
    try:
        record = None if wrong else Record(files, kept, wanted, able)
        parts = (record.whole, record.entries, record.signatures, record.evidence) if record else ()
        for good, bad in itertools.chain([("", wrong)] * bool(wrong), *(part() for part in parts)):
            failed += len(bad)
            more = [f"and {len(bad) - LINES} more like these."] * (len(bad) > LINES)
            for line in [f"Fails: {one}" for one in bad[:LINES] + more] or [f"Holds: {good}"]:
                say(line)
    except BROKEN as why:
        failed += 1
        say(f"Fails: {why}. What comes after it was not proved.")
    print("\nSomething does not hold.\n" if failed else "\nAll of this holds.\n")
    if record and record.key:
        print("Key:", " ".join(re.findall("....", record.key)))
        print("Compare it with the one on a certificate on paper, or any that you were given before.\n")
    print(*(__doc__ or "").split("\n\n")[2:])
    return 1 if failed else 0

if __name__ == "__main__":
    typing.cast(io.TextIOWrapper, sys.stdout).reconfigure(errors="backslashreplace")
    sys.exit(main())
