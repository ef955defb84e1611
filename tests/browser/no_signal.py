"""A phone that loses its signal: a zone taken along, forms sent with nobody there, what the outbox holds."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext

from service.actions.entrance import accounts
from service.actions.entrance.accounts import Person
from service.web.serving.guards import PLAIN_COOKIE
from tests.browser.phones import CHROMIUM, FLAGS, PHONE, Phone, Site
from tests.browser.waiting import until

PATIENCE = 300  # looks, a twentieth of a second apart
FAR_OFF = 4_102_444_800  # 2100: the cookie outlives the browser, as a sign-in's does


def keep_signed(site: Site, context: BrowserContext, person: Person) -> str:
    """Sign this person in on a phone, for longer than the browser is open; the token."""
    token, _ = accounts.open_sign_in(site.desk.fresh(), person.id, accounts.PAGE)
    cookie = {"name": PLAIN_COOKIE, "value": token, "url": site.address, "expires": FAR_OFF}
    context.add_cookies([cookie])  # type: ignore[list-item]  # its type wants a class, and takes a dict
    return token


@contextmanager
def own_browser(site: Site, folder: Path) -> Iterator[Phone]:
    """A phone whose browser keeps everything in a folder: opened again there, it has what it had."""
    context = site.chromium.browser_type.launch_persistent_context(
        folder,
        executable_path=CHROMIUM,
        args=FLAGS,
        viewport={"width": PHONE["width"], "height": PHONE["height"]},
        has_touch=True,
    )
    phone = Phone(context.pages[0], site.address)
    site.phones.append(phone)
    try:
        yield phone
    finally:
        context.close()
        forgive(phone)


def forgive(phone: Phone) -> None:
    """A browser logs every request that finds no signal as an error of its own."""
    phone.trouble[:] = [said for said in phone.trouble if "net::ERR_" not in said]


@contextmanager
def no_signal(*phones: Phone) -> Iterator[None]:
    """Airplane mode."""
    for phone in phones:
        phone.page.context.set_offline(True)
    yield
    for phone in phones:
        phone.page.context.set_offline(False)
        forgive(phone)


def kept_by_worker(phone: Phone, path: str) -> None:
    """Open a page, until the worker keeps what pages need."""
    phone.open(path)
    until(phone.page, "navigator.serviceWorker.controller")


def take_along(phone: Phone, zone: str, *, opened: bool = False) -> str:
    """Take the zone along; what the page says then. `opened`: its page is open already."""
    if not opened:
        kept_by_worker(phone, zone)
    phone.page.click("[data-along] button")
    until(phone.page, "['taken', 'trouble'].includes(document.querySelector('[data-along]')?.dataset.state)")
    return phone.page.inner_text("[data-along]")


def items(phone: Phone) -> list[dict[str, Any]]:
    """What the outbox holds, first made first."""
    until(phone.page, "globalThis.outbox !== undefined")
    found: list[dict[str, Any]] = phone.page.evaluate("outbox.items()")
    return found


def outbox_words(phone: Phone) -> str:
    """Everything the page of the outbox says, once it knows what lies on the phone."""
    until(phone.page, "document.querySelector('[data-outbox-page][data-shown]')")
    return phone.words()


def states(phone: Phone) -> list[str]:
    return [item["state"] for item in items(phone)]


def settled(phone: Phone, *wanted: str) -> None:
    """Until the items stand so, first made first."""
    for _ in range(PATIENCE):
        if states(phone) == list(wanted):
            return
        phone.page.wait_for_timeout(50)
    raise AssertionError(f"not {wanted}: {items(phone)}")


def hold(phone: Phone, zone: str, reason: str) -> None:
    """Put the zone on hold by its form, which is one of the crew's."""
    phone.open(f"{zone}/hold")
    phone.choose("Standing water")
    phone.page.fill("#reason", reason)
    phone.press("Put the zone on hold")
