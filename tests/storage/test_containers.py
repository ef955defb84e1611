"""A ZIP from anybody is read without harm: each way to hurt its reader is refused for what it is."""

from __future__ import annotations

import io
import random
import stat
import struct
import sys
import unicodedata
import warnings
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from service.history.verifying.findings import Unreadable
from service.storage.blobs.containers import Container, container_of, opened
from service.storage.blobs.zip_structure import Limits

FILES = {"a.txt": b"one", "photos/b.jpg": b"two" * 1000, "c/d.csv": b""}


def zip_of(files: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as archive:
        for name, content in files.items():
            archive.writestr(zipfile.ZipInfo(name), content, method)
    return out.getvalue()


def named(*names: str) -> bytes:
    """A ZIP of empty files with these names, as they are: the library would mend some, and warn of others."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for name in names:
            info = zipfile.ZipInfo("x")
            info.filename = name
            archive.writestr(info, b"")
    return out.getvalue()


def read(content: bytes, limits: Limits | None = None) -> Container:
    return container_of(io.BytesIO(content), limits or Limits())


def refused(content: bytes, limits: Limits | None = None) -> str:
    with pytest.raises(Unreadable) as why:
        whole(read(content, limits))
    assert why.value.words.endswith("."), why.value.words
    return why.value.code


def whole(container: Container) -> dict[str, bytes]:
    return {name: container.content(name, 1 << 30) for name in container.names}


# --- what is read ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("method", [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED])
def test_files_come_out_as_they_went_in(method: int) -> None:
    container = read(zip_of(FILES, method))
    assert whole(container) == FILES
    assert container.hashed("a.txt")[1] == 3
    assert container.size == 3003


def test_a_zip_written_to_a_pipe_and_one_of_long_files_are_read_too() -> None:
    """Sizes after the data (APPNOTE 4.3.9), and the fields for long files (4.5.3), as Python writes them."""

    class Pipe(io.RawIOBase):
        def __init__(self) -> None:
            self.all = bytearray()

        def writable(self) -> bool:
            return True

        def write(self, data: Any) -> int:
            self.all += bytes(data)
            return len(data)

    pipe = Pipe()
    with zipfile.ZipFile(pipe, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in FILES.items():
            archive.writestr(zipfile.ZipInfo(name), content)
    assert whole(read(bytes(pipe.all))) == FILES
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, content in FILES.items():
            with archive.open(zipfile.ZipInfo(name), "w", force_zip64=True) as into:
                into.write(content)
    assert whole(read(out.getvalue())) == FILES


def test_a_zip_with_a_long_end_is_read_and_one_whose_ends_differ_is_not() -> None:
    """As it is written past 65,535 files (APPNOTE 4.3.14); the library reads it too."""
    content = zip_of(FILES)
    count, size, offset = struct.unpack_from("<HII", content, len(content) - 12)
    long = b"PK\x06\x06" + struct.pack("<QHHIIQQQQ", 44, 45, 45, 0, 0, count, count, size, offset)
    long += b"PK\x06\x07" + struct.pack("<IQI", 0, len(content) - 22, 1)
    end = END + struct.pack("<HHHHIIH", 0, 0, 0xFFFF, 0xFFFF, 0xFFFFFFFF, 0xFFFFFFFF, 0)
    wide = content[:-22] + long + end
    with zipfile.ZipFile(io.BytesIO(wide)) as archive:
        assert {name: archive.read(name) for name in archive.namelist()} == FILES
    assert whole(read(wide)) == FILES
    other = END + struct.pack("<HHHHIIH", 0, 0, count, count, size, offset + 1, 0)
    assert refused(content[:-22] + long + other) == "zip-broken"
    assert refused(content[:-22] + end) == "zip-broken"


def test_folders_with_nothing_in_them_are_no_files() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.mkdir("photos")
        archive.writestr("photos/b.jpg", b"two")
    assert read(out.getvalue()).names == ["photos/b.jpg"]


def test_a_stream_that_unpacks_in_many_pieces_comes_out_whole() -> None:
    content = random.Random(3).randbytes(3_000_000) + bytes(3_000_000)
    assert whole(read(zip_of({"x": content})))["x"] == content


# --- names -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name", ["../x", "a/../../x", "/etc/x", "C:x", "c:/x", "a\\..\\x", "\\\\host\\x", "..", "a/.."]
)
def test_a_path_that_climbs_is_refused(name: str) -> None:
    assert refused(named("a.txt", name)) == "path-climbs"


@pytest.mark.parametrize(
    "name",
    ["a\x00.txt", "a\n.txt", "a\x7f", "\u202egpj.exe", "a\u200bb", "a//b", "./a", "a/./b", "con", "a/NUL.txt",
     "a. ", "b.", " c", "a:b", "a?", "x" * 300, "a\u00a0b"],
    ids=ascii,
)  # fmt: skip
def test_a_name_that_hides_something_or_that_not_every_system_keeps_is_refused(name: str) -> None:
    assert refused(named(name)) in ("name-unsafe", "path-climbs")


@pytest.mark.parametrize(
    "names",
    [("a.txt", "A.TXT"), ("caf\u00e9", unicodedata.normalize("NFD", "caf\u00e9")), ("file", "\uff46ile"),
     ("stra\u00dfe", "STRASSE"), ("a.txt", "a.txt"), ("a", "a/b"), ("A/b", "a"), ("K", "\u212a")],
    ids=ascii,
)  # fmt: skip
def test_two_names_that_a_folder_cannot_hold_both_are_refused(names: tuple[str, str]) -> None:
    assert refused(named(*names)) == "name-twice"


def test_a_name_in_no_known_letters_is_refused() -> None:
    content = zip_of({"ab.txt": b""}).replace(b"ab.txt", b"\x82b.txt")
    assert refused(content) == "name-unsafe"


# --- what is no plain file ----------------------------------------------------------------------------------


def attributed(mode: int, name: str = "link") -> bytes:
    info = zipfile.ZipInfo(name)
    info.external_attr = mode
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr(info, b"/etc/passwd" if not name.endswith("/") else b"")
    return out.getvalue()


def test_a_link_is_refused() -> None:
    assert refused(attributed((stat.S_IFLNK | 0o777) << 16)) == "symlink"


@pytest.mark.parametrize("mode", [(stat.S_IFIFO | 0o600) << 16, (stat.S_IFCHR | 0o600) << 16, 0x10])
def test_a_pipe_a_device_and_a_folder_that_is_none_are_refused(mode: int) -> None:
    assert refused(attributed(mode)) == "not-a-file"


def patched(content: bytes, mark: bytes, offset: int, new: bytes) -> bytes:
    """Bytes at an offset from every place where a header begins."""
    found, at = bytearray(content), content.find(mark)
    while at >= 0:
        found[at + offset : at + offset + len(new)] = new
        at = content.find(mark, at + 1)
    return bytes(found)


LOCAL, CENTRAL, END = b"PK\x03\x04", b"PK\x01\x02", b"PK\x05\x06"


def test_what_is_encrypted_is_refused() -> None:
    content = patched(patched(zip_of(FILES), LOCAL, 6, b"\x01\x00"), CENTRAL, 8, b"\x01\x00")
    assert refused(content) == "encrypted"


def test_a_way_of_packing_that_is_not_known_is_refused() -> None:
    content = patched(patched(zip_of(FILES), LOCAL, 8, b"\x0e\x00"), CENTRAL, 10, b"\x0e\x00")
    assert refused(content) == "zip-method"


# --- bombs -------------------------------------------------------------------------------------------------


def test_a_bomb_is_refused_before_it_is_unpacked() -> None:
    assert refused(zip_of({"x": bytes(50_000_000)})) == "bomb"
    assert refused(zip_of(FILES), Limits(files=2)) == "bomb"
    assert refused(zip_of(FILES), Limits(bytes=3000)) == "bomb"


def test_files_that_share_their_bytes_are_refused() -> None:
    """Two names in the directory for one place: how a small ZIP claims to be a large one."""
    content = zip_of({"a": b"kernel" * 100, "b": b"x"})
    at = content.find(CENTRAL)
    second = content.find(CENTRAL, at + 1)
    shared = bytearray(content)
    shared[second : second + 46] = shared[at : at + 46]
    assert refused(bytes(shared)) == "overlap"


def test_a_file_that_unpacks_to_more_than_it_says_ends_there() -> None:
    content = zip_of({"x": bytes(3_000_000)})
    lies = patched(patched(content, LOCAL, 22, struct.pack("<I", 1000)), CENTRAL, 24, struct.pack("<I", 1000))
    assert refused(lies) == "file-damaged"


def test_more_of_a_file_than_is_asked_for_is_not_read() -> None:
    with pytest.raises(Unreadable) as why:
        read(zip_of(FILES)).content("photos/b.jpg", 2999)
    assert why.value.code == "too-large"


# --- damage and second meanings ----------------------------------------------------------------------------


@pytest.mark.parametrize("content", [b"", b"PK", b"%PDF-1.7 " * 100, b"PK\x03\x04" + bytes(100)])
def test_what_is_no_zip_is_told_so(content: bytes) -> None:
    assert refused(content) == "not-a-zip"


@pytest.mark.parametrize(
    "change",
    [lambda c: b"#!/bin/sh\n" + c, lambda c: c + b"more", lambda c: c[:-2] + b"\x04\x00note"],
    ids=["before", "after", "comment"],
)
def test_bytes_that_belong_to_no_file_are_refused(change: Callable[[bytes], bytes]) -> None:
    assert refused(change(zip_of(FILES))) in ("stray-bytes", "zip-broken")


def test_bytes_between_two_files_are_refused() -> None:
    content = zip_of(FILES)
    second = content.find(LOCAL, 1)
    wide = bytearray(content[:second] + b"hidden" + content[second:])
    for at in [i for i in range(len(wide)) if wide[i : i + 4] == CENTRAL]:
        (offset,) = struct.unpack_from("<I", wide, at + 42)
        struct.pack_into("<I", wide, at + 42, offset + (6 if offset >= second else 0))
    end = wide.find(END)
    (offset,) = struct.unpack_from("<I", wide, end + 16)
    struct.pack_into("<I", wide, end + 16, offset + 6)
    assert refused(bytes(wide)) == "stray-bytes"


@pytest.mark.parametrize(("offset", "new"), [(30, b"b"), (8, b"\x00"), (14, b"\x00\x00"), (22, b"\x09")])
def test_a_file_told_in_two_ways_is_refused(offset: int, new: bytes) -> None:
    """Its own header says another name, packing, checksum or size than the directory does."""
    content = zip_of({"a.txt": b"one" * 50})
    assert refused(patched(content, LOCAL, offset, new)) == "zip-broken"


def test_a_second_name_in_an_extra_field_is_refused() -> None:
    info = zipfile.ZipInfo("a.txt")
    info.extra = struct.pack("<HHBI", 0x7075, 10, 1, 0) + b"b.txt"
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr(info, b"one")
    assert refused(out.getvalue()) == "name-unsafe"


def test_a_file_whose_bytes_changed_or_whose_stream_goes_on_is_told_as_damaged() -> None:
    stored = zip_of({"a.txt": b"one one one"}, zipfile.ZIP_STORED).replace(b"one one one", b"one one two")
    assert refused(stored) == "file-damaged"
    content = b"one " * 100
    packed = deflated(content)
    assert whole(read(raw_zip(packed, content)))["a.txt"] == content
    for spoilt in (packed + b"more", packed[:-4], b"\xff" + packed[1:], packed + packed):
        assert refused(raw_zip(spoilt, content)) == "file-damaged"


def deflated(content: bytes) -> bytes:
    pack = zlib.compressobj(9, zlib.DEFLATED, -15)
    return pack.compress(content) + pack.flush()


def raw_zip(packed: bytes, content: bytes) -> bytes:
    """A ZIP of a.txt with this stream in it, well formed in all else (APPNOTE 4.3)."""
    sizes = struct.pack("<III", zlib.crc32(content), len(packed), len(content))
    head = struct.pack("<HHHHH", 20, 0, 8, 0, 0x21) + sizes + struct.pack("<HH", 5, 0)
    local = LOCAL + head + b"a.txt" + packed
    central = CENTRAL + b"\x14\x00" + head + struct.pack("<HHHII", 0, 0, 0, 0, 0) + b"a.txt"
    return local + central + END + struct.pack("<HHHHIIH", 0, 0, 1, 1, len(central), len(local), 0)


def test_a_cut_zip_is_refused_wherever_it_is_cut() -> None:
    content = zip_of(FILES)
    for end in range(0, len(content), 7):
        refused(content[:end])


# --- nothing is written ------------------------------------------------------------------------------------

_WRITES = (
    "os.mkdir", "os.rename", "os.link", "os.symlink", "os.remove", "os.truncate", "tempfile.mkstemp",
    "tempfile.mkdtemp", "subprocess.Popen", "os.system", "socket.connect", "shutil.copyfile",
)  # fmt: skip
_watching: list[list[str]] = []


def _watch(event: str, words: tuple[Any, ...]) -> None:
    if not _watching:
        return
    if event == "open" and isinstance(words[1], str) and set(words[1]) & set("wax+"):
        _watching[-1].append(f"open {words[0]} {words[1]}")
    elif event in _WRITES:
        _watching[-1].append(f"{event} {words}")


@contextmanager
def watched() -> Iterator[list[str]]:
    """Every file opened for writing, folder made, process started or address called meanwhile (PEP 578)."""
    if not hasattr(sys, "_laptight_watch"):
        sys.addaudithook(_watch)
        sys._laptight_watch = True  # type: ignore[attr-defined]
    seen: list[str] = []
    _watching.append(seen)
    try:
        yield seen
    finally:
        _watching.pop()


def test_the_watch_sees_a_file_being_written(tmp_path: Path) -> None:
    """The control of the next test."""
    with watched() as seen:
        (tmp_path / "x").write_text("x")
    assert len(seen) == 1


def test_nothing_is_ever_written(tmp_path: Path) -> None:
    evil = [named("../x"), named("/tmp/x"), zip_of({"x": bytes(50_000_000)}), zip_of(FILES), b"no zip"]
    paths = []
    for number, content in enumerate(evil):
        paths.append(tmp_path / f"{number}.zip")
        paths[-1].write_bytes(content)
    before = sorted(tmp_path.parent.rglob("*"))
    with watched() as seen:
        for path in paths:
            try:
                with opened(path) as container:
                    whole(container)
            except Unreadable:
                continue
    assert seen == []
    assert sorted(tmp_path.parent.rglob("*")) == before
