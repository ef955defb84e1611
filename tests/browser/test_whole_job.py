"""The whole job on phones: from an empty service to a released zone, back on hold, read in the history."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.browser.phones import Phone, Site, draw_plan
from tests.browser.waiting import until
from tests.builders import a_zone
from tests.cast import assemble
from tests.web.sketches.plans import a_plan

pytestmark = pytest.mark.browser
REAL_PLAN = Path(__file__).parents[3] / "shared" / "data" / "plans" / "tower-floor.png"
Place = tuple[float, float]


@dataclass(frozen=True)
class Ground:
    """A plan and the places pressed on it, in its pixels; `size` is the zone in sq ft, and ft round."""

    picture: Path
    scale: tuple[Place, Place]
    distance: str
    corners: tuple[Place, ...]
    size: tuple[float, float]
    places: tuple[Place, ...]


def invented(folder: Path) -> Ground:
    return Ground(
        draw_plan(folder / "plan.png"),
        scale=((200, 200), (2200, 200)),
        distance="200 ft",
        corners=((200, 200), (1000, 200), (1000, 800), (200, 800)),
        size=(4800, 280),  # 80 by 60 ft
        places=((520, 450), (700, 610), (840, 300)),
    )


# The plan is drawn at 188.445 px to the metre, so 8,480.025 px across are 45 m, and the zone is 10 by 8 m.
REAL = Ground(
    REAL_PLAN,
    scale=((300, 2600), (8780.025, 2600)),
    distance="45 m",
    corners=((1000, 2500), (2884.45, 2500), (2884.45, 4007.56), (1000, 4007.56)),
    size=(861.1, 118.1),
    places=((1500, 3000), (2100, 3500), (2500, 2800)),
)


def start_project(manager: Phone, ground: Ground) -> tuple[str, str]:
    """The manager starts a project, takes a plan in, sets its scale and outlines zone B. Both addresses."""
    manager.sign_in("max@example.com")
    manager.follow("Start a project")
    manager.page.fill("#name", "North warehouse slab")
    manager.choose("Feet and inches")
    manager.page.select_option("#time_zone", "America/Chicago")
    manager.press("Start the project")
    assert "First steps" in manager.words()
    manager.follow("Add a sketch")
    manager.page.fill("#name", "Level 1 slab")
    manager.page.set_input_files("#file", ground.picture)
    manager.page.set_default_timeout(60_000)  # a large plan is opened, checked and cut while the page waits
    manager.press("Take it in")
    manager.page.set_default_timeout(15_000)
    assert "No scale yet." in manager.words()
    set_scale(manager, ground)
    outline(manager, ground)
    manager.open("/")
    manager.follow("Open North warehouse slab")
    href = manager.page.get_by_role("link", name="B North bay").first.get_attribute("href")
    assert href is not None
    return manager.path.removesuffix("/office"), href.removesuffix("/release")


def sizes(told: str) -> tuple[float, float]:
    """The numbers of `4,800 sq ft, 280 ft round`."""
    found = re.fullmatch(r"([\d,.]+) sq ft, ([\d,.]+) ft round", told)
    assert found, told
    return float(found[1].replace(",", "")), float(found[2].replace(",", ""))


def set_scale(manager: Phone, ground: Ground) -> None:
    manager.follow("Set the scale")
    manager.sketch_ready()
    for number, place in enumerate(ground.scale, 1):
        manager.tap_place(*place, zoom=manager.fine())
        until(manager.page, f"document.querySelector('#x{number}')?.value > ''")
    manager.page.fill("#distance", ground.distance)
    manager.press("See what follows")
    assert "Is that about right?" in manager.words()
    manager.press("Yes, set the scale")
    assert "No scale yet." not in manager.words()


def outline(manager: Phone, ground: Ground) -> None:
    manager.follow("Outline a zone")
    manager.sketch_ready()
    for number, corner in enumerate(ground.corners, 1):
        manager.tap_place(*corner, zoom=manager.fine())
        until(
            manager.page, f"JSON.parse(document.querySelector('#outline')?.value || '[]').length === {number}"
        )
    for told, true in zip(sizes(manager.page.inner_text("[data-size]")), ground.size, strict=True):
        assert abs(told - true) <= 0.002 * true
    manager.page.fill("#letter", "B")
    manager.page.fill("#name", "North bay")
    manager.press("Outline the zone")


def invite(manager: Phone, project: str, email: str, role: str) -> str:
    """Invite by the page of people; the link to send."""
    manager.open(f"{project}/people")
    manager.page.fill("#email", email)
    manager.choose(role)
    manager.press("Invite")
    return manager.page.input_value("#shown-link")


def join(phone: Phone, link: str, name: str) -> None:
    phone.page.goto(link)
    phone.page.fill("#name", name)
    phone.page.fill("#password", "seven lazy floats")
    phone.press("Join")
    assert "North warehouse slab" in phone.page.inner_text("header")


def mark(phone: Phone, zone: str, place: Place, kind: str, size: tuple[str, str] | None = None) -> str:
    """Mark a hole or a tear by tapping its place; the tag."""
    phone.open(f"{zone}/mark")
    phone.sketch_ready()
    phone.tap_place(*place, zoom=phone.fine())
    until(phone.page, "document.querySelector('#x')?.value > ''")
    phone.choose(kind)
    phone.choose("Four-cornered" if size else "Round")
    if size:
        phone.page.fill("#length", size[0])
        phone.page.fill("#width", size[1])
    else:
        phone.page.fill("#diameter", "1/2")
    phone.press("Mark it")
    return phone.page.inner_text(".chalk .tag")


def patch(phone: Phone, readings: dict[str, str]) -> str:
    """Fill the four readings and log the patch; what the page said while they were typed."""
    for side, read in readings.items():
        phone.page.fill(f"#{side}", read)
    live = phone.page.inner_text("[data-words] >> nth=0")
    for question in ("cleaned", "dry", "edges_taped"):
        phone.page.check(f"[name={question}][value=yes]")
    phone.page.fill("#tape_width", "4")
    phone.press("Log the patch")
    return live


def walk(phone: Phone, zone: str) -> None:
    phone.open(zone)
    phone.page.check("#looked")
    phone.press("Finish the walk")
    assert "The punch walk is recorded." in phone.words()


SHORT = {"left": "6 1/4", "right": "5 3/4", "far": "6 1/2", "near": "6"}
ENOUGH = {"left": "7", "right": "7", "far": "7 1/2", "near": "8"}


def the_whole_job(site: Site, ground: Ground) -> None:
    manager = site.phone()
    project, zone = start_project(manager, ground)
    site.ask_for_marks_only("max@example.com", project)
    lead = site.phone()
    join(lead, invite(manager, project, "lou@example.com", "crew lead"), "Lou Lead")
    assert mark(lead, zone, ground.places[0], "Tear", ("4", "2")) == "B-01"
    assert "Chalk B-01 beside it" in lead.words()
    assert "Cut 18 by 16 in (least 16 by 14 in)" in lead.words()
    lead.follow("Log the patch")
    assert patch(lead, SHORT) == "Short by 1/4 in on the right"
    assert "B-01 is not sealed: short by 1/4 in on the right" in lead.words()
    lead.follow("Log another patch")
    assert patch(lead, ENOUGH) == "Holds: least overlap 7 in"
    assert "B-01 is sealed: least overlap 7 in" in lead.words()
    walk(lead, zone)

    manager.open(f"{zone}/release")
    told = manager.words()
    assert "You confirm exactly what is written here, and nothing else." in told
    for fact in ("Patch overlap 6 in", "B-01 tear, 4 by 2 in", "Holds none stands", "Sealed"):
        assert fact in told, fact
    manager.press("Release zone B")
    assert "Zone B is ready to place" in manager.words()
    lead.open(zone)
    assert "Ready to place" in lead.words()

    assert mark(lead, zone, ground.places[1], "Hole") == "B-02"
    lead.open(zone)
    assert "Held" in lead.words() and "1 mark open" in lead.words()
    manager.open(f"{zone}/release")
    told = manager.words()
    assert "Why zone B is held" in told and "fell away" in told and "The zone needs a new release." in told
    assert "Lou Lead" in told and "marked B-02" in told
    assert manager.page.get_by_role("button", name="Release zone B: 1 reason stands").is_disabled()

    pull_back(manager, lead, zone, ground)
    read_it_all(site.phone(), manager, project, zone)


def pull_back(manager: Phone, lead: Phone, zone: str, ground: Ground) -> None:
    """The second hole is mended, the zone released anew, and that release pulled back with a reason."""
    lead.follow("Mark a defect")  # the form may be opened and left; nothing comes of it
    lead.page.go_back()
    lead.page.get_by_role("link", name="B-02").first.click()
    lead.follow("Log the patch")
    patch(lead, ENOUGH)
    manager.open(f"{zone}/release")
    manager.press("Release zone B")
    assert "Zone B is ready to place" in manager.words()
    manager.follow("Pull the release back")
    manager.page.fill("#reason", "The pump is late, the film may be walked on again.")
    manager.press("Pull the release back")
    assert "The release is pulled back, and the reason is in the history." in manager.words()
    lead.open(zone)
    assert "Ready to place" not in lead.words() and "not released yet" in lead.words()


def read_it_all(inspector: Phone, manager: Phone, project: str, zone: str) -> None:
    join(inspector, invite(manager, project, "ina@example.com", "inspector"), "Ina Inspector")
    inspector.follow("History")
    told = inspector.words()
    for words in ("marked B-01", "marked B-02", "released zone B", "The pump is late", "punch walk"):
        assert words in told, words
    line = inspector.page.locator(".log li", has_text="released zone B").last  # the first of the two
    with inspector.page.expect_navigation():
        line.get_by_role("link", name="As it left things").click()
    told = inspector.words()
    assert "Zone B as it stood" in told and "Ready to place" in told
    assert "B-01" in told and "B-02" not in told
    inspector.follow("Zone B today")
    assert "Ready to place" not in inspector.words()
    assert inspector.page.get_by_role("link", name="Mark a defect").count() == 1
    inspector.open(f"{zone}/release")
    assert inspector.page.get_by_role("button", name="Release zone B", exact=True).count() == 0


def test_a_release_is_refused_when_a_mark_landed_while_its_page_stood_open(
    site: Site, tmp_path: Path
) -> None:
    desk = site.desk
    cast = assemble(desk)
    zone = f"/zones/{a_zone(desk, cast, a_plan(desk, cast, tmp_path).id).id}"
    manager, lead = site.signed(cast.manager), site.signed(cast.lead)
    walk(lead, zone)
    manager.open(f"{zone}/release")
    assert "Nothing stands against it." in manager.words()
    assert mark(lead, zone, (400, 300), "Hole") == "B-01"
    manager.press("Release zone B")
    told = manager.words()
    assert told.startswith("There is a problem") and "changed" in told
    assert "What changed since you looked" in told and "marked B-01" in told
    lead.open(zone)
    assert "Ready to place" not in lead.words() and "Held" in lead.words()


def test_the_whole_job_on_phones_from_an_empty_service_to_a_released_zone_and_back(
    site: Site, tmp_path: Path
) -> None:
    the_whole_job(site, invented(tmp_path))


def test_the_whole_job_on_a_real_plan_of_64_megapixels(site: Site) -> None:
    if not REAL_PLAN.exists():
        pytest.skip("the real plans lie beside the project, in ../shared/data/plans, and are not here")
    the_whole_job(site, REAL)
