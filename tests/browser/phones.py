"""What people on site hold: phones signed in to the service, and a thumb that presses on the sketch."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

from fastapi import FastAPI
from PIL import Image, ImageDraw
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Request

from service.actions.entrance import accounts
from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.office import projects
from service.storage.accounts import people
from service.web.serving.guards import PLAIN_COOKIE
from tests.browser.waiting import until

CHROMIUM = Path("/usr/bin/chromium")
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
PHONE = {"width": 360, "height": 740}
PASSWORD = "seven lazy floats"


@dataclass
class Phone:
    """One person's browser. `trouble` gathers what the browser complained of and what went elsewhere."""

    page: Page
    address: str
    trouble: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        page, told = self.page, self.trouble
        page.set_default_timeout(15_000)
        page.on("console", self._said)
        page.on("pageerror", lambda error: told.append(str(error)))
        page.on("request", self._asked)

    def _said(self, message: ConsoleMessage) -> None:
        # A refused form answers 409 or 422, which the browser logs as an error of its own.
        refused = "the server responded with a status of 4" in message.text
        if message.type in ("error", "warning") and not refused:
            self.trouble.append(message.text)

    def _asked(self, request: Request) -> None:
        if request.url.startswith("http") and urlsplit(request.url).netloc != urlsplit(self.address).netloc:
            self.trouble.append(f"asked elsewhere: {request.url}")

    def open(self, path: str) -> None:
        self.page.goto(f"{self.address}{path}")

    @property
    def path(self) -> str:
        return urlsplit(self.page.url).path

    def words(self) -> str:
        """Everything a person reads on the page, on one line."""
        return " ".join(self.page.inner_text("main").split())

    def press(self, name: str, role: str = "button") -> None:
        """Press a button (or a link) by its words, and wait for the page that answers."""
        found = self.page.get_by_role("link" if role == "link" else "button", name=name, exact=True)
        with self.page.expect_navigation():
            found.last.click()

    def follow(self, name: str) -> None:
        self.press(name, "link")

    def choose(self, words: str) -> None:
        """Press one of the large answers of a form."""
        self.page.locator("label.choice:visible", has_text=words).first.click()

    def sign_in(self, email: str, password: str = PASSWORD) -> None:
        if self.path != "/sign-in":
            self.open("/sign-in")
        self.page.fill("#email", email)
        self.page.fill("#password", password)
        self.press("Sign in")

    # --- the sketch, with scripts -------------------------------------------------------------------------

    def sketch_ready(self) -> None:
        until(self.page, "document.querySelector('.sketch')?.sketch !== undefined")
        self.page.locator(".sketch").scroll_into_view_if_needed()

    def tap_place(self, x: float, y: float, zoom: float) -> None:
        """Bring the place to the middle of the sketch (as a thumb would drag it there) and tap it."""
        self.page.evaluate(
            "([x, y, z]) => { const s = document.querySelector('.sketch').sketch;"
            " s.map.setView(s.at(x, y), z, { animate: false }); }",
            [x, y, zoom],
        )
        left, top = self.page.evaluate(
            "([x, y]) => { const el = document.querySelector('.sketch'), box = el.getBoundingClientRect(),"
            " p = el.sketch.map.latLngToContainerPoint(el.sketch.at(x, y));"
            " return [p.x + box.left + el.clientLeft, p.y + box.top + el.clientTop]; }",
            [x, y],
        )
        self.page.touchscreen.tap(left, top)

    def fine(self) -> float:
        """A zoom from which a press places to a fraction of the sketch's own dots."""
        return float(self.page.evaluate("document.querySelector('.sketch').sketch.fine")) + 2.5

    # --- the still picture, without scripts ----------------------------------------------------------------

    def press_still(self, x: int, y: int) -> None:
        """Press the still picture at this dot: it comes closer, or the place is settled."""
        with self.page.expect_navigation():
            self.page.locator("input[type=image]").click(position={"x": x, "y": y})


@dataclass
class Site:
    """The served app and the phones opened on it. Closing asserts that no phone had trouble."""

    chromium: Browser
    address: str
    app: FastAPI
    phones: list[Phone] = field(default_factory=list)
    contexts: list[BrowserContext] = field(default_factory=list)

    def phone(self, *, scripts: bool = True, size: dict[str, int] | None = None) -> Phone:
        given = size or PHONE
        context = self.chromium.new_context(
            viewport={"width": given["width"], "height": given["height"]},
            has_touch=True,
            java_script_enabled=scripts,
        )
        self.contexts.append(context)
        phone = Phone(context.new_page(), self.address)
        self.phones.append(phone)
        return phone

    def signed(self, person: Person, *, scripts: bool = True, size: dict[str, int] | None = None) -> Phone:
        """A phone on which this person is signed in already."""
        phone = self.phone(scripts=scripts, size=size)
        token, _ = accounts.open_sign_in(self.desk.fresh(), person.id, accounts.PAGE)
        phone.page.context.add_cookies([{"name": PLAIN_COOKIE, "value": token, "url": self.address}])
        return phone

    @property
    def desk(self) -> Desk:
        """What a test fills the service through where the filling is not what it tests."""
        desk: Desk = self.app.state.desk
        return desk

    def ask_for_marks_only(self, email: str, project: str) -> None:
        """The project's gate asks for nothing besides its marks and the walk: the job is about those."""
        with self.desk.fresh().reading() as session:
            found = people.by_email(session, email)
        assert found is not None
        asked = {"gate_demands": list[str]()}
        projects.change_rule_sheet(self.desk.fresh(), found[0].id, project.rpartition("/")[2], asked)

    def close(self) -> None:
        for context in self.contexts:
            context.close()
        assert [said for phone in self.phones for said in phone.trouble] == []


def draw_plan(path: Path, width: int = 2400, height: int = 1600) -> Path:
    """An invented slab, 200 by 120 ft at 10 px to the foot, its edge 200 px in, a grid every 40 ft."""
    image = Image.new("RGB", (width, height), "white")
    pen = ImageDraw.Draw(image)
    pen.rectangle((200, 200, width - 200, height - 200), outline="black", width=6)
    for x in range(200, width - 199, 400):
        pen.line((x, 120, x, height - 120), fill="gray", width=2)
    for y in range(200, height - 199, 400):
        pen.line((120, y, width - 120, y), fill="gray", width=2)
    image.save(path)
    return path
