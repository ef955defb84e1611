"""What a phone moves to see a zone for the first time, and to see the sketch of a 64-megapixel plan.

`python -m tests.bench.bench_first_view [--plan PICTURE]`

A service of its own in a child process, a 360 by 740 px Chromium with an empty cache, bytes as they went over
the wire (headers and compression included, by the browser's own network log). The plan is the real one beside
the project where it is there, else one of 64 megapixels drawn here. Figures to hold: the first view at most
100 KB and 8 requests without the sketch; the sketch's first paint at most 300 KB more. 1 KB is 1,000 bytes.
"""

from __future__ import annotations

import argparse
import random
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import httpx
from PIL import Image, ImageDraw
from playwright.sync_api import BrowserContext, CDPSession, Page, sync_playwright

from service.actions.demo import demo
from service.actions.entrance import accounts
from service.actions.frame.desk import Desk
from service.actions.frame.reading import project_view
from service.actions.office import projects
from service.actions.sketches import sketches, zones
from service.app import make_desk
from service.domain.nouns import roles
from service.settings import Settings
from service.web.serving.guards import PLAIN_COOKIE
from tests.bench.filling import mark_many
from tests.browser.phones import CHROMIUM, FLAGS, PHONE

ROOT = Path(__file__).parents[2]
REAL_PLAN = ROOT.parent / "shared" / "data" / "plans" / "tower-floor.png"
BUSY = ((500, 2200), (9200, 2200), (9200, 4500), (500, 4500))  # the whole slab, with everything drawn on it
MOST_KB, MOST_REQUESTS, MOST_SKETCH_KB = 100, 8, 300


@dataclass
class Moved:
    """What went over the wire since the last look."""

    requests: dict[str, str] = field(default_factory=dict)
    sizes: dict[str, float] = field(default_factory=dict)

    def listen(self, log: CDPSession) -> None:
        log.send("Network.enable")
        log.on("Network.requestWillBeSent", self._asked)
        log.on(
            "Network.loadingFinished", lambda e: self.sizes.update({e["requestId"]: e["encodedDataLength"]})
        )

    def _asked(self, event: dict[str, Any]) -> None:
        url = event["request"]["url"]
        if url.startswith("http"):
            self.requests[event["requestId"]] = url

    def take(self, words: str, *, each: bool = True) -> tuple[float, int]:
        """KB and requests since the last look, printed."""
        sizes = [(self.sizes.get(key, 0) / 1000, url) for key, url in self.requests.items()]
        sent = [
            (kb, url) for kb, url in sizes if kb > 0
        ]  # what came from the browser's own cache moved nothing
        total = sum(kb for kb, _ in sent)
        print(f"{words}: {total:.1f} KB in {len(sent)} requests")
        if each:
            for kb, url in sorted(sent, reverse=True):
                print(f"    {kb:7.1f} KB  {urlsplit(url).path}")
        self.requests.clear()
        self.sizes.clear()
        return total, len(sent)


def drawn_plan(path: Path) -> Path:
    """A plan of 9,500 by 6,714 px, as busy as a real one: walls, dimension lines, lettering."""
    draw, image = random.Random(3), Image.new("L", (9500, 6714), 255)
    pen = ImageDraw.Draw(image)
    for _ in range(6000):
        x, y, far = draw.randint(200, 9200), draw.randint(200, 6500), draw.randint(20, 600)
        end = (x + far, y) if draw.random() < 0.5 else (x, y + far)
        pen.line((x, y, *end), fill=0, width=draw.choice((1, 2, 3, 8)))
        pen.text((x, y), f"{draw.randint(1, 99)} ft {draw.randint(0, 11)} in", fill=0, font_size=28)
    image.save(path)
    return path


def fill(data: Path, plan: Path) -> tuple[str, str, str, str]:
    """The demo, and a second sketch of the large plan with a zone of 40 marks. A zone of the demo, the large
    plan's zone and sketch, and a sign-in."""
    desk = make_desk(Settings.read(data, environ={}))
    demo.fill(desk.fresh())
    email = {role: mail for mail, _, role in demo.PEOPLE}
    lead, manager = (_person(desk, email[role]) for role in (roles.CREW_LEAD, roles.PROJECT_MANAGER))
    project = projects.my_projects(desk, lead.id)[0].project.id
    small = next(s.zone.id for s in project_view(desk, lead.id, project).standings if s.zone.letter == "C")
    began = time.monotonic()
    sketch = sketches.add_sketch(desk.fresh(), manager.id, project, plan, "Tower floor")
    print(f"plan of {sketch.width_px * sketch.height_px / 1e6:.0f} megapixels taken in, "
          f"{time.monotonic() - began:.1f} s")  # fmt: skip
    sketches.set_scale(desk.fresh(), manager.id, sketch.id, (0, 0), (1000, 0), "100 ft")
    zone = zones.outline_zone(desk.fresh(), manager.id, sketch.id, "T", "Tower", BUSY)
    mark_many(desk, lead.id, zone, 40)
    token, _ = accounts.open_sign_in(desk.fresh(), lead.id, accounts.PAGE)
    desk.database.close()
    return small, zone.id, sketch.id, token


def _person(desk: Desk, email: str) -> accounts.Person:
    person = accounts.person_for(
        desk.fresh(), accounts.sign_in(desk.fresh(), email, demo.PASSWORD, "10.0.0.1")[0]
    )
    assert person is not None
    return person


@contextmanager
def serving(data: Path) -> Iterator[str]:
    """The service in a process of its own, ended with the block."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = ["-m", "service", "serve", "--data", str(data), "--port", str(port)]
    process = subprocess.Popen([sys.executable, *words], cwd=ROOT, stdout=subprocess.DEVNULL)
    try:
        for _ in range(300):
            try:
                httpx.get(f"http://127.0.0.1:{port}/sign-in")
                break
            except httpx.TransportError:
                time.sleep(0.1)
        yield f"http://127.0.0.1:{port}"
    finally:
        process.terminate()
        process.wait(30)


def opened(context: BrowserContext) -> tuple[Page, Moved]:
    page, moved = context.new_page(), Moved()
    moved.listen(context.new_cdp_session(page))
    return page, moved


def painted(page: Page) -> None:
    """Wait until every tile of the sketch is on the screen and nothing more is asked for."""
    page.wait_for_function(
        "() => { const all = document.querySelectorAll('.leaflet-tile').length;"
        " return all && all === document.querySelectorAll('.leaflet-tile-loaded').length; }"
    )
    page.wait_for_load_state("networkidle")


def look(address: str, token: str, small: str, large: str, sketch: str) -> bool:
    """Every view, cold and warm. True when the figures are held."""
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        held = []
        for words, path in (("a demo zone", f"/zones/{small}"), ("the large plan's zone", f"/zones/{large}")):
            context = chromium.new_context(viewport={"width": PHONE["width"], "height": PHONE["height"]})
            context.add_cookies([{"name": PLAIN_COOKIE, "value": token, "url": address}])
            page, moved = opened(context)
            page.goto(f"{address}{path}", wait_until="networkidle")
            kb, requests = moved.take(f"first view of {words}, cold")
            page.get_by_text("Look closer on the sketch").click()
            painted(page)
            more, _ = moved.take("  the sketch opened on it, more")
            page.goto("about:blank")
            page.goto(f"{address}{path}", wait_until="networkidle")
            moved.take("  the same view, warm", each=False)
            held += [kb <= MOST_KB, requests <= MOST_REQUESTS, more <= MOST_SKETCH_KB]
            context.close()
        context = chromium.new_context(viewport={"width": PHONE["width"], "height": PHONE["height"]})
        context.add_cookies([{"name": PLAIN_COOKIE, "value": token, "url": address}])
        page, moved = opened(context)
        page.goto(f"{address}/sketches/{sketch}")
        painted(page)
        moved.take("the large plan's own page, cold, sketch and all")
        chromium.close()
    return all(held)


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--plan", type=Path, default=REAL_PLAN)
    told = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder) / "data"
        plan = Path(folder) / "plan.png"  # a copy: taking a sketch in moves the file it is given
        if told.plan.exists():
            shutil.copyfile(told.plan, plan)
        else:
            print(f"{told.plan.name} is not there: a plan is drawn instead")
            drawn_plan(plan)
        small, large, sketch, token = fill(data, plan)
        with serving(data) as address:
            held = look(address, token, small, large, sketch)
    print(
        f"held: at most {MOST_KB} KB and {MOST_REQUESTS} requests, {MOST_SKETCH_KB} KB more for the sketch"
        if held
        else "NOT HELD"
    )
    return 0 if held else 1


if __name__ == "__main__":
    sys.exit(main())
