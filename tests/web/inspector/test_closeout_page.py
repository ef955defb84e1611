"""The closeout as a page, as JSON and on paper: everything of the project, and nothing of another."""

from __future__ import annotations

import re
from html import unescape
from html.parser import HTMLParser

import pytest

from service.actions.closeout import paper as closeout_paper
from service.actions.closeout.closeout import closeout
from service.actions.frame.desk import Desk
from service.actions.marks import defects
from service.actions.office import release
from service.actions.people import erasing
from service.domain.nouns.site import Zone
from service.history.proofs.checkpoints import fingerprint, in_fours, public_key
from tests.builders import (
    a_laying,
    a_lot,
    a_mark,
    a_material,
    a_patch,
    a_pipe,
    a_release,
    a_seam,
    a_walk,
    a_zone,
    an_edge,
    newest_release,
    sides,
)
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.papers.reading import words

MARKUP = "<script>alert(1)</script> & <b>bold</b> {{ 7 * 7 }}"


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    """One of everything, released, pulled back and released again."""
    zone = a_zone(desk, cast)
    a_laying(desk, cast, zone, a_lot(desk, cast, a_material(desk, cast)))
    a_patch(desk, cast, a_mark(desk, cast, zone))
    twice = a_mark(desk, cast, zone, (400, 400))
    a_patch(desk, cast, twice, sides("5 3/4 in"))
    a_patch(desk, cast, twice)
    an_edge(desk, cast, zone)
    a_seam(desk, cast, zone)
    a_pipe(desk, cast, zone)
    defects.withdraw_defect(desk, cast.lead.id, a_mark(desk, cast, zone, (500, 500)).id, "a shadow")
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    release.pull_back(desk, cast.manager.id, zone.id, "rain is coming")
    a_release(desk, cast, zone)
    return zone


def path(cast: Cast, more: str = "") -> str:
    return f"/projects/{cast.project_id}/closeout{more}"


def read(html: str) -> str:
    """The words of a page's main part, without those of its drawings."""
    body = re.sub(r"<(script|style|svg).*?</\1>", " ", html.split("<main", 1)[1], flags=re.DOTALL)
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", "<main" + body)))


class Tables(HTMLParser):
    """What a screen reader gets of each table: its caption, its column heads, its row heads, its rows."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[dict[str, int]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "table":
            self.found.append({"caption": 0, "tr": 0, "col": 0, "row": 0})
        elif self.found and tag in ("caption", "tr"):
            self.found[-1][tag] += 1
        elif self.found and tag == "th":
            self.found[-1][str(dict(attrs)["scope"])] += 1


def test_everything_of_the_zone_stands_on_the_page(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    page = page_of(cast.inspector).get(path(cast)).text
    text = read(page)
    for wanted in (
        "B-01", "B-02", "B-03", "B-P01", "B-S01", "B-E01", "F-2207", "Lou Lead, crew lead", "5 3/4 in",
        "Withdrawn a shadow", "rain is coming", "I have seen this zone.", "4,800 sq ft",
        "at least 7 in-slab tests", "Laptight does not measure the slab", "common practice, no source",
        "North warehouse slab", "Ina Inspector",
    ):  # fmt: skip
        assert wanted in text, wanted
    for href in (f"/releases/{newest_release(desk, cast, zone).id}", f"/zones/{zone.id}/as-it-stood"):
        assert f'href="{href}"' in page
    assert page.count("<svg") == 1, "one drawing a zone, and none a mark"


def test_every_table_has_its_caption_its_heads_and_a_head_for_every_row(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    a_patch(desk, cast, a_mark(desk, cast, a_zone(desk, cast)))
    tables = Tables()
    tables.feed(page_of(cast.manager).get(path(cast)).text)
    assert len(tables.found) > 7
    for found in tables.found:
        assert (found["caption"], found["row"]) == (1, found["tr"] - 1)
        assert found["col"] >= 3


def test_it_is_led_to_from_the_office_the_history_and_all_zones(cast: Cast, page_of: ClientOf) -> None:
    client, root = page_of(cast.inspector), f"/projects/{cast.project_id}"
    for page in (f"{root}/office", f"{root}/history", f"{root}/as-it-stood"):
        assert f'href="{path(cast)}"' in client.get(page).text, page
    assert f'href="{path(cast, ".pdf")}"' in client.get(path(cast)).text


def test_nobody_from_outside_gets_it_in_any_form(cast: Cast, page_of: ClientOf, program_of: ClientOf) -> None:
    for person in (cast.outsider, cast.other_manager):
        assert page_of(person).get(path(cast)).status_code == 404
        assert page_of(person).get(path(cast, ".pdf")).status_code == 404
        assert program_of(person).get(f"/api/v1{path(cast)}").status_code == 404


def test_nothing_of_another_project_stands_on_it(
    desk: Desk, cast: Cast, page_of: ClientOf, program_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    a_mark(desk, cast, zone)
    a_lot(desk, cast, a_material(desk, cast))
    answers = (
        page_of(cast.other_manager).get(f"/projects/{cast.other_project_id}/closeout").text,
        program_of(cast.other_manager).get(f"/api/v1/projects/{cast.other_project_id}/closeout").text,
    )
    for told in answers:
        for theirs in ("B-01", "F-2207", "Lou Lead", "North", cast.project_id, zone.id):
            assert theirs not in told
        assert "Another site" in told and "Olga Other" in told


def test_what_was_typed_stays_text(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    read_mark = defects.read_mark("hole", (300, 500), {"shape": "circle", "diameter": "1 in"}, MARKUP)
    defects.mark_defect(desk, cast.lead.id, zone.id, read_mark)
    page = page_of(cast.lead).get(path(cast)).text
    assert (
        "<script>alert(1)" not in page
        and "<b>bold" not in page
        and "49" not in read(page).split("B-01")[1][:200]
    )
    assert MARKUP in unescape(page)
    pdf = page_of(cast.lead).get(path(cast, ".pdf")).content
    assert " ".join(MARKUP.split()) in " ".join(words(pdf).split())


def test_the_paper_is_handed_out_under_the_number_it_was_told_from(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    a_mark(desk, cast, a_zone(desk, cast))
    answer = page_of(cast.inspector).get(path(cast, ".pdf"))
    told = closeout(desk, cast.inspector.id, cast.project_id)
    name = f"closeout-{cast.project_id}-{told.head.up_to}.pdf"
    key = fingerprint(public_key(desk.database.keys.current().public_text))
    assert (told.head.key, told.head.given) == (key, 0)
    assert in_fours(key) in " ".join(words(answer.content).split())
    assert answer.headers["content-type"] == "application/pdf"
    assert f'filename="{name}"' in answer.headers["content-disposition"]
    assert answer.content.startswith(b"%PDF-") and "B-01" in words(answer.content)


def test_programs_get_the_same_facts(desk: Desk, cast: Cast, program_of: ClientOf, zone: Zone) -> None:
    told = program_of(cast.lead).get(f"/api/v1{path(cast)}").json()
    [found] = told["zones"]
    twice = next(mark for mark in found["marks"] if mark["tag"] == "B-02")
    assert [(patch["overlap"], patch["minimum"], patch["met"]) for patch in twice["patches"]] == [
        ({"text": "5 3/4 in", "m": 0.14605}, {"text": "6 in", "m": 0.1524}, False),
        ({"text": "6 in", "m": 0.1524}, {"text": "6 in", "m": 0.1524}, True),
    ]
    assert twice["act"]["who"] == "Lou Lead" and twice["act"]["at"].endswith("Z")
    assert [release["force"] for release in told["releases"]] == ["pulled back", "stands"]
    [slab] = told["floor"]["slabs"]
    assert (slab["whole"]["count"], slab["whole"]["area"]["text"]) == (7, "4,800 sq ft")
    assert slab["whole"]["area"]["m2"] == pytest.approx(4800 * 0.3048**2)
    key = desk.database.keys.current().public_text
    assert told["head"]["key"] == fingerprint(public_key(key))


def test_a_name_that_was_erased_is_gone_from_all_of_it(
    desk: Desk, cast: Cast, page_of: ClientOf, program_of: ClientOf
) -> None:
    a_patch(desk, cast, a_mark(desk, cast, a_zone(desk, cast)))
    erasing.erase_person(desk, cast.lead.email)
    client = page_of(cast.inspector)
    page, paper = client.get(path(cast)).text, client.get(path(cast, ".pdf")).content
    told = program_of(cast.inspector).get(f"/api/v1{path(cast)}").text
    for text in (page, told, words(paper)):
        assert "Lou Lead" not in text
        assert "A person no longer named" in text


def test_a_zone_with_many_marks_is_drawn_on_the_paper_alone(
    desk: Desk, cast: Cast, page_of: ClientOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    a_mark(desk, cast, a_zone(desk, cast))
    monkeypatch.setattr(closeout_paper, "MOST_DRAWN", 0)
    page = page_of(cast.inspector).get(path(cast)).text
    assert "<svg" not in page and "drawn on the paper alone" in page


def test_an_empty_project_says_so(cast: Cast, page_of: ClientOf) -> None:
    text = read(page_of(cast.inspector).get(path(cast)).text)
    assert "No zone was outlined yet." in text and "no floor has an area" in text
    assert "No film, tape or mastic was submitted." in text and "No zone was ever released." in text
