"""The closeout on paper, read back by libraries that did not write it: tags, words, pages, true scale."""

from __future__ import annotations

from functools import cache

import pypdfium2
import pypdfium2.raw as pdfium
import pytest

from service.actions.closeout.closeout import closeout_of
from service.actions.closeout.paper import paper_of
from service.domain.nouns.rules import ready_made
from service.history.facts import facts as f
from service.history.facts.installed import PatchLookedAt
from tests.actions.closeout.test_closeout import NAMES, everything, things
from tests.history.story import EYE, MANAGER, Story, ground, mark, patch, ring, whole
from tests.papers.reading import (
    MM_PER_POINT,
    broken_rules,
    must_be_an_archive_that_can_be_heard,
    opened,
    tags,
    words,
)

HOSTILE = '#image("/etc/passwd") $x$ ] *bold* _i_ `c` <script>alert(1)</script> #{panic()}'


def paper(story: Story, **names: str) -> bytes:
    return paper_of(story.site, story.entries, names or NAMES)


@cache
def whole_paper() -> bytes:
    return paper(everything())


def flat(text: str) -> str:
    """The words without the breaks that the page put in them."""
    return " ".join(text.split())


def test_it_carries_the_marks_of_an_archive_and_of_a_document_that_can_be_heard() -> None:
    must_be_an_archive_that_can_be_heard(whole_paper(), "Closeout of Slab")


def test_an_independent_validator_finds_no_rule_broken() -> None:
    """Of PDF/A-2a and PDF/UA-1: every rule that page-validation holds."""
    assert broken_rules(whole_paper()) == []


def test_every_tag_lot_release_and_person_stands_in_it() -> None:
    told = closeout_of(everything().site, everything().entries, NAMES)
    read = flat(words(whole_paper()))
    for zone in told.zones:
        assert all(thing.tag in read for thing in things(zone))
    wanted = [lot.number for material in told.materials for lot in material.lots]
    wanted += [f"entry {release.act.seq}" for release in told.releases]
    wanted += [
        *NAMES.values(),
        "Lot M-404 was never received",
        "came off in the wind",
        "thawed and dried",
        "rain is coming",
    ]
    wanted += ["9,600 sq ft", "5 1/2 in", "Laptight does not measure the slab", *told.floor.limits]
    for said in (*told.numbers, *told.cautions, *told.floor.in_slab, *told.floor.emission):
        wanted += [said.words, said.source]
    missing = [piece for piece in wanted if flat(piece) not in read]
    assert missing == []


def test_every_zone_is_drawn_once_and_told_to_who_does_not_see_it() -> None:
    alts = [tag.alt for tag in tags(opened(whole_paper())) if tag.kind == "Figure"]
    assert [alt.split(" drawn true to scale")[0] for alt in alts] == ["Zone B", "Zone C"]
    assert "1/16 in = 1 ft" in alts[0]


def test_a_zone_is_as_large_on_the_page_as_its_scale_says() -> None:
    """80 by 60 ft at 1/16 in to the foot (1:192) is 127 by 95.25 mm. A library that did not write the page
    finds its outline with the stroke round it, which falls out of the difference of its sides."""
    found = [
        (right - left, top - bottom)
        for page in pypdfium2.PdfDocument(whole_paper())
        for shape in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_PATH], max_depth=15)
        for left, bottom, right, top in [shape.get_bounds()]
    ]
    sizes = [(wide * MM_PER_POINT, tall * MM_PER_POINT) for wide, tall in found]
    drawn = [(wide, tall) for wide, tall in sizes if wide > 100 and tall > 50]
    assert len(drawn) == 2
    for wide, tall in drawn:
        assert wide - tall == pytest.approx(127 - 95.25, abs=0.05)
        assert wide == pytest.approx(127, abs=1.5)


def test_every_page_says_which_of_how_many_it_is_and_what_it_is_told_from() -> None:
    pages = [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(whole_paper())]
    assert len(pages) > 4
    for number, text in enumerate(pages, start=1):
        assert f"Page {number} of {len(pages)}" in text
        assert f"told from entry {len(everything().entries)}" in text
        assert "not engineering advice" in flat(text)


def test_a_long_table_has_its_heads_on_every_page_it_reaches() -> None:
    story = whole()
    for number in range(20, 80):
        place = (150 + number * 7, 150)
        story.tell(mark(f"{number}", place), patch(f"p{number}", f"{number}", place))
    pages = [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(paper(story))]
    reached = [flat(page) for page in pages if "Sheet patch" in page]
    assert len(reached) > 2
    assert all("Tag Mark Repair" in page for page in reached)


def test_the_same_facts_give_the_same_bytes() -> None:
    assert paper(everything()) == whole_paper()


def test_what_was_typed_is_never_read_as_source() -> None:
    story = whole().tell(
        f.DefectMarked(
            "09", "s", "zb", "B-09", "hole", (700_000, 600_000), mark("9", (0, 0)).outline, HOSTILE
        ),
        f.ZoneHeld("h1", "zb", "B", "other", HOSTILE),
    )
    read = flat(words(paper(story, lou="Lou <b>Lead</b> #panic()")))
    assert read.count(flat(HOSTILE)) == 2
    assert "Lou <b>Lead</b> #panic()" in read
    assert "root:" not in read


def test_a_name_that_was_erased_stands_nowhere_in_it() -> None:
    content = paper(everything(), max="Max Manager", lou="Lou Lead")
    read = flat(words(content))
    assert "Ina Inspector" not in read and b"Ina Inspector" not in content
    assert "A person no longer named, inspector" in read


def test_what_fell_and_what_stood_against_it_is_told() -> None:
    story = whole().release().tell(mark("09", (700, 600)))
    story.tell(f.ZonePlaced("zb", "B", story.entries[0].at, "", True, ("B-09 is open: hole",)), who=MANAGER)
    read = flat(words(paper(story)))
    assert "Placed without release" in read
    assert "What stood against it then:" in read and "B-09 is open: hole" in read
    assert "fell away before the zone was placed" in read


def test_a_zone_without_a_scale_says_why_it_is_not_drawn() -> None:
    story = Story().tell(
        f.ProjectStarted("Slab", "metric", "UTC", ready_made("metric")),
        f.SketchAdded("s", "Slab", "0" * 64, None, 3000, 2000, 5),
        f.ZoneOutlined("zb", "s", "B", "", ring(((1, 1), (9, 1), (9, 9))), None),
        who=MANAGER,
    )
    content = paper(story)
    assert "cannot be drawn true to it" in flat(words(content))
    assert "cannot be counted" in flat(words(content))
    assert not [tag for tag in tags(opened(content)) if tag.kind == "Figure"]
    assert broken_rules(content) == []


def test_a_project_with_nothing_yet_still_makes_a_paper() -> None:
    story = Story().tell(f.ProjectStarted("Slab", "us", "UTC", ready_made("us")), who=MANAGER)
    read = flat(words(paper(story)))
    assert "No zone was outlined yet." in read and "No zone was ever released." in read


def test_a_metric_project_is_told_in_its_own_units_on_its_own_paper() -> None:
    """A4 is 210 by 297 mm (ISO 216), letter 8.5 by 11 in."""
    metric = Story()
    for entry in ground(ready_made("metric")).entries:
        fact = entry.fact
        if isinstance(fact, f.ProjectStarted):
            fact = f.ProjectStarted("Slab", "metric", "Europe/Vienna", ready_made("metric"))
        metric.tell(fact, who=(entry.by, entry.role))
    content = paper(metric)
    assert "892 m²" in words(content) and "100 m²" in words(content)
    wide, tall = pypdfium2.PdfDocument(content)[0].get_size()
    assert (wide * MM_PER_POINT, tall * MM_PER_POINT) == pytest.approx((210, 297), abs=0.1)
    letter = pypdfium2.PdfDocument(whole_paper())[0].get_size()
    assert letter == pytest.approx((612, 792), abs=0.1)
    assert "1:00 pm" in words(content), "noon UTC is one o'clock in Vienna in November"


def test_who_looked_twice_stands_with_each_answer() -> None:
    story = whole().tell(PatchLookedAt("k5", "p1", "01", "zb", "B-01", False, "a corner lifts"), who=EYE)
    read = flat(words(paper(story)))
    assert "refused Ina Inspector, inspector" in read and "a corner lifts" in read
    assert "accepted by Ina Inspector, inspector" in read
