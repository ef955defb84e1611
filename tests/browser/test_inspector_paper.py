"""The inspector's pages on paper and as they are heard: what a sheet keeps and leaves out, in ink alone;
headings in order, tables with their heads, drawings with their words, the way past the page's head."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pypdfium2
import pytest

from service.actions.people import people
from tests.browser.phones import Phone, Site
from tests.builders import a_mark, a_patch, a_release, a_walk, a_zone
from tests.cast import assemble, enter

pytestmark = pytest.mark.browser

# What stands on a screen to be pressed, and is of no use on a sheet.
PRESSED = (
    "Sign out", "Skip to the page", "Show these", "Show that time", "Compare with another time", "Leaf hash",
    "Show only some", "Zone B today", "Checkpoints",
)  # fmt: skip
HEARD = """() => {
  const told = [], main = document.querySelectorAll("main");
  let last = 0;
  for (const heading of document.querySelectorAll("h1, h2, h3, h4, h5, h6")) {
    const level = Number(heading.tagName[1]);
    if (level > last + 1) told.push(`${heading.tagName} after H${last}: ${heading.textContent}`);
    last = level;
  }
  if (document.querySelectorAll("h1").length !== 1) told.push("not one h1");
  const all = (what) => [...document.querySelectorAll(what)];
  for (const name of ["header", "main", "footer"]) if (all(name).length !== 1) told.push(`not one ${name}`);
  for (const part of all("nav, [role=region]")) if (!part.ariaLabel) told.push("a nameless landmark");
  for (const table of document.querySelectorAll("table")) {
    if (!table.caption?.textContent.trim()) told.push("a table without a caption");
    for (const th of table.querySelectorAll("th")) if (!th.scope) told.push(`no scope: ${th.textContent}`);
  }
  for (const svg of main[0].querySelectorAll("svg")) {
    const named = svg.closest("[role=img], [role=group]");
    if (!svg.closest("[aria-hidden=true]") && !named?.ariaLabel) told.push("a drawing without words");
  }
  return told;
}"""


@dataclass(frozen=True)
class Sheet:
    """A page, what its print must say, and on how many pages at least the first of it stands."""

    path: str
    words: tuple[str, ...]
    pages: int = 1


@pytest.fixture
def phone(site: Site) -> tuple[Phone, tuple[Sheet, ...]]:
    """A zone through all its states, and people enough for a table of two pages."""
    desk = site.desk.fresh()
    cast = assemble(desk)
    zone = a_zone(desk, cast)
    a_patch(desk, cast, a_mark(desk, cast, zone))
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    a_mark(desk, cast, zone, (500, 400))
    for number in range(16):
        other = enter(desk, f"Crew {number}")
        people.invite(desk, cast.manager.id, cast.project_id, other.email, "crew lead")
    root, project = f"/zones/{zone.id}", f"/projects/{cast.project_id}"
    sheets = (
        Sheet(f"{project}/history?kind=patch-logged", ("Only patch logged.", "logged a patch on B-01")),
        Sheet(f"{root}/as-it-stood?entry=9", ("Just after entry 9", "The gate gave 1 reason", "B-01")),
        Sheet(f"{root}/compare?entry=8", ("Zone B was still being laid at the first time", "changed")),
        Sheet(f"{root}/timeline", ("Ready to place", "Ended: defect marked, B-02", "open marks: 0 to 1")),
        Sheet(f"{project}/who-did-what", ("First and last action", "patch logged: 1", "Crew 15"), 2),
        Sheet(f"{project}/who-did-what/{cast.lead.id}", ("What Lou Lead did", "defect marked: 2")),
    )
    return site.signed(cast.inspector), sheets


def test_the_inspector_s_pages_are_whole_on_paper_and_to_a_screen_reader(
    phone: tuple[Phone, tuple[Sheet, ...]],
) -> None:
    """One test: the pages share one browser, and every fault of every page is told at once."""
    opened, sheets = phone
    told: dict[str, list[str]] = {}
    for sheet in sheets:
        opened.open(sheet.path)
        found = [*opened.page.evaluate(HEARD), *_past_the_head(opened), *_on_paper(opened, sheet)]
        if found:
            told[sheet.path] = found
    assert told == {} and opened.trouble == []


def _past_the_head(phone: Phone) -> list[str]:
    """The first press of the tab key offers the way past the head; taking it goes to main."""
    phone.page.keyboard.press("Tab")
    first = phone.page.evaluate("document.activeElement.textContent")
    phone.page.keyboard.press("Enter")
    phone.page.keyboard.press("Tab")
    inside = phone.page.evaluate("document.querySelector('main').contains(document.activeElement)")
    return [] if first == "Skip to the page" and inside else [f"no way past the head: {first}"]


def _on_paper(phone: Phone, sheet: Sheet) -> list[str]:
    printed = pypdfium2.PdfDocument(phone.page.pdf(format="Letter", print_background=True))
    try:
        texts = [" ".join(page.get_textpage().get_text_range().split()) for page in printed]
        coloured = [n for n, page in enumerate(printed, 1) if _coloured(page)]
    finally:
        printed.close()
    whole = " ".join(texts)
    told = [f"printed: {words}" for words in PRESSED if words in whole]
    told += [f"not printed: {words}" for words in sheet.words if words not in whole]
    heads = sum(sheet.words[0] in text for text in texts)
    told += [f"its head on {heads} of {len(texts)} pages"] if heads < sheet.pages else []
    return told + [f"colour on page {page}" for page in coloured]


def _coloured(page: pypdfium2.PdfPage) -> bool:
    """Whether any dot is a colour. The ink itself is a blue black, 9 apart of 255 between red and blue."""
    dots = np.asarray(page.render(scale=0.5).to_pil().convert("RGB"), dtype=np.int16)
    return bool((dots.max(axis=2) - dots.min(axis=2)).max() > 24)


def test_colour_on_a_sheet_and_a_heading_out_of_order_would_be_seen(
    phone: tuple[Phone, tuple[Sheet, ...]],
) -> None:
    """The control: what is planted on a page is found."""
    opened, sheets = phone
    opened.open(sheets[0].path)
    opened.page.evaluate(
        "() => document.querySelector('main').insertAdjacentHTML('beforeend',"
        " '<h5>Deep</h5><table><tr><th>x</th></tr></table><hr id=red><p>Zone B today</p>')"
    )
    opened.page.evaluate("() => { document.getElementById('red').style.border = '30px solid #a02c08'; }")
    told = " ".join([*opened.page.evaluate(HEARD), *_on_paper(opened, Sheet("", ("nowhere",), 1))])
    for words in (
        "H5 after",
        "without a caption",
        "no scope: x",
        "printed: Zone B",
        "not printed: nowhere",
        "colour",
    ):
        assert words in told, told
