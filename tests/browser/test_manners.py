"""Every page in a real browser: accessible, large enough to press, clear to read, and asking nobody else.

A page that is routed and not listed here fails. Figures: 48 px and 8 px apart after Android's accessibility
help, 60 px for what a glove must hit (our own), 7:1 from WCAG 2.2 1.4.6, 320 px from 1.4.10, twice the text
from 1.4.4.
"""

from __future__ import annotations

import hashlib
import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.routing import iter_route_contexts
from playwright.sync_api import Browser

from service.actions.demo import demo
from service.actions.entrance import accounts, resets
from service.actions.entrance.accounts import Person
from service.actions.evidence.checkpoints import kept_checkpoints
from service.actions.frame.desk import Desk
from service.actions.frame.reading import project_view
from service.actions.office import projects, ready_lists
from service.actions.people import crew_codes, people
from service.actions.placing.weather_files import keep_file
from service.domain.nouns import roles
from service.domain.patches.repair import OPEN
from service.settings import Settings
from service.storage.accounts.factors import PASSKEY, SecondFactor, add
from service.storage.accounts.people import open_sign_in
from service.web.entrance.languages import COOKIE
from service.web.serving.guards import PLAIN_COOKIE
from tests.browser.conftest import served
from tests.browser.phones import Phone, Site
from tests.browser.waiting import until
from tests.in_process import quick_app

pytestmark = pytest.mark.browser
HERE = Path(__file__).parent
VENDOR = HERE / "vendor"
AXE = (VENDOR / "axe-core-4.14.1" / "axe.min.js").read_text()
# Sent to the browser once a phone, and run where it is asked for: sent to each page it takes as long as axe.
AXE_READY = f"globalThis.checkerReady = () => {{ {AXE}\n }};"
AXE_LOAD = "() => globalThis.checkerReady()"
MANNERS = (HERE / "manners.js").read_text()
# In axe's own words; `iframes` off because there are none and it would wait for them.
AXE_RUN = """() => axe.run(document, { resultTypes: ["violations"], iframes: false }).then((found) =>
  found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html.slice(0, 120)).join(" | ")}`))"""
RUNS_OFF = """(size) => {
  const root = document.documentElement;
  root.style.fontSize = size;
  const over = root.scrollWidth - root.clientWidth;
  root.style.fontSize = "";
  return over;
}"""
NOT_PAGES = re.compile(
    r"^/api/|\.webp$|\.json$|\.pdf$|\.txt$|\.tsr$|\.pem$|/proof$|^/static|\.js$|\.webmanifest$|\.ics$"
    r"|\.csv$|^/health"
)
# They answer with the way to the page of the person's role, and to and from a company's sign-in.
MOVED_ON = {"/projects/{project_id}", "/sign-in/company", "/sign-in/company/back"}


@dataclass(frozen=True)
class Shown:
    """A page as one of the people opens it; `route` is the path it is routed by."""

    route: str
    who: str
    path: str


@dataclass(frozen=True)
class Ground:
    """The filled demo, served, with everybody's phone signed in."""

    site: Site
    phones: dict[str, Phone]
    pages: tuple[Shown, ...]


@pytest.fixture(scope="module")
def ground(
    tmp_path_factory: pytest.TempPathFactory, migrated_file: Path, chromium: Browser
) -> Iterator[Ground]:
    data = tmp_path_factory.mktemp("manners")
    shutil.copy(migrated_file, data / "laptight.sqlite3")
    app = quick_app(Settings.read(data, environ={}))
    demo.fill(app.state.desk.fresh())
    with served(app) as address:
        site = Site(chromium, address, app)
        who = {role: _person(app, email) for email, _, role in demo.PEOPLE}
        phones = {role: site.signed(person) for role, person in who.items()}
        phones["nobody"] = site.phone()
        phones["half in"] = _half_in(site)
        for phone in phones.values():
            phone.page.add_init_script(AXE_READY)
        yield Ground(site, phones, tuple(_pages(app, who)))
        site.close()
    app.state.desk.database.close()


def _person(app: FastAPI, email: str) -> Person:
    desk = app.state.desk.fresh()
    person = accounts.person_for(desk, accounts.sign_in(desk, email, demo.PASSWORD, "10.0.0.1")[0])
    assert person is not None
    return person


def half_in(desk: Desk) -> str:
    """The token of somebody whose password was right and who is asked for a second factor."""
    person, now = accounts.make_person(desk, "half@example.com", "Hal Half", demo.PASSWORD), desk.clock()
    with desk.writing() as session:
        add(session, SecondFactor("f", person.id, PASSKEY, "phone", "", "c", 0, now), proven=True)
        sha256, ends_at = accounts.token_sha256("half in"), now + timedelta(days=1)
        open_sign_in(session, sha256, person.id, accounts.HALF, now, ends_at)
    return "half in"


def _half_in(site: Site) -> Phone:
    phone = site.phone()
    token = half_in(site.desk.fresh())
    phone.page.context.add_cookies([{"name": PLAIN_COOKIE, "value": token, "url": site.address}])
    return phone


def _pages(app: FastAPI, who: dict[str, Person]) -> Iterator[Shown]:
    """Every page, each as the person who finds the most to press on it; zones in every state there is."""
    desk = app.state.desk.fresh()
    lead, manager, inspector = roles.CREW_LEAD, roles.PROJECT_MANAGER, roles.INSPECTOR
    project = projects.my_projects(desk, who[manager].id)[0].project.id
    view = project_view(desk, who[manager].id, project)
    sketch = next(iter(view.site.sketches))
    zones = {standing.zone.letter: standing.zone.id for standing in view.standings}
    (held,) = (standing for standing in view.standings if standing.zone.letter == "C")
    opened = next(d.id for d in held.facts.defects if held.verdicts[d.id].state == OPEN and d.kind == "hole")
    patch = next(p.id for p in view.site.patches.values() if p.zone_id == zones["C"])
    hold = next(iter(view.site.holds))
    wall = next(w.id for w in view.site.walls.values() if w.zone_id == zones["C"])
    invited = people.invite(desk, who[manager].id, project, "new@example.com", lead).token
    reset = resets.make_reset_for_email(desk, who[inspector].email)
    code = crew_codes.make_code(desk, who[manager].id, project, who[lead].id)
    yield Shown("/code/{token}", "nobody", f"/code/{code.token}")
    yield Shown("/told", manager, "/told")
    yield Shown("/sign-in/second-step", "half in", "/sign-in/second-step")
    for path in ("/sign-in", "/forgot"):
        yield Shown(path, "nobody", path)
    yield Shown("/join/{token}", "nobody", f"/join/{invited}")
    yield Shown("/reset/{token}", "nobody", f"/reset/{reset}")
    for path in ("/outbox", "/phone/patch"):
        yield Shown(path, lead, path)
    for path in ("/", "/account", "/account/second-factor", "/projects/new"):
        yield Shown(path, manager, path)
    for who_asks, ends in (
        (lead, ("crew",)),
        (manager, ("office", "people", "rule-sheet", "sketches/new", "film", "film/submit", "causes")),
        (manager, ("order",)),
        (manager, ("told", "crew-codes", "plan-of-pours")),
        (inspector, ("history", "as-it-stood", "who-did-what", "closeout", "record")),
    ):
        for end in ends:
            yield Shown(f"/projects/{{project_id}}/{end}", who_asks, f"/projects/{project}/{end}")
    did = f"/who-did-what/{who[lead].id}"
    yield Shown("/projects/{project_id}/who-did-what/{person_id}", inspector, f"/projects/{project}{did}")
    size = kept_checkpoints(desk, who[inspector].id, project).kept[0].size
    for route, path in (
        ("/checkpoints", "/checkpoints"), ("/checkpoints/check", "/checkpoints/check"),
        ("/checkpoints/{size}", f"/checkpoints/{size}"),
        ("/history/{seq}", "/history/3"), ("/history/{seq}", f"/history/{size + 1}"),
    ):  # fmt: skip
        yield Shown(f"/projects/{{project_id}}{route}", inspector, f"/projects/{project}{path}")
    for end in ("", "/scale", "/grid", "/revise", "/zones/new"):
        yield Shown("/sketches/{sketch_id}" + end, manager, f"/sketches/{sketch}{end}")
    for letter in zones:
        yield Shown("/zones/{zone_id}", lead, f"/zones/{zones[letter]}")
        yield Shown("/zones/{zone_id}/release", manager, f"/zones/{zones[letter]}/release")
    for release in view.site.releases.values():  # one stands, one fell away, one was placed under
        yield Shown("/releases/{release_id}", inspector, f"/releases/{release.id}")
    for who_asks, letter, end in (
        (lead, "C", "mark"), (lead, "C", "hold"), (lead, "C", "walls"), (manager, "C", "edit"),
        (manager, "C", "withdraw"), (manager, "B", "pull-back"), (manager, "B", "placed"),
        (manager, "C", "placed"), (inspector, "C", "as-it-stood"), (inspector, "C", "compare"),
        (inspector, "B", "timeline"), (lead, "B", "start-placing"), (lead, "C", "start-placing"),
        (lead, "C", "code-sheet"), (lead, "C", "cut-list"), (lead, "C", "punch-list"), (lead, "C", "film"),
        (manager, "C", "numbers"), (manager, "C", "move-day"),
        (lead, "C", "together"), (lead, "C", "walk-order"), (inspector, "C", "hold-points"),
    ):  # fmt: skip
        yield Shown(f"/zones/{{zone_id}}/{end}", who_asks, f"/zones/{zones[letter]}/{end}")
    for who_asks, letter, end in (
        (lead, "A", "placing-day"), (manager, "B", "placing-day"), (lead, "C", "placing-day"),
        (manager, "B", "placing-plan"), (lead, "B", "readings"), (lead, "B", "readings/file"),
        (lead, "B", "thickness"),
    ):  # fmt: skip
        yield Shown(f"/zones/{{zone_id}}/{end}", who_asks, f"/zones/{zones[letter]}/{end}")
    asks = b"Time,Temp,Humidity,Wind\n2026-11-20 06:00,60,50,8\n2026-11-21 06:00,60,130,8\n"
    kept = keep_file(desk, who[lead].id, zones["B"], asks)
    read_back = f"/zones/{zones['B']}/readings/file?kept={kept}&name=mast.csv"
    yield Shown("/zones/{zone_id}/readings/file", lead, read_back)
    taken, depths = next(iter(view.site.readings)), next(iter(view.site.thicknesses))
    yield Shown("/readings/{readings_id}/withdraw", manager, f"/readings/{taken}/withdraw")
    yield Shown("/thickness/{thickness_id}/withdraw", manager, f"/thickness/{depths}/withdraw")
    for end in ("", "/patch", "/repair", "/marked", "/withdraw"):
        yield Shown("/defects/{defect_id}" + end, lead, f"/defects/{opened}{end}")
    for end in ("", "/withdraw"):
        yield Shown("/patches/{patch_id}" + end, lead, f"/patches/{patch}{end}")
    yield Shown("/patches/{patch_id}/look", inspector, f"/patches/{patch}/look")
    mended = next(d for d in view.site.defects.values() if any(r.withdrawn is None for r in d.repairs))
    repair = next(r.id for r in mended.repairs if r.withdrawn is None)
    for who_asks, end in ((manager, "withdraw"), (inspector, "look")):
        route = f"/defects/{{defect_id}}/repairs/{{repair_id}}/{end}"
        yield Shown(route, who_asks, f"/defects/{mended.id}/repairs/{repair}/{end}")
    for end in ("", "/place"):
        yield Shown("/zones/{zone_id}/penetrations" + end, lead, f"/zones/{zones['C']}/penetrations{end}")
    yield Shown("/zones/{zone_id}/none-here", lead, f"/zones/{zones['E']}/none-here")
    pipe = next(p.id for p in view.site.penetrations.values() if p.seal and p.withdrawn is None)
    for end in ("", "/seal", "/unseal", "/withdraw"):
        yield Shown("/penetrations/{penetration_id}" + end, manager, f"/penetrations/{pipe}{end}")
    seam = next(s.id for s in view.site.seams.values() if s.zone_id == zones["C"])
    for end in ("", "/draw"):
        yield Shown("/zones/{zone_id}/seams" + end, lead, f"/zones/{zones['C']}/seams{end}")
    for end in ("", "/walk", "/withdraw"):
        yield Shown("/seams/{seam_id}" + end, lead, f"/seams/{seam}{end}")
    asked = "layout?ask=yes&film=typed&roll_width=10&roll_length=50&way=90&starts=right"
    yield Shown("/zones/{zone_id}/layout", lead, f"/zones/{zones['C']}/layout")
    yield Shown("/zones/{zone_id}/layout", manager, f"/zones/{zones['C']}/{asked}&openings=[]")
    ticked = "&".join(f"zone-{zones[letter]}=yes" for letter in "CE")
    yield Shown("/sketches/{sketch_id}/layout", inspector, f"/sketches/{sketch}/{asked}&{ticked}")
    layout = next(x for x in view.site.layouts.values() if x.zone_ids == (zones["E"],))
    for end in ("", "/laid", "/withdraw"):
        yield Shown("/layouts/{layout_id}" + end, lead, f"/layouts/{layout.id}{end}")
    back = f"/laid/{layout.laid[0].id}/withdraw"
    yield Shown("/layouts/{layout_id}/laid/{laying_id}/withdraw", lead, f"/layouts/{layout.id}{back}")
    yield Shown("/holds/{hold_id}/lift", lead, f"/holds/{hold}/lift")
    yield Shown("/zones/{zone_id}/edges", lead, f"/zones/{zones['C']}/edges")
    edge = next(t.id for t in view.site.terminations.values() if t.withdrawn is None)
    for end in ("", "/unseal", "/withdraw"):
        yield Shown("/edges/{termination_id}" + end, manager, f"/edges/{edge}{end}")
    material, lot = next(iter(view.site.materials)), next(iter(view.site.lots))
    laying = view.site.zones[zones["C"]].laid[0].id
    yield Shown("/materials/{material_id}/withdraw", manager, f"/materials/{material}/withdraw")
    yield Shown("/lots/{lot_id}/withdraw", lead, f"/lots/{lot}/withdraw")
    taking_back = f"/zones/{zones['C']}/film/{laying}/withdraw"
    yield Shown("/zones/{zone_id}/film/{laying_id}/withdraw", lead, taking_back)
    yield Shown("/walls/{wall_id}/withdraw", lead, f"/walls/{wall}/withdraw")
    listed = ready_lists.open_ready_list(desk, who[manager].id, project, "concrete sub")
    yield Shown("/ready/{token}", "nobody", f"/ready/{listed.token}")
    yield Shown("/projects/{project_id}/ready-lists", manager, f"/projects/{project}/ready-lists")
    yield Shown("/ready-lists/{link_id}/withdraw", manager, f"/ready-lists/{listed.link.id}/withdraw")


def test_every_page_that_is_routed_is_listed_here(ground: Ground) -> None:
    routed = set()
    for context in iter_route_contexts(ground.site.app.routes):
        path = str(getattr(context, "path", None) or "")
        if "GET" in (getattr(context, "methods", None) or ()) and not NOT_PAGES.search(path):
            routed.add(path)
    assert routed - MOVED_ON == {shown.route for shown in ground.pages}


def faults(phone: Phone, *, axe: bool = True, lang: str = "en") -> list[str]:
    """What the page that is open is at fault in at this width; empty when nothing.

    `axe`: with the checker, which finds the same at every width and takes most of the time.
    """
    page = phone.page
    found = page.evaluate(MANNERS)
    told = [f"too small: {words}" for words in found["small"]]
    told += [f"too close: {words}" for words in found["close"]]
    told += [f"too faint: {words}" for words in found["faint"]]
    told += [f"{found['headings']} h1"] if found["headings"] != 1 else []
    told += ["no lang"] if found["lang"] != lang else []
    told += [f"axe {words}" for words in page.evaluate(AXE_RUN)] if axe else []
    return told


def runs_off(phone: Phone, text: str = "") -> list[str]:
    """Whether the page must be pushed sideways at the width it has, with its text this large."""
    over = phone.page.evaluate(RUNS_OFF, text)
    size = phone.page.viewport_size
    assert size is not None
    return [f"{over} px off the side at {size['width']} px {text}"] if over > 0 else []


def all_faults(phone: Phone, lang: str = "en") -> list[str]:
    """The page that is open, at 360 and 1240 px, each with twice the text too, and at 320 px."""
    page = phone.page
    page.set_viewport_size({"width": 360, "height": 740})
    page.evaluate(AXE_LOAD)
    told = [f"360 px: {words}" for words in faults(phone, lang=lang)] + runs_off(phone, "200%")
    page.set_viewport_size({"width": 320, "height": 740})
    told += runs_off(phone)
    page.set_viewport_size({"width": 1240, "height": 900})
    told += runs_off(phone, "200%")
    told += [f"1240 px: {words}" for words in faults(phone, axe=False, lang=lang)]
    return told


@pytest.mark.parametrize("lang", ["en", "es"])
def test_every_page_keeps_its_manners(ground: Ground, lang: str) -> None:
    """One test a language: the pages share one browser, and every fault of every page is told at once."""
    told: dict[str, list[str]] = {}
    for phone in ground.phones.values():
        cookie: Any = {"name": COOKIE, "value": lang, "url": phone.address}
        phone.page.context.add_cookies([cookie])
    for shown in ground.pages:
        phone = ground.phones[shown.who]
        phone.open(shown.path)
        if phone.page.locator(".placer .sketch:visible").count():
            phone.sketch_ready()
        found = all_faults(phone, lang)
        if found:
            told.setdefault(shown.route, []).extend(found)
    assert told == {}, "\n".join(f"{route}\n  " + "\n  ".join(found) for route, found in told.items())
    assert [words for phone in ground.phones.values() for words in phone.trouble] == []
    for phone in ground.phones.values():
        phone.page.context.clear_cookies(name=COOKIE)


def test_the_vendored_checker_is_the_published_one() -> None:
    row = re.compile(r"^\| `([^`]+)` \|.*\| `([0-9a-f]{64})` \|$", re.MULTILINE)
    written = dict(row.findall((VENDOR / "VENDORED.md").read_text()))
    found = {
        path.relative_to(VENDOR).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in VENDOR.rglob("*")
        if path.is_file() and path.name != "VENDORED.md"
    }
    assert written == found


PLANTED = """() => {
  const main = document.querySelector("main");
  const put = (html) => main.insertAdjacentHTML("beforeend", html);
  put('<h1>Another</h1><p id="faint">Hard to read</p><input id="bare">');
  put('<p><button id="tiny">x</button><button id="near">y</button></p><div id="wide">w</div>');
  document.getElementById("faint").style.color = "#6b7280";
  document.getElementById("wide").style.width = "4000px";
}"""


def test_the_checks_see_the_faults_planted_on_a_page(ground: Ground) -> None:
    phone = ground.phones["nobody"]
    phone.open("/forgot")
    phone.page.evaluate(PLANTED)
    told = " ".join(all_faults(phone))
    for words in ("too small", "too close", 'id="near"', "too faint: 4.", "2 h1", "axe label:", "320 px"):
        assert words in told, words


@dataclass(frozen=True)
class Refused:
    """A form sent with nothing or with nonsense: who sends it, what is typed, and the button."""

    who: str
    route: str
    typed: dict[str, str]
    button: str


REFUSED = (
    Refused("nobody", "/sign-in", {"email": "rosa@example.com", "password": "wrong"}, "Sign in"),
    Refused("nobody", "/join/{token}", {"name": "New Lead", "password": "short"}, "Join"),
    Refused(roles.PROJECT_MANAGER, "/projects/new", {"name": ""}, "Start the project"),
    Refused(roles.PROJECT_MANAGER, "/account", {"old_password": "wrong"}, "Change the password"),
    Refused("half in", "/sign-in/second-step", {"code": "000000"}, "Go on"),
    Refused(roles.PROJECT_MANAGER, "/projects/{project_id}/people", {"email": "nobody"}, "Invite"),
    Refused(roles.PROJECT_MANAGER, "/projects/{project_id}/sketches/new", {"name": "Roof"}, "Take it in"),
    Refused(roles.PROJECT_MANAGER, "/sketches/{sketch_id}/scale", {"distance": "six"}, "See what follows"),
    Refused(roles.PROJECT_MANAGER, "/sketches/{sketch_id}/zones/new", {"name": "Bay"}, "Outline the zone"),
    Refused(roles.PROJECT_MANAGER, "/zones/{zone_id}/pull-back", {"reason": ""}, "Pull the release back"),
    Refused(roles.PROJECT_MANAGER, "/zones/{zone_id}/withdraw", {"reason": ""}, ""),
    Refused(roles.CREW_LEAD, "/zones/{zone_id}/mark", {"diameter": "-3 in"}, "Mark it"),
    Refused(roles.CREW_LEAD, "/zones/{zone_id}/walls", {}, "Draw the wall"),
    Refused(roles.PROJECT_MANAGER, "/sketches/{sketch_id}/grid", {"label": "7"}, "Lay it"),
    Refused(roles.CREW_LEAD, "/zones/{zone_id}/hold", {"reason": ""}, ""),
    Refused(roles.CREW_LEAD, "/defects/{defect_id}/patch", {"far": "5'13\"", "near": "six"}, "Log the patch"),
    Refused(roles.CREW_LEAD, "/defects/{defect_id}/withdraw", {"reason": ""}, ""),
    Refused(roles.CREW_LEAD, "/defects/{defect_id}/repair", {"lap": "six"}, "Log the repair"),
    Refused(roles.INSPECTOR, "/patches/{patch_id}/look", {"note": "Seen"}, "Keep the second look"),
    Refused(roles.INSPECTOR, "/zones/{zone_id}/hold-points", {"note": "Seen"}, "Sign with my name"),
    Refused(roles.PROJECT_MANAGER, "/projects/{project_id}/film/submit", {"name": ""}, "Submit"),
    Refused(roles.CREW_LEAD, "/zones/{zone_id}/film", {}, "Log it as laid"),
    Refused(roles.PROJECT_MANAGER, "/zones/{zone_id}/numbers", {"lap": "1 in"}, "See what this would do"),
    Refused(roles.CREW_LEAD, "/zones/{zone_id}/penetrations/place", {}, "Place it"),
    Refused(roles.PROJECT_MANAGER, "/penetrations/{penetration_id}/seal", {"lot": "F-1"}, "Log the seal"),
    Refused(roles.CREW_LEAD, "/zones/{zone_id}/none-here", {}, "State that there are none"),
    Refused(roles.CREW_LEAD, "/zones/{zone_id}/edges", {"note": "Along the dock"}, "Describe it"),
    Refused(roles.CREW_LEAD, "/holds/{hold_id}/lift", {"reason": ""}, ""),
    Refused(roles.PROJECT_MANAGER, "/projects/{project_id}/ready-lists", {"label": "@"}, "Open a ready list"),
    Refused(roles.CREW_LEAD, "/zones/{zone_id}/readings", {"humidity": "130"}, "Log the reading"),
    Refused(roles.CREW_LEAD, "/zones/{zone_id}/thickness", {"depth_0": "0"}, "Log the thickness"),
    Refused(roles.PROJECT_MANAGER, "/zones/{zone_id}/placing-plan", {"thickness": "0"}, "Keep the plan"),
    Refused(roles.PROJECT_MANAGER, "/zones/{zone_id}/move-day", {"place_at": "2027-03-14T02:30"}, "Keep"),
)


@pytest.mark.parametrize("refused", REFUSED, ids=[refused.route for refused in REFUSED])
def test_a_refused_form_tells_it_by_the_five_rules_of_an_error_summary(
    ground: Ground, refused: Refused
) -> None:
    """The rules of the GOV.UK design system's error summary, as its component text gives them: at the top of
    main above the h1; the focus moved to it; one fixed heading; each item a link to its field in the
    words that stand beside the field; a title that begins `Error: `. Typed values stay."""
    phone = ground.phones[refused.who]
    path = next(s.path for s in ground.pages if s.route == refused.route)
    phone.page.set_viewport_size({"width": 360, "height": 740})
    phone.open(path)
    for name, value in refused.typed.items():
        phone.page.fill(f"#{name}", value)
    found = phone.page.locator("main button.act:visible:not([type=button])")
    button = found.filter(has_text=refused.button).last if refused.button else found.last
    with phone.page.expect_navigation() as answered:
        button.click()
    assert (answered.value.status, phone.path) == (422, path)
    assert phone.page.title().startswith("Error: ")
    assert phone.page.evaluate("document.querySelector('main').firstElementChild.id") == "errors"
    assert phone.page.inner_text("#errors h2") == "There is a problem"
    until(phone.page, "document.activeElement.id === 'errors'")
    items = phone.page.locator("#errors li")
    assert items.count() >= 1
    for item in items.all():
        words = " ".join(item.inner_text().split())
        link = item.locator("a")
        if not link.count():  # a trouble of the whole form has no field to go to
            assert item.locator("b").count() == 1
            continue
        field = (link.get_attribute("href") or "").removeprefix("#")
        beside = " ".join(phone.page.inner_text(f"[id='{field}-wrong']").split())
        assert beside == f"Error: {words}"
        target = phone.page.locator(f"[id='{field}']")
        assert target.count() == 1, field
        link.click()
    for name, value in refused.typed.items():
        if "password" not in name:
            assert phone.page.input_value(f"#{name}") == value
    assert all_faults(phone) == []


def test_what_is_not_there_and_what_is_not_allowed_are_told_on_pages_of_their_own(ground: Ground) -> None:
    lead, outsider = ground.phones[roles.CREW_LEAD], ground.phones["nobody"]
    release = next(s.path for s in ground.pages if s.route.endswith("/edit"))
    for phone, path, status in ((lead, "/zones/none", 404), (lead, "/nowhere", 404), (lead, release, 403)):
        answer = phone.page.goto(f"{phone.address}{path}")
        assert answer is not None and answer.status == status
        assert len(phone.words()) > 20 and phone.page.locator("main a.act").count() >= 1
        assert all_faults(phone) == []
    answer = outsider.page.goto(f"{outsider.address}{release}")
    assert answer is not None and outsider.path == "/sign-in"
