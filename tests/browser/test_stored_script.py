"""Words that would be markup, stored in every free text, read on every page: shown as words, run nowhere."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import Dialog

from service.actions.entrance import resets
from service.actions.frame import reading
from service.actions.frame.desk import Desk
from service.actions.marks import defects, patches
from service.actions.office import projects, ready_lists, release
from service.actions.people import crew_codes, people
from service.actions.sketches import sketches, zones
from service.domain.nouns.roles import CREW_LEAD, INSPECTOR
from service.storage.history import trees
from tests.browser.evil_facts import install
from tests.browser.phones import Phone, Site
from tests.builders import HOLE, TEAR, sides
from tests.cast import Cast, assemble
from tests.web.sketches.plans import plan_png
from tests.whole.routes import API, ROWS

pytestmark = pytest.mark.browser

EVIL = """"><script>alert(1)</script><img src=x onerror=alert(2)>'"--><svg/onload=alert(3)>{{7*7}}"""
LINK = "javascript:alert(4)"
SHORT = "\"'><b>"  # a grid line's label has eight characters at the most
LABEL = '"><script>alert(1)</script>{{7*7}}'  # a ready list's has sixty
BOTH = f"{EVIL} {LINK}"
LEFT = ((100, 100), (500, 100), (500, 400), (100, 400))
RIGHT = ((500, 100), (900, 100), (900, 400), (500, 400))
BELOW = ((100, 420), (500, 420), (500, 780), (100, 780))


def a_site_of_evil_words(desk: Desk, cast: Cast, folder: Path) -> dict[str, str]:
    """Every free text of the service says BOTH; ids by the names that the addresses use."""
    lead, manager = cast.lead.id, cast.manager.id
    project = projects.start_project(desk, manager, EVIL[:100], "us", "America/Chicago").id
    there = replace(cast, project_id=project)
    for person, role in ((cast.lead, CREW_LEAD), (cast.inspector, INSPECTOR)):
        people.invite(desk, manager, project, person.email, role)
    evil = people.invite(desk, manager, project, "evil@example.com", CREW_LEAD)
    assert evil.token is not None
    named, _ = people.join_anew(desk, evil.token, EVIL[:100], "four plain grey doors")
    invited = people.invite(desk, manager, project, "'onclick=alert`5`'@example.com", CREW_LEAD)
    source = {"value": "7 in", "source": BOTH}
    asked = {"patch_overlap": source, "tape_width": "2 in", "gate_demands": []}
    projects.change_rule_sheet(desk, manager, project, asked)
    picture = folder / "plan.png"
    picture.write_bytes(plan_png())
    sketch = sketches.add_sketch(desk, manager, project, picture, EVIL[:100]).id
    sketches.set_scale(desk, manager, sketch, (0, 0), (1000, 0), "100 ft")
    sketches.lay_grid(desk, manager, sketch, [(SHORT, (100, 10), (100, 800)), ("<i>", (10, 100), (900, 100))])
    ids = {"project_id": project, "sketch_id": sketch, "level": "0", "x": "0", "y": "0"}
    for name, letter, ring in (("zone_id", "B", LEFT), ("clear_id", "C", RIGHT), ("released_id", "D", BELOW)):
        ids[name] = zones.outline_zone(desk, manager, sketch, letter, EVIL[:100], ring).id
        zones.finish_walk(desk, named.id, ids[name], BOTH)
    ids |= _marks(desk, there, ids, named.id)
    ids |= install(desk, named.id, project, sketch, ids["zone_id"], BOTH)
    opened, gone = (ready_lists.open_ready_list(desk, manager, project, LABEL) for _ in range(2))
    ready_lists.withdraw_ready_list(desk, manager, gone.link.id, BOTH)
    ids |= {"link_id": opened.link.id, "ready": opened.token, "person_id": named.id}
    with desk.reading() as session:
        size = str(trees.kept(session, project)[0][0])  # the release gave it
    ids |= {"seq": size, "size": size, "old": "3"}
    return ids | {"token": invited.token or "", "lead": lead}


def _marks(desk: Desk, cast: Cast, ids: dict[str, str], by: str) -> dict[str, str]:
    zone, manager = ids["zone_id"], cast.manager.id
    mark = defects.mark_defect(desk, by, zone, defects.read_mark("tear", (200, 200), TEAR, BOTH)).id
    other = defects.mark_defect(desk, by, zone, defects.read_mark("other", (300, 200), HOLE, BOTH)).id
    texts = {"lot": BOTH[:80], "film_temperature": "60 F", "note": BOTH}
    patch = patches.log_patch(desk, by, mark, sides() | texts).patch.id
    gone = patches.log_patch(desk, by, mark, sides() | texts).patch.id
    patches.withdraw_patch(desk, by, gone, BOTH)
    defects.withdraw_defect(desk, by, other, BOTH)
    wall = zones.draw_wall(desk, by, zone, (100, 100), (500, 100)).id
    hold = zones.hold_zone(desk, by, zone, "other", BOTH).id
    zones.lift_hold(desk, by, zones.hold_zone(desk, by, zone, "storm", BOTH).id, BOTH)
    digest = reading.zone_view(desk, manager, ids["released_id"]).standing.digest
    released = release.release_zone(desk, manager, ids["released_id"], digest, BOTH)
    reset = resets.make_reset_for_email(desk, cast.lead.email)
    code = crew_codes.make_code(desk, manager, cast.project_id, by).token
    made = {
        "code": code,
        "defect_id": mark,
        "patch_id": patch,
        "wall_id": wall,
        "hold_id": hold,
        "reset": reset,
    }
    return made | {"release_id": released.id}


FILES = (
    ".webp", ".json", ".pdf", ".txt", ".tsr", ".pem", "/proof", ".js", ".webmanifest", ".ics", ".csv",
    "/health", "/health/ready",
)  # fmt: skip
PAGES = [
    row
    for row in ROWS
    if row.method == "GET" and not row.path.startswith(API) and not row.path.endswith(FILES)
]


def watched(phone: Phone) -> list[str]:
    """Dialogs that opened, each closed at once."""
    opened: list[str] = []

    def close(dialog: Dialog) -> None:
        opened.append(f"{phone.path}: {dialog.message}")
        dialog.dismiss()

    phone.page.on("dialog", close)
    return opened


def test_no_stored_word_runs_on_any_page(site: Site, tmp_path: Path) -> None:
    cast = assemble(site.desk.fresh())
    ids = a_site_of_evil_words(site.desk.fresh(), cast, tmp_path)
    phone = site.signed(cast.manager)
    opened, shown = watched(phone), set[str]()
    for row in PAGES:
        phone.open(row.address(ids))
        if phone.page.locator(".sketch").count():  # what the viewer draws comes after the page
            phone.page.wait_for_load_state("networkidle")
        assert (
            phone.page.locator(
                "main script:not([type='application/json']), main img[src=x], svg[onload]"
            ).count()
            == 0
        ), row
        assert phone.page.locator("a[href^='javascript:'], form[action^='javascript:']").count() == 0, row
        assert "{{7*7}}" in phone.words() or "<script>" not in phone.words(), row
        if "<script>alert(1)</script>" in phone.page.inner_text("body"):
            shown.add(row.path)
    assert opened == [] and phone.trouble == []
    assert len(shown) >= 25, "the words must be read for the test to mean anything"


def test_no_word_of_an_address_or_a_refused_form_runs(site: Site, tmp_path: Path) -> None:
    cast = assemble(site.desk.fresh())
    ids = a_site_of_evil_words(site.desk.fresh(), cast, tmp_path)
    phone = site.signed(cast.manager)
    opened = watched(phone)
    for path in ("history?tag={}", "history?day={}", "history?kind={}", "as-it-stood?at={}"):
        phone.open(f"/projects/{ids['project_id']}/{path.format('%22%3E%3Csvg/onload=alert(6)%3E')}")
    phone.open(f"/zones/{ids['zone_id']}/mark")
    phone.page.wait_for_load_state("networkidle")
    phone.page.locator("summary", has_text="Say or write a note").click()
    phone.page.fill("#note", EVIL)
    phone.press("Mark it")
    assert "There is a problem" in phone.words()
    assert phone.page.input_value("#note") == EVIL
    stranger = site.phone()
    told = watched(stranger)
    stranger.open("/sign-in?next=javascript:alert(7)")
    stranger.sign_in(cast.manager.email)
    assert stranger.path == "/"
    assert opened == [] and told == []
    # A day in an address that is none: the browser leaves the field empty, and says so.
    phone.trouble[:] = [words for words in phone.trouble if not words.startswith("The specified value")]


def test_a_word_that_ran_would_be_seen(site: Site) -> None:
    """The control: a dialog is heard, and a script in a page of this service is stopped and complained of."""
    phone = site.phone()
    opened = watched(phone)
    phone.open("/sign-in")
    phone.page.evaluate("() => { setTimeout(() => alert('heard'), 0) }")
    phone.page.wait_for_timeout(200)
    assert opened == ["/sign-in: heard"]
    phone.page.evaluate(
        "() => { const made = document.createElement('script');"
        " made.textContent = 'alert(1)'; document.body.append(made) }"
    )
    phone.page.wait_for_timeout(200)
    assert opened == ["/sign-in: heard"]
    assert any("Content Security Policy" in words for words in phone.trouble)
    phone.trouble.clear()
