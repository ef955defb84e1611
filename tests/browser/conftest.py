"""A real Chromium, and the real app served on this machine's own address, with a first person to sign in."""

from __future__ import annotations

import shutil
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Browser, sync_playwright
from starlette.applications import Starlette

from service.actions.entrance import accounts
from service.settings import Settings
from tests.browser.phones import CHROMIUM, FLAGS, Site
from tests.in_process import quick_app
from tests.replaying import hold_equal


@pytest.fixture(scope="package")
def chromium() -> Iterator[Browser]:
    """One browser for all files of this folder; it ends with them, for nothing else here may run a loop."""
    if not CHROMIUM.exists():
        pytest.skip(f"no Chromium at {CHROMIUM}")
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        yield opened
        opened.close()


@contextmanager
def served(app: Starlette) -> Iterator[str]:
    """The app's address while it is served; it ends with the block."""
    listening = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(app, log_level="error", lifespan="off"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join(10)
        listening.close()


@pytest.fixture
def site(
    tmp_path: Path, migrated_file: Path, chromium: Browser, request: pytest.FixtureRequest
) -> Iterator[Site]:
    """The service as it is run, on today's clock (a browser drops a cookie whose end has passed)."""
    data = tmp_path / "served"
    data.mkdir()
    shutil.copy(migrated_file, data / "laptight.sqlite3")
    app = quick_app(Settings.read(data, environ={}))
    desk = app.state.desk
    accounts.make_person(desk.fresh(), "max@example.com", "Max Manager", "seven lazy floats")
    with served(app) as address:
        opened = Site(chromium, address, app)
        yield opened
        opened.close()
    hold_equal(request.module, desk.database, desk.blobs)
    desk.database.close()
