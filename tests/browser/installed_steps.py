"""What people press when film is installed: materials, edges, seams, pipes, seals, looks, hold points."""

from __future__ import annotations

from collections.abc import Iterable

from tests.browser.phones import Phone
from tests.browser.waiting import until

Place = tuple[float, float]
COLLAR_WORK = ("fingers", "taped_to_pipe", "taped_to_film", "cleaned", "dry")


def answer(phone: Phone, name: str, value: str = "yes") -> None:
    """Answer one of a form's large questions."""
    phone.page.check(f"[name={name}][value='{value}']")


def work(phone: Phone, *questions: str, tape: str = "4", lot: str = "") -> None:
    """Answer yes to what a form asks of the work, and give its tape and lot where it asks for them."""
    for name in questions:
        answer(phone, name)
    for name, value in (("tape_width", tape), ("lot", lot)):
        if value:
            phone.page.fill(f"#{name}", value)


def open_row(phone: Phone, path: str, tag: str) -> None:
    """Open a page, and on it the row of this tag."""
    phone.open(path)
    with phone.page.expect_navigation():
        phone.page.locator(".schedule a", has_text=tag).first.click()


# --- film and edges ---------------------------------------------------------------------------------------


def submit(manager: Phone, project: str, kind: str, claimed_class: str = "", **stated: str) -> str:
    """Submit a material with what its maker states; what the page says then."""
    manager.open(f"{project}/film")
    manager.follow("Submit a material")
    answer(manager, "kind", kind)
    for name, value in stated.items():
        manager.page.fill(f"#{name}", value)
    if claimed_class:
        manager.page.select_option("#claimed_class", claimed_class)
    manager.press("Submit the material")
    return manager.words()


def receive(manager: Phone, project: str, material: str, number: str) -> None:
    manager.open(f"{project}/film")
    manager.page.select_option("#material", label=material)
    manager.page.fill("#number", number)
    manager.press("Receive the lot")


def lay(lead: Phone, zone: str, *lots: str) -> None:
    for lot in lots:
        lead.open(f"{zone}/film")
        lead.choose(f"Lot {lot}")
        lead.press("Log it as laid")


def describe(lead: Phone, zone: str, side: str, kind: str, **typed: str) -> None:
    """Describe how the film ends along a side of the zone, `rest` for all that is not described yet."""
    lead.open(f"{zone}/edges")
    answer(lead, "side", side)
    answer(lead, "kind", kind)
    for name, value in typed.items():
        lead.page.fill(f"#{name}", value)
    lead.press("Describe it")


def seal_joint(lead: Phone, past: str) -> None:
    """Log the seal of the construction joint whose page is open: it asks for no tape."""
    work(lead, "sealed", "protected", "cleaned", "dry", tape="")
    lead.page.fill("#runs_past", past)
    lead.press("Log the seal")


# --- seams and pipes --------------------------------------------------------------------------------------


def draw_seam(lead: Phone, zone: str, *places: Place) -> None:
    lead.open(f"{zone}/seams")
    lead.follow("Draw a seam")
    lead.sketch_ready()
    for number, place in enumerate(places, 1):
        lead.tap_place(*place, zoom=lead.fine())
        points = "JSON.parse(document.querySelector('#outline')?.value || '[]').length"
        until(lead.page, f"{points} === {number}")
    answer(lead, "kind", "side lap")
    lead.press("Draw it")


def walk_seam(lead: Phone, laps: Iterable[str], lot: str = "") -> None:
    """Log the walk of the seam whose walk form is open, a lap read at each place it offers."""
    for number, lap in enumerate(laps):
        lead.page.fill(f"#lap_{number}", lap)
    work(lead, "taped", "bonded", "cleaned", "dry", lot=lot)
    lead.press("Log the walk")


def place_row(lead: Phone, zone: str, first: Place, last: Place, what: str, count: str) -> None:
    lead.open(f"{zone}/penetrations")
    lead.follow("Place a row of them")
    lead.sketch_ready()
    for number, place in enumerate((first, last), 1):
        lead.tap_place(*place, zoom=lead.fine())
        until(lead.page, f"document.querySelector('#x{number}')?.value > ''")
    lead.page.select_option("#what", what)
    lead.page.fill("#count", count)
    lead.press("Place the row")


def place_pipe(lead: Phone, zone: str, place: Place, what: str) -> None:
    lead.open(f"{zone}/penetrations")
    lead.follow("Place a penetration")
    lead.sketch_ready()
    lead.tap_place(*place, zoom=lead.fine())
    until(lead.page, "document.querySelector('#x')?.value > ''")
    lead.page.select_option("#what", what)
    lead.press("Place it")


def seal_by_collar(lead: Phone, length: str, *, alike: bool = False) -> None:
    """Log a collar 12 in wide and this long on the penetration whose seal form is open."""
    answer(lead, "method", "collar")
    lead.page.fill("#collar_width", "12")
    lead.page.fill("#collar_length", length)
    work(lead, *COLLAR_WORK)
    if alike:
        lead.page.check("#all_alike")
    lead.press("Log the seal")


# --- looks and signatures ---------------------------------------------------------------------------------


def sign(phone: Phone, zone: str) -> None:
    """Sign the step that comes next."""
    phone.open(f"{zone}/hold-points")
    answer(phone, "answer", "sign")
    phone.press("Sign with my name")


def look(inspector: Phone, zone: str, tag: str, refused: str = "") -> None:
    """Take a second look at what was laid over the mark; `refused`: why it is not in order."""
    open_row(inspector, zone, tag)
    inspector.follow("Second look")
    answer(inspector, "answer", "refuse" if refused else "accept")
    if refused:
        inspector.page.fill("#note", refused)
    inspector.press("Keep the second look")


def withdraw(phone: Phone, link: str, reason: str) -> None:
    """Follow the way to a withdrawal and send it with its reason."""
    phone.follow(link)
    phone.page.fill("#reason", reason)
    with phone.page.expect_navigation():
        phone.page.locator("main button").last.click()
