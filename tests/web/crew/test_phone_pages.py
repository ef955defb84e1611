"""What a phone keeps: a worker whose bytes follow its files, shells that name nobody, icons as said."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import httpx
import pytest
from PIL import Image

from service.web.crew.phone import SHELLS, kept_files, worker_script
from service.web.serving.render import STATIC
from service.web.serving.static import StaticFiles
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.serving.test_static import ask


def test_the_worker_names_every_file_by_the_address_that_is_kept_for_ever(client: httpx.Client) -> None:
    answer = client.get("/worker.js")
    assert answer.headers["cache-control"] == "no-cache"
    assert answer.headers["content-type"].startswith("text/javascript")
    named = json.loads(re.search(r"const FILES = (\[.*?\]);", answer.text)[1])  # type: ignore[index]
    assert named == kept_files() and "leaflet.js" in " ".join(named)
    for address in named:
        kept = client.get(address)
        assert (kept.status_code, "immutable" in kept.headers["cache-control"]) == (200, True), address


def test_every_file_that_a_kept_page_asks_for_is_one_that_the_worker_finds_in_it(
    client: httpx.Client,
) -> None:
    """The worker looks for them by the pattern below; nothing may be asked for in another way."""
    assert r'/(?:href|src)="(\/static\/[^"]+)"/g' in client.get("/worker.js").text
    for shell in SHELLS:
        html = client.get(shell).text
        asked = set(re.findall(r'(?:href|src)="(/static/[^"]+)"', html))
        tags = re.findall(r"<(?:script|link)\b[^>]*\b(?:src|href)=[^>]*>", html)
        assert len(tags) == len(asked | {"icon", "manifest"}), tags
        for address in asked:
            assert "immutable" in client.get(address).headers["cache-control"], address


def test_another_byte_in_a_file_makes_another_worker(monkeypatch: pytest.MonkeyPatch) -> None:
    before = worker_script()
    changed = {**STATIC.files, "outbox.js": STATIC.files["form.js"]}
    monkeypatch.setitem(STATIC.__dict__, "files", changed)
    worker_script.cache_clear()
    assert worker_script() != before
    monkeypatch.undo()
    worker_script.cache_clear()
    assert worker_script() == before


def test_the_pages_kept_for_everybody_are_the_same_whoever_asks(
    client: httpx.Client, cast: Cast, page_of: ClientOf
) -> None:
    for shell in SHELLS:
        mine, anybodys = page_of(cast.lead).get(shell), client.get(shell)
        assert mine.status_code == 200 and mine.text == anybodys.text
        assert "data-person" not in mine.text


def test_the_manifest_speaks_the_askers_language_and_its_icons_are_as_large_as_it_says(
    client: httpx.Client,
) -> None:
    """Members: W3C Web Application Manifest."""
    told = client.get("/manifest.webmanifest").json()
    assert (told["lang"], told["display"], told["scope"]) == ("en", "standalone", "/")
    assert {icon["purpose"] for icon in told["icons"]} == {"any", "maskable"}
    for icon in told["icons"]:
        image = Image.open(io.BytesIO(client.get(icon["src"]).content))
        assert f"{image.width}x{image.height}" == icon["sizes"]


def test_a_script_names_what_it_takes_by_its_hashed_address(tmp_path: Path) -> None:
    (tmp_path / "a.js").write_text('import { b } from "./b.js";\nimport("./b.js");\nimport "./none.js";\n')
    (tmp_path / "b.js").write_text("export const b = 1;\n")
    shelf = StaticFiles(tmp_path)
    body, b = ask(shelf, shelf.url("a.js")).text, shelf.url("b.js").rpartition("?v=")[2]
    assert body == f'import {{ b }} from "./b.js?v={b}";\nimport("./b.js?v={b}");\nimport "./none.js";\n'
    before = shelf.url("a.js")
    (tmp_path / "b.js").write_text("export const b = 2;\n")
    assert StaticFiles(tmp_path).url("a.js") != before
