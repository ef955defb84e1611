"""Fault schedules against the outbox of a real browser: what is kept on the phone lands exactly once.

A schedule is a row of faults drawn from a seed. For each, four things are kept on the phone (a mark with a
photo, a patch on it, a mark, a hold) and sent through the proxy of `tests.faults` until nothing waits. Then
the history is read: each thing once, under the receipt that the phone holds, nothing more; no zone is ready.
"""

from __future__ import annotations

import hashlib
import random
import socket
import threading
import uuid
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import uvicorn
from fastapi import FastAPI
from playwright.sync_api import Browser, Page
from pysqlite3 import dbapi2

from service.actions.entrance import accounts
from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.domain.nouns.site import Zone
from service.settings import Settings
from service.web.serving.guards import PLAIN_COOKIE
from tests import faults
from tests.api.scene import jpeg
from tests.browser.waiting import until
from tests.builders import a_zone
from tests.cast import Cast, assemble
from tests.in_process import quick_app
from tests.web.sketches.plans import a_plan

ROUNDS = 40  # flushes until a schedule must be through; the faults of a schedule are far fewer
ZONE_LASTS = 40  # schedules before the next zone: a zone of thousands of marks is another test's
RING = ((100, 100), (900, 100), (900, 700), (100, 700))
RARE = ("restart", "sign out")  # they take the longest
KEEP = """async ([items, photos]) => {
  const held = (sha256) => ({ sha256, type: "image/jpeg", bytes: Uint8Array.from(photos[sha256]).buffer });
  for (const item of items) await outbox.keep(item, item.photos.map(held));
}"""


class Service:
    """The service on one data directory and one port, stopped and started at will."""

    def __init__(self, data: Path) -> None:
        self.data = data
        self.listening = socket.create_server(("127.0.0.1", 0))
        self.address = f"http://127.0.0.1:{self.listening.getsockname()[1]}"
        self.start()

    def start(self) -> None:
        self.app: FastAPI = quick_app(Settings.read(self.data, environ={}))
        self.server = uvicorn.Server(uvicorn.Config(self.app, log_level="critical", lifespan="off"))
        given = {"sockets": [self.listening.dup()]}
        self.thread = threading.Thread(target=self.server.run, kwargs=given, daemon=True)
        self.thread.start()

    def stop(self) -> None:
        self.server.should_exit = True
        self.server.force_exit = True  # what is under way is cut off, as a plug pulled would
        self.thread.join(10)
        self.desk.database.close()

    def close(self) -> None:
        self.stop()
        self.listening.close()

    def restart(self) -> None:
        self.stop()
        self.start()

    @property
    def desk(self) -> Desk:
        desk: Desk = self.app.state.desk
        return desk


@dataclass
class Campaign:
    """One phone, one proxy, one service, and the history as it should be by now."""

    service: Service
    proxy: faults.Proxy
    page: Page
    cast: Cast
    zone: Zone
    token: str = ""
    run: int = 0
    met: Counter[str] = field(default_factory=Counter)
    trouble: list[str] = field(default_factory=list)

    def sign_in(self) -> None:
        self.token, _ = accounts.open_sign_in(self.service.desk.fresh(), self.cast.lead.id, accounts.PAGE)
        cookie: Any = {"name": PLAIN_COOKIE, "value": self.token, "url": self.proxy.address}
        self.page.context.add_cookies([cookie])

    def sign_out(self) -> None:
        accounts.sign_out(self.service.desk.fresh(), self.token)

    def schedule(self, seed: int) -> None:
        """Draw a schedule, keep four things, send them through it, and hold the history to them."""
        drawn = random.Random(seed)
        if self.run % ZONE_LASTS == 0 and self.run:
            letter = f"Z{chr(64 + self.run // ZONE_LASTS)}"
            sketch = a_plan(self.service.desk.fresh(), self.cast, self.service.data).id
            self.zone = a_zone(self.service.desk.fresh(), self.cast, sketch, letter, RING)
        self.run += 1
        weights = [1 if name in RARE else 6 for name in faults.FAULTS]
        coming = drawn.choices(faults.FAULTS, weights, k=drawn.randint(1, 10))
        before = self.entries()
        items, photos = self._items(drawn, seed)
        self.proxy.coming.clear()
        self.proxy.seen.clear()
        self.proxy.coming.extend(coming)
        self.page.evaluate(KEEP, [items, {name: list(body) for name, body in photos.items()}])
        self._send()
        self.met.update(self.proxy.seen)
        self._hold(seed, coming, items, before)

    def _items(self, drawn: random.Random, seed: int) -> tuple[list[dict[str, Any]], dict[str, bytes]]:
        keys = [str(uuid.UUID(int=drawn.getrandbits(128), version=4)) for _ in range(4)]
        body = jpeg()
        photo = hashlib.sha256(body).hexdigest()
        mark, zone = keys[0].replace("-", ""), f"/zones/{self.zone.id}"
        place = [(str(drawn.randint(150, 850)), str(drawn.randint(150, 650))) for _ in range(2)]
        hole = [["kind", "hole"], ["shape", "circle"], ["diameter", "1/2"], ["diameter_unit", "in"]]
        six = [[side, "7"] for side in ("left", "right", "near", "far")]
        done = [[name, "yes"] for name in ("cleaned", "dry", "edges_taped")]
        told = [
            (
                "mark", f"{zone}/mark",
                [*hole, ["x", place[0][0]], ["y", place[0][1]], ["new_id", mark]], [photo],
            ),
            ("patch", f"/defects/{mark}/patch", [["by", "readings"], ["unit", "in"], *six, *done,
             ["tape_width", "4"], ["tape_width_unit", "in"], ["new_id", keys[1].replace("-", "")]], []),
            ("mark", f"{zone}/mark",
             [*hole, ["x", place[1][0]], ["y", place[1][1]], ["new_id", keys[2].replace("-", "")]], []),
            ("hold", f"{zone}/hold", [["cause", "frost"], ["reason", f"schedule {seed}"]], []),
        ]  # fmt: skip
        return [
            {
                "key": key, "format": 1, "kind": kind, "person": self.cast.lead.id, "person_name": "Lee Lead",
                "project": self.cast.project_id, "project_name": "", "zone": self.zone.id, "path": path,
                "page": path, "title": f"{kind} {seed}", "page_title": "", "fields": fields, "photos": photos,
                "known": self.entries(), "made_at": "2026-11-26T12:00:00.000Z", "verdict": None,
                "state": "waiting", "tries": 0, "trouble": None, "receipt": None,
            }
            for key, (kind, path, fields, photos) in zip(keys, told, strict=True)
        ], {photo: body}  # fmt: skip

    def _send(self) -> None:
        for _ in range(ROUNDS):
            self.page.evaluate("outbox.flush()")
            items = self.page.evaluate("outbox.items()")
            if not any(item["state"] == "waiting" for item in items) and not self.proxy.held:
                return
            if self.page.evaluate("outbox.state().trouble") == "sign-in":
                self.sign_in()

    def _hold(self, seed: int, coming: list[str], items: list[dict[str, Any]], before: int) -> None:
        kept = {item["key"]: item for item in self.page.evaluate("outbox.items()")}
        rows = self.rows(before)
        mine = [kept.get(item["key"], {"state": "gone"}) for item in items]
        for item in mine:
            if item["state"] != "received":
                self._wrong(seed, coming, f"{item.get('kind')} is {item['state']}: {item.get('trouble')}")
            elif rows.get(item["receipt"]["seq"]) != item["receipt"]["leaf"]:
                self._wrong(seed, coming, f"{item['kind']} has a receipt that no entry of the history is")
        view = zone_view(self.service.desk.fresh(), self.cast.lead.id, self.zone.id)
        ids = {item["key"].replace("-", "") for item in items}
        landed = {
            "marks": len(ids & set(view.site.defects)),
            "patches": len(ids & set(view.site.patches)),
            "holds": [hold.reason for hold in view.site.holds.values()].count(f"schedule {seed}"),
        }
        if landed != {"marks": 2, "patches": 1, "holds": 1}:
            self._wrong(seed, coming, f"landed {landed}")
        if len(rows) != 5:  # two marks, a photo, a patch, a hold
            self._wrong(seed, coming, f"{len(rows)} entries where 5 should be")
        if view.standing.state == "ready to place":
            self._wrong(seed, coming, "the zone is ready to place")

    def _wrong(self, seed: int, coming: list[str], words: str) -> None:
        self.trouble.append(f"schedule {seed} ({', '.join(coming)}): {words}")

    def entries(self) -> int:
        return int(self._read("SELECT max(seq) FROM entry WHERE project_id = ?")[0][0] or 0)

    def rows(self, after: int) -> dict[int, str]:
        """Each entry since then by its number, with its leaf hash: SHA-256 of 0x00 and the entry (RFC 9162
        section 2.1.1)."""
        found = self._read("SELECT seq, content FROM entry WHERE project_id = ? AND seq > ?", after)
        return {seq: hashlib.sha256(b"\0" + bytes(content)).hexdigest() for seq, content in found}

    def _read(self, query: str, *more: int) -> list[Any]:
        connection = dbapi2.connect(str(self.service.data / "laptight.sqlite3"), timeout=30)
        try:
            return list(connection.execute(query, (self.cast.project_id, *more)).fetchall())
        finally:
            connection.close()


@contextmanager
def campaign(data: Path, chromium: Browser) -> Iterator[Campaign]:
    """A campaign on a data directory that holds a migrated database."""
    service = Service(data)
    cast = assemble(service.desk.fresh())
    sketch = a_plan(service.desk.fresh(), cast, data).id
    zone = a_zone(service.desk.fresh(), cast, sketch, "B", RING)
    context = chromium.new_context(viewport={"width": 360, "height": 740})
    with faults.between(service.address) as proxy:
        made = Campaign(service, proxy, context.new_page(), cast, zone)
        proxy.between = {"restart": service.restart, "sign out": made.sign_out}
        made.sign_in()
        made.page.goto(f"{proxy.address}/outbox")
        until(made.page, "globalThis.outbox !== undefined")
        try:
            yield made
        finally:
            context.close()
    service.close()
