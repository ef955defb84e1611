"""What is under /static: hashed addresses, caching, vendored checksums, and the weight of a first view."""

from __future__ import annotations

import gzip
import hashlib
import re
from pathlib import Path

import httpx
import pytest

from service.web.serving.render import STATIC, TEMPLATES, render
from service.web.serving.static import StaticFiles
from tests.in_process import ADDRESS, InProcess

VENDOR = TEMPLATES / "static" / "vendor"
ROW = re.compile(r"^\| `(?P<path>[^`]+)` \|.*\| `(?P<sha256>[0-9a-f]{64})` \|$", re.MULTILINE)


@pytest.fixture
def shelf(tmp_path: Path) -> StaticFiles:
    (tmp_path / "vendor").mkdir()
    (tmp_path / "look.css").write_text("body{color:red}")
    (tmp_path / "vendor" / "thing.js").write_text("1")
    return StaticFiles(tmp_path)


def ask(shelf: StaticFiles, address: str, **headers: str) -> httpx.Response:
    with httpx.Client(transport=InProcess(shelf), base_url=ADDRESS) as client:
        return client.get(address, headers=headers)


def test_every_vendored_file_has_the_checksum_written_beside_it() -> None:
    written = {m["path"]: m["sha256"] for m in ROW.finditer((VENDOR / "VENDORED.md").read_text())}
    found = {p.relative_to(VENDOR).as_posix(): p for p in VENDOR.rglob("*") if p.is_file()}
    del found["VENDORED.md"]
    assert written == {path: hashlib.sha256(p.read_bytes()).hexdigest() for path, p in found.items()}


def test_every_vendored_folder_carries_its_licence_and_no_address_of_a_registry() -> None:
    assert all((folder / "LICENSE").is_file() for folder in VENDOR.iterdir() if folder.is_dir())
    assert "://" not in (VENDOR / "VENDORED.md").read_text()


def test_one_changed_byte_changes_the_address(tmp_path: Path) -> None:
    (tmp_path / "look.css").write_text("a")
    before = StaticFiles(tmp_path).url("look.css")
    (tmp_path / "look.css").write_text("b")
    assert StaticFiles(tmp_path).url("look.css") != before


def test_the_right_version_is_kept_for_ever_and_any_other_is_asked_for_again(shelf: StaticFiles) -> None:
    assert "immutable" in ask(shelf, shelf.url("look.css")).headers["cache-control"]
    assert ask(shelf, "/static/look.css?v=0123456789ab").headers["cache-control"] == "no-cache"
    assert "immutable" in ask(shelf, shelf.url("vendor/thing.js")).headers["cache-control"]


def test_a_file_known_already_is_not_sent_again(shelf: StaticFiles) -> None:
    first = ask(shelf, "/static/look.css")
    again = ask(shelf, "/static/look.css", **{"If-None-Match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")


def test_the_same_bytes_come_compressed_or_plain(shelf: StaticFiles) -> None:
    pressed = ask(shelf, "/static/look.css", **{"Accept-Encoding": "gzip"})
    plain = ask(shelf, "/static/look.css", **{"Accept-Encoding": "identity"})
    assert pressed.headers["content-encoding"] == "gzip" and "content-encoding" not in plain.headers
    assert pressed.text == plain.text == "body{color:red}"


@pytest.mark.parametrize(
    "name",
    ["none.css", "../render.py", "%2e%2e/x", "%252e%252e/x", "look%252ecss", "vendor", "", "look.css/"],
)
def test_nothing_but_the_files_is_served(shelf: StaticFiles, name: str) -> None:
    assert ask(shelf, f"/static/{name}").status_code == 404


def test_what_every_first_view_loads_leaves_half_of_100_kb_for_the_page_itself() -> None:
    """The budget is the project's own: 100 KB and 6 requests without the sketch."""
    named = set(re.findall(r'(?:href|src)="(/static/[^"]+)', render("page.html", None, person_id="p")))
    loaded = {name for name in named if "/icons/" not in name}  # asked for when it is installed
    shelf = {name: ask(STATIC, name, **{"Accept-Encoding": "gzip"}) for name in loaded}
    sent = {name: int(answer.headers["content-length"]) for name, answer in shelf.items()}
    assert len(loaded) == 5  # and the page itself: six requests
    assert sum(sent.values()) <= 65_000
    assert gzip.decompress(STATIC.files["look.css"].zipped or b"") == STATIC.files["look.css"].body
