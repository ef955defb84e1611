"""What a crew's page costs on a slow line: bytes, requests, largest paint, blocking, shifts; cold, warm.

`python -m tests.bench.bench_slow_line`

The line and the phone are those that the web's usual laboratory measure takes for a slow phone: 150 ms
round trip, 1,638.4 kbit/s down, 750 kbit/s up, a processor slowed four times (Lighthouse's constants for
slow 4G, as the assurance page gives them). Measured by the browser's own timings: LCP is the last
largest-contentful-paint, CLS the sum of layout shifts, TBT what long tasks take beyond 50 ms. Over plain
http on 127.0.0.1, without the round trips of TCP and TLS that the line would add. Figures to hold: cold at
most 100 KB, 14 KB of them the page itself, in 6 requests; warm 15 KB; LCP 1.5 s, TBT 50 ms, CLS 0.02. 1 KB is
1,000 bytes. The sketch (its viewer and its tiles) is told apart, and so is what the worker fetches for later.
"""

from __future__ import annotations

import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from service.actions.demo import demo
from service.actions.entrance import accounts
from service.actions.frame.reading import project_view
from service.actions.office.projects import my_projects
from service.app import make_desk
from service.domain.nouns import roles
from service.domain.patches.repair import OPEN
from service.settings import Settings
from service.web.entrance.languages import COOKIE
from service.web.serving.guards import PLAIN_COOKIE
from tests.bench.bench_first_view import serving
from tests.browser.phones import CHROMIUM, FLAGS, PHONE

SLOW_4G = {
    "offline": False, "latency": 150, "downloadThroughput": 1_638.4e3 / 8, "uploadThroughput": 750e3 / 8,
}  # fmt: skip
CPU_SLOWER = 4
MOST = {"KB": 100, "page KB": 14, "requests": 6, "LCP s": 1.5, "TBT ms": 50, "CLS": 0.02}
MOST_WARM_KB = 15
WATCH = """globalThis.seen = { lcp: 0, cls: 0, tbt: 0 };
new PerformanceObserver((list) => { seen.lcp = list.getEntries().at(-1).startTime; }).observe({ type: "largest-contentful-paint", buffered: true });
new PerformanceObserver((list) => { for (const one of list.getEntries()) if (!one.hadRecentInput) seen.cls += one.value; }).observe({ type: "layout-shift", buffered: true });
new PerformanceObserver((list) => { for (const one of list.getEntries()) seen.tbt += Math.max(0, one.duration - 50); }).observe({ type: "longtask", buffered: true });
"""  # noqa: E501


@dataclass
class View:
    """One view of one page."""

    figures: dict[str, float]
    sketch_kb: float

    def over(self) -> list[str]:
        return [name for name, most in MOST.items() if self.figures[name] > most]


def fill(data: Path) -> tuple[dict[str, str], str]:
    """The demo; the crew's pages by their names, and a sign-in of the crew lead."""
    desk = make_desk(Settings.read(data, environ={}))
    demo.fill(desk.fresh())
    email = next(mail for mail, _, role in demo.PEOPLE if role == roles.CREW_LEAD)
    token, _ = accounts.sign_in(desk.fresh(), email, demo.PASSWORD, "10.0.0.1")
    lead = accounts.person_for(desk.fresh(), token)
    assert lead is not None
    project = my_projects(desk, lead.id)[0].project.id
    (held,) = (s for s in project_view(desk, lead.id, project).standings if s.zone.letter == "C")
    mark = next(id_ for id_, verdict in held.verdicts.items() if verdict.state == OPEN)
    desk.database.close()
    zone = f"/zones/{held.zone.id}"
    pages = {
        "my zones": f"/projects/{project}/crew",
        "the zone": zone,
        "walk order": f"{zone}/walk-order",
        "mark a defect": f"{zone}/mark",
        "log a patch": f"/defects/{mark}/patch",
        "outbox": "/outbox",
    }
    return pages, token


def look(page: Page, address: str, path: str) -> View:
    """Open a page on the slow line and wait until nothing more comes."""
    log = page.context.new_cdp_session(page)
    log.send("Network.enable")
    log.send("Network.emulateNetworkConditions", SLOW_4G)
    log.send("Emulation.setCPUThrottlingRate", {"rate": CPU_SLOWER})
    asked: dict[str, str] = {}
    sizes: dict[str, float] = {}
    log.on("Network.requestWillBeSent", lambda e: asked.update({e["requestId"]: e["request"]["url"]}))
    log.on("Network.loadingFinished", lambda e: sizes.update({e["requestId"]: e["encodedDataLength"]}))
    page.goto(f"{address}{path}", wait_until="networkidle")
    page.wait_for_timeout(500)
    seen: dict[str, Any] = page.evaluate("seen")
    sent = {key: sizes.get(key, 0) for key, url in asked.items() if url.startswith("http")}
    drawn = {key for key in sent if "/sketches/" in asked[key] or "/leaflet" in asked[key]}
    rest = {key: kb for key, kb in sent.items() if key not in drawn}
    html = next(kb for key, kb in sent.items() if asked[key] == f"{address}{path}")
    log.detach()
    return View(
        {
            "KB": sum(rest.values()) / 1000,
            "page KB": html / 1000,
            "requests": sum(1 for kb in rest.values() if kb > 0),
            "LCP s": seen["lcp"] / 1000,
            "TBT ms": seen["tbt"],
            "CLS": seen["cls"],
        },
        sum(sent[key] for key in drawn) / 1000,
    )


def phone(chromium: Browser, address: str, token: str, language: str, workers: Any) -> BrowserContext:
    size: Any = {"width": PHONE["width"], "height": PHONE["height"]}
    context = chromium.new_context(viewport=size, service_workers=workers)
    for name, value in ((PLAIN_COOKIE, token), (COOKIE, language)):
        context.add_cookies([{"name": name, "value": value, "url": address}])
    context.add_init_script(WATCH)
    return context


def measure(chromium: Browser, address: str, token: str, pages: dict[str, str]) -> bool:
    print(f"{'':<24}" + "".join(f"{name:>10}" for name in MOST) + f"{'warm KB':>10}{'sketch KB':>11}")
    print(f"{'hold at most':<24}" + "".join(f"{most:>10}" for most in MOST.values()) + f"{MOST_WARM_KB:>10}")
    held = True
    for language in ("en", "es"):
        for words, path in pages.items():
            context = phone(chromium, address, token, language, "block")
            page = context.new_page()
            cold = look(page, address, path)
            page.goto("about:blank")
            warm = look(page, address, path)
            told = "".join(f"{value:>10.2f}" for value in cold.figures.values())
            over = cold.over() + (["warm KB"] if warm.figures["KB"] > MOST_WARM_KB else [])
            last = f"{warm.figures['KB']:>10.2f}{cold.sketch_kb:>11.2f}  {' '.join(over)}"
            print(f"{words + ', ' + language:<24}{told}{last}")
            held = held and not over
            context.close()
    return held


def kept(chromium: Browser, address: str, token: str, path: str) -> None:
    """What the worker fetches for later on the first page, once a phone."""
    context = phone(chromium, address, token, "en", "allow")
    page = context.new_page()
    page.goto(f"{address}{path}", wait_until="networkidle")
    page.wait_for_function("navigator.serviceWorker.controller")
    size = page.evaluate(
        """async () => { let sum = 0; for (const name of await caches.keys()) {
        const kept = await (await caches.open(name)).matchAll();
        for (const one of kept) sum += (await one.arrayBuffer()).byteLength; } return sum; }"""
    )
    print(f"kept by the worker for later, once a phone: {size / 1000:.0f} KB as it lies there, unpacked")
    context.close()


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder) / "data"
        pages, token = fill(data)
        with serving(data) as address, sync_playwright() as playwright:
            chromium = playwright.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
            held = measure(chromium, address, token, pages)
            kept(chromium, address, token, pages["the zone"])
            chromium.close()
    print("held" if held else "NOT HELD")
    return 0 if held else 1


if __name__ == "__main__":
    sys.exit(main())
