"""The history page: every entry told, found by zone, tag, person, kind and day, and nothing told twice."""

from __future__ import annotations

import hashlib
import re
from datetime import datetime

import httpx
import pytest

from service.actions.frame.desk import Desk
from service.actions.sketches import zones
from service.history.facts.every_fact import FACTS
from service.storage.history import books
from service.web.inspector import history
from service.web.inspector.words import KINDS, tag_of
from tests.builders import HOLE, a_mark, a_patch, a_sketch, a_walk, a_zone
from tests.cast import Cast, Clock
from tests.conftest import ClientOf

NUMBER = re.compile(r'id="entry-(\d+)"')
# What a reader of RFC 6962 section 2.1 takes for a leaf: one zero byte, then the entry, through SHA-256.
FULL_HASH = re.compile(r"<code>([0-9a-f]{64})</code>")


def path(cast: Cast, **asked: str) -> str:
    query = "&".join(f"{name}={value}" for name, value in asked.items())
    return f"/projects/{cast.project_id}/history" + (f"?{query}" if query else "")


def numbers(page: str) -> list[int]:
    return [int(found) for found in NUMBER.findall(page)]


def test_every_entry_is_told_newest_first_with_who_and_in_which_role(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    mark = a_mark(desk, cast, a_zone(desk, cast))
    page = page_of(cast.inspector).get(path(cast)).text
    with desk.reading() as session:
        head = books.head(session, cast.project_id)
    assert numbers(page) == list(range(head, 0, -1))
    assert "Lou Lead marked B-01: tear, 4 by 2 in." in page and "as crew lead" in page
    assert f'href="/defects/{mark.id}"' in page
    assert f'href="/zones/{mark.zone_id}/as-it-stood?entry={head}"' in page


def test_the_full_leaf_hash_is_that_of_rfc_6962_over_the_bytes_kept(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    a_zone(desk, cast)
    with desk.reading() as session:
        newest = books.search(session, cast.project_id, limit=1)[0][0]
    page = page_of(cast.inspector).get(path(cast)).text
    assert FULL_HASH.findall(page)[0] == hashlib.sha256(b"\x00" + newest.content()).hexdigest()


def test_filters_find_by_zone_tag_person_and_kind(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    sketch = a_sketch(desk, cast)
    zone = a_zone(desk, cast, sketch)
    mark = a_mark(desk, cast, zone)
    a_mark(desk, cast, zone, (500, 300), "hole", HOLE, by=cast.inspector.id)
    a_patch(desk, cast, mark)
    client = page_of(cast.inspector)
    by_tag = client.get(path(cast, tag="b 1")).text
    assert "logged a patch on B-01" in by_tag and "marked B-01" in by_tag and len(numbers(by_tag)) == 2
    assert 'value="b 1"' in by_tag, "what was typed stays"
    by_person = client.get(path(cast, person=cast.inspector.id)).text
    assert "Ina Inspector marked B-02" in by_person and "marked B-01" not in by_person
    assert len(numbers(by_person)) == 2, "she joined, and marked"
    by_kind = client.get(path(cast, kind="patch-logged")).text
    assert len(numbers(by_kind)) == 1
    by_zone = client.get(path(cast, zone=zone.id)).text
    assert len(numbers(by_zone)) == 4 and "outlined zone B" in by_zone
    assert f'<option value="{zone.id}" selected>' in by_zone
    none = client.get(path(cast, zone=zone.id, kind="person-left")).text
    assert "Nothing in the history fits all of this" in none and numbers(none) == []


def test_a_day_is_the_site_s_own_day(desk: Desk, cast: Cast, page_of: ClientOf, clock: Clock) -> None:
    """05:59 UTC is still the day before in Chicago in November (UTC-6); 06:00 UTC is midnight there."""
    zone = a_zone(desk, cast)
    clock.now = datetime.fromisoformat("2026-11-27T05:59:59+00:00")
    a_mark(desk, cast, zone)
    clock.now = datetime.fromisoformat("2026-11-27T06:00:00+00:00")
    a_mark(desk, cast, zone, (500, 300))
    client = page_of(cast.lead)
    before = client.get(path(cast, day="2026-11-26")).text
    after = client.get(path(cast, day="2026-11-27")).text
    assert "marked B-01" in before and "marked B-02" not in before
    assert "marked B-02" in after and "marked B-01" not in after


def test_a_day_that_cannot_be_read_is_told_and_kept(cast: Cast, page_of: ClientOf) -> None:
    answer = page_of(cast.inspector).get(path(cast, day="tomorrow", tag="B-07"))
    assert answer.status_code == 422 and "Write the day as 2026-11-26." in answer.text
    assert 'value="tomorrow"' in answer.text and 'value="B-07"' in answer.text
    alone = page_of(cast.inspector).get(path(cast, day="tomorrow")).text
    assert numbers(alone) == [], "an unread filter never shows everything as fitting"


def test_older_pages_follow_on_without_a_gap_or_a_repeat(
    desk: Desk, cast: Cast, page_of: ClientOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(history, "ROWS", 3)
    zone = a_zone(desk, cast)
    for _ in range(4):
        a_walk(desk, cast, zone)
    client, seen, href = page_of(cast.inspector), [], path(cast, zone=zone.id)
    for _ in range(9):
        page = client.get(href).text
        seen += numbers(page)
        older = re.search(r'href="([^"]+)">Older entries', page)
        if older is None:
            break
        href = older[1].replace("&amp;", "&")
        assert f"zone={zone.id}" in href, "the filters go with the pages"
    with desk.reading() as session:
        own = [e.seq for e in books.entries(session, cast.project_id) if e.zone == zone.id]
    assert seen == own[::-1]


def test_an_unchanged_history_is_not_sent_again_and_a_new_entry_is(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.inspector)
    first = client.get(path(cast))
    asking = {"If-None-Match": first.headers["etag"]}
    again = client.get(path(cast), headers=asking)
    assert again.status_code == 304 and not again.content
    assert page_of(cast.lead).get(path(cast), headers=asking).status_code == 200, "another person's page"
    assert client.get(path(cast, tag="B-01"), headers=asking).status_code == 200, "another filter"
    zones.finish_walk(desk, cast.lead.id, zone.id)
    assert "finished a punch walk" in client.get(path(cast), headers=asking).text


def test_nobody_from_outside_reads_it(cast: Cast, page_of: ClientOf, client: httpx.Client) -> None:
    assert page_of(cast.outsider).get(path(cast)).status_code == 404
    assert page_of(cast.other_manager).get(path(cast)).status_code == 404
    away = client.get(path(cast))
    assert away.status_code == 303 and away.headers["location"].startswith("/sign-in?next=")


@pytest.mark.parametrize("before", ["0", "-1", "x", "9" * 30])
def test_an_address_nobody_wrote_is_not_there(cast: Cast, page_of: ClientOf, before: str) -> None:
    assert page_of(cast.inspector).get(path(cast, before=before)).status_code == 404


def test_every_kind_of_entry_has_its_word() -> None:
    assert set(KINDS) == set(FACTS)


@pytest.mark.parametrize(
    ("typed", "tag"), [("b7", "B-07"), (" B-07 ", "B-07"), ("c 112", "C-112"), ("B-007", "B-07"), ("?", "?")]
)
def test_a_tag_is_found_however_it_is_typed(typed: str, tag: str) -> None:
    assert tag_of(typed) == tag
