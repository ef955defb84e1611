"""The structure of a ZIP, read strictly: what two programs could read in two ways is refused.

PKWARE APPNOTE 6.3, the part that ISO/IEC 21320-1 allows. No byte belongs to two files, and none to no file.
"""

import stat
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import BinaryIO

from service.history.verifying.findings import Unreadable

STORED, DEFLATED = 0, 8
_END, _END_64, _LOCATOR = b"PK\x05\x06", b"PK\x06\x06", b"PK\x06\x07"
_CENTRAL, _LOCAL, _DESCRIPTOR = b"PK\x01\x02", b"PK\x03\x04", b"PK\x07\x08"
_FULL_16, _FULL_32 = 0xFFFF, 0xFFFFFFFF
_ZIP64 = 1
# Extra fields that give a file a second name or another meaning than its header does.
_SECOND_NAMES = (0x7075, 0x6375)
_ENCRYPTED, _LATER_SIZES, _UTF8 = 0x0001 | 0x0040 | 0x2000, 0x0008, 0x0800
# How well it was packed, where the sizes stand, and that names are UTF-8: no other flag is known here.
_KNOWN_FLAGS = 0x0006 | _LATER_SIZES | _UTF8
_NEWEST = 45  # what stored, deflated and long files ask for


@dataclass(frozen=True, slots=True)
class Limits:
    """`ratio`: how many times larger a file of more than `free` bytes may be than it is packed. Chosen here:
    a history packs 8 to 17 times, and what deflate gives at the most is 1,032 times."""

    files: int = 200_000
    bytes: int = 32 * 1024**3
    ratio: int = 100
    free: int = 4 * 1024**2


LIMITS = Limits()


@dataclass(frozen=True, slots=True)
class Member:
    """One file, or folder, of the ZIP. `start`: where its packed bytes begin; `end`: where the next may."""

    name: str
    method: int
    flags: int
    crc: int
    packed: int
    size: int
    header: int
    start: int = 0
    end: int = 0

    @property
    def folder(self) -> bool:
        return self.name.endswith("/")


def read_structure(file: BinaryIO, limits: Limits) -> list[Member]:
    """Every file in the order in which it lies in the ZIP. Unreadable says what is wrong."""
    length = file.seek(0, 2)
    count, offset, size = _directory_place(file, length)
    if count > limits.files:
        raise Unreadable(
            "bomb", f"The ZIP says it holds {count:,} files: more than {limits.files:,} are not read."
        )
    members = list(_directory(_at(file, offset, size), count))
    _check_sizes(members, limits)
    members.sort(key=lambda member: member.header)
    return list(_placed(file, members, offset))


def _at(file: BinaryIO, offset: int, size: int) -> bytes:
    file.seek(offset)
    found = file.read(size)
    if len(found) != size:
        raise _broken("it breaks off")
    return found


def _int(raw: bytes, start: int, size: int) -> int:
    return int.from_bytes(raw[start : start + size], "little")


def _broken(why: str) -> Unreadable:
    return Unreadable("zip-broken", f"The ZIP is damaged: {why}.")


# --- the end -----------------------------------------------------------------------------------------------


def _directory_place(file: BinaryIO, length: int) -> tuple[int, int, int]:
    """How many files, and where their directory lies and how long it is."""
    if length < 22:
        raise Unreadable("not-a-zip", "This is no ZIP.")
    end = _at(file, length - 22, 22)
    if end[:4] != _END:
        tail = _at(file, max(0, length - 70_000), min(length, 70_000))
        if _END in tail:
            raise Unreadable("stray-bytes", "Something follows the end of the ZIP that belongs to no file.")
        raise Unreadable("not-a-zip", "This is no ZIP.")
    if _int(end, 20, 2):
        raise Unreadable("stray-bytes", "The ZIP ends in a comment, which belongs to no file.")
    count, size, offset = _int(end, 10, 2), _int(end, 12, 4), _int(end, 16, 4)
    if any(end[4:8]) or _int(end, 8, 2) != count:
        raise _broken("it says it is a part of several")
    close = length - 22
    if length >= 42 and _at(file, length - 42, 4) == _LOCATOR:
        count, size, offset, close = _long_end(file, length, (count, size, offset))
    elif count == _FULL_16 or _FULL_32 in (size, offset):
        raise _broken("its end does not say where its directory lies")
    if offset + size != close:
        raise _broken("its directory does not end where its end begins")
    return count, offset, size


def _long_end(file: BinaryIO, length: int, short: tuple[int, int, int]) -> tuple[int, int, int, int]:
    locator = _at(file, length - 42, 20)
    close = _int(locator, 8, 8)
    if _int(locator, 4, 4) or _int(locator, 16, 4) != 1 or close != length - 42 - 56:
        raise _broken("its long end is not where it says")
    end = _at(file, close, 56)
    if end[:4] != _END_64 or _int(end, 4, 8) != 44 or any(end[16:24]) or _int(end, 24, 8) != _int(end, 32, 8):
        raise _broken("its long end cannot be read")
    long = _int(end, 32, 8), _int(end, 40, 8), _int(end, 48, 8)
    for told, whole, full in zip(short, long, (_FULL_16, _FULL_32, _FULL_32), strict=True):
        if told not in (whole, full):
            raise _broken("its two ends do not say the same")
    return *long, close


# --- the directory -----------------------------------------------------------------------------------------


def _directory(raw: bytes, count: int) -> Iterator[Member]:
    at = 0
    for _ in range(count):
        head = raw[at : at + 46]
        if len(head) < 46 or head[:4] != _CENTRAL:
            raise _broken("its directory cannot be read")
        names, extras, comments = (_int(head, start, 2) for start in (28, 30, 32))
        end = at + 46 + names + extras + comments
        if end > len(raw):
            raise _broken("its directory breaks off")
        name = raw[at + 46 : at + 46 + names]
        yield _member(head, name, raw[at + 46 + names : at + 46 + names + extras], comments)
        at = end
    if at != len(raw):
        raise _broken("its directory is longer than its files")


def _member(head: bytes, raw_name: bytes, extra: bytes, comments: int) -> Member:
    flags, method = _int(head, 8, 2), _int(head, 10, 2)
    name = _name(raw_name, flags)
    if flags & _ENCRYPTED:
        raise Unreadable("encrypted", f"{name!r} in the ZIP is encrypted. A record is not.")
    if flags & ~_KNOWN_FLAGS or method not in (STORED, DEFLATED) or _int(head, 6, 2) > _NEWEST:
        raise Unreadable("zip-method", f"{name!r} in the ZIP is packed in a way that is not known here.")
    if comments or _int(head, 34, 2):
        raise _broken(f"{name!r} carries a comment or lies in another part")
    _check_kind(name, _int(head, 38, 4))
    size, packed, header = _long(_extras(extra), [_int(head, 24, 4), _int(head, 20, 4), _int(head, 42, 4)])
    if method == STORED and size != packed:
        raise _broken(f"{name!r} is stored and has two sizes")
    if name.endswith("/") and size:
        raise _broken(f"{name!r} is a folder and holds something")
    return Member(name, method, flags, _int(head, 16, 4), packed, size, header)


def _name(raw: bytes, flags: int) -> str:
    try:
        return raw.decode("utf-8" if flags & _UTF8 else "ascii")
    except UnicodeDecodeError as bad:
        raise Unreadable(
            "name-unsafe", f"The ZIP holds a name that can be read in two ways: {raw[:80]!r}."
        ) from bad


def _check_kind(name: str, attributes: int) -> None:
    """A plain file, or a folder where the name says so: by whichever system's word for it."""
    kind, folder = stat.S_IFMT(attributes >> 16), name.endswith("/")
    if kind == stat.S_IFLNK:
        raise Unreadable("symlink", f"{name!r} in the ZIP is a link to another place.")
    if kind not in (0, stat.S_IFDIR if folder else stat.S_IFREG) or (attributes & 0x10 and not folder):
        raise Unreadable("not-a-file", f"{name!r} in the ZIP is no plain file.")


def _extras(raw: bytes) -> dict[int, bytes]:
    found: dict[int, bytes] = {}
    at = 0
    while at < len(raw):
        kind, size = _int(raw, at, 2), _int(raw, at + 2, 2)
        if at + 4 + size > len(raw) or kind in found:
            raise _broken("an extra field cannot be read")
        if kind in _SECOND_NAMES:
            raise Unreadable("name-unsafe", "A file of the ZIP has a second name.")
        found[kind] = raw[at + 4 : at + 4 + size]
        at += 4 + size
    return found


def _long(extras: dict[int, bytes], fields: Sequence[int]) -> list[int]:
    """The fields; those that are full (0xFFFFFFFF) come from the extra field for long files."""
    long, at, found = extras.get(_ZIP64, b""), 0, []
    for value in fields:
        if value == _FULL_32:
            if at + 8 > len(long):
                raise _broken("a long file does not say how long")
            value, at = _int(long, at, 8), at + 8
        found.append(value)
    return found


def _check_sizes(members: Sequence[Member], limits: Limits) -> None:
    total = sum(member.size for member in members)
    if total > limits.bytes:
        told = f"The ZIP says it unpacks to {total:,} bytes: more than {limits.bytes:,} are not read."
        raise Unreadable("bomb", told)
    for member in members:
        if member.size > limits.free and member.size > limits.ratio * member.packed:
            told = (
                f"{member.name!r} in the ZIP says it unpacks from {member.packed:,} to {member.size:,} bytes."
            )
            raise Unreadable("bomb", told)


# --- where each file lies ----------------------------------------------------------------------------------


def _placed(file: BinaryIO, members: Sequence[Member], directory: int) -> Iterator[Member]:
    """Each with its place: they follow on one another from the first byte to the directory."""
    end = 0
    for number, member in enumerate(members):
        after = members[number + 1].header if number + 1 < len(members) else directory
        if member.header < end:
            raise Unreadable(
                "overlap", f"{member.name!r} lies over another file in the ZIP: it is built to grow."
            )
        if member.header > end:
            raise Unreadable(
                "stray-bytes", f"Before {member.name!r} the ZIP holds bytes that belong to no file."
            )
        placed = _place(file, member, after)
        end = placed.end
        if end > after:
            raise Unreadable("overlap", f"{member.name!r} runs into what follows it in the ZIP.")
        yield placed
    if end != directory:
        raise Unreadable("stray-bytes", "Before its directory the ZIP holds bytes that belong to no file.")


def _place(file: BinaryIO, member: Member, after: int) -> Member:
    head = _at(file, member.header, 30)
    if head[:4] != _LOCAL:
        raise _broken(f"{member.name!r} is not where the directory says")
    names, extras = _int(head, 26, 2), _int(head, 28, 2)
    rest = _at(file, member.header + 30, names + extras)
    sizes = _long(_extras(rest[names:]), [_int(head, 22, 4), _int(head, 18, 4)])
    told = rest[:names].decode("utf-8", "replace"), _int(head, 6, 2), _int(head, 8, 2)
    whole = (_int(head, 14, 4), *sizes)
    later = bool(member.flags & _LATER_SIZES)
    if told != (member.name, member.flags, member.method) or _int(head, 4, 2) > _NEWEST:
        raise _broken(f"{member.name!r} is told in two ways")
    if whole != (member.crc, member.size, member.packed) and not (later and not any(whole)):
        raise _broken(f"{member.name!r} is told in two ways")
    start = member.header + 30 + names + extras
    end = start + member.packed
    if later:
        end = _described(file, member, end, after)
    return replace(member, start=start, end=end)


def _described(file: BinaryIO, member: Member, start: int, after: int) -> int:
    """Where the sizes that follow a file end: they say what the directory says, and fill the room there."""
    room = after - start
    raw = _at(file, start, room) if 0 <= room <= 24 else b""
    if raw[:4] == _DESCRIPTOR and len(raw) in (16, 24):
        raw = raw[4:]
    if len(raw) not in (12, 20):
        raise _broken(f"{member.name!r} does not end where the next begins")
    wide = (len(raw) - 4) // 2
    told = _int(raw, 0, 4), _int(raw, 4, wide), _int(raw, 4 + wide, wide)
    if told != (member.crc, member.packed, member.size):
        raise _broken(f"{member.name!r} is told in two ways")
    return after
