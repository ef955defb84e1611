"""The release page: every reason, the exact facts, and no way round the gate."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import httpx
import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.marks import defects
from service.actions.sketches import zones
from service.domain.nouns.site import Zone
from service.history.sentences.sentences import sentence
from service.storage.history import books
from tests.builders import (
    HOLE,
    NEXT_DOOR,
    a_mark,
    a_patch,
    a_release,
    a_sketch,
    a_walk,
    a_zone,
    sides,
    state_of,
)
from tests.cast import Cast, Clock
from tests.conftest import ClientOf
from tests.web.office.forms import actions_of, form_of


def path(zone: Zone) -> str:
    return f"/zones/{zone.id}/release"


def releases(desk: Desk, cast: Cast) -> list[str]:
    with desk.reading() as session:
        entries = books.entries(session, cast.project_id)
    return [sentence(e, {}, "us") for e in entries if e.type == "zone-released"]


@pytest.fixture
def clear(desk: Desk, cast: Cast) -> Zone:
    """A zone with one mark, patched, and a finished walk."""
    zone = a_zone(desk, cast)
    a_patch(desk, cast, a_mark(desk, cast, zone))
    a_walk(desk, cast, zone)
    return zone


def test_a_held_zone_tells_every_reason_and_offers_no_release(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    short, bare = a_mark(desk, cast, zone), a_mark(desk, cast, zone, (500, 300), "hole", HOLE)
    a_patch(desk, cast, short, sides(right="5 3/4 in"))
    zones.hold_zone(desk, cast.inspector.id, zone.id, "frost", "white along the edge")
    a_walk(desk, cast, zone)
    page = page_of(cast.manager).get(path(zone)).text
    assert "Why zone B is held" in page
    assert "Zone B is on hold: frost" in page
    assert "short by 1/4 in on the right" in page
    assert f'href="/defects/{bare.id}"' in page and f'href="/defects/{short.id}"' in page
    assert f'href="/zones/{zone.id}/hold"' in page
    assert "Release zone B: 3 reasons stand" in page
    assert path(zone) not in actions_of(page)


def test_a_zone_nobody_walked_says_so(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    page = page_of(cast.manager).get(path(a_zone(desk, cast))).text
    assert "cannot be released yet" in page and "has no finished punch walk" in page


def test_the_facts_confirmed_are_all_on_the_page(
    desk: Desk, cast: Cast, page_of: ClientOf, clear: Zone
) -> None:
    gone = a_mark(desk, cast, clear, (600, 600))
    defects.withdraw_defect(desk, cast.lead.id, gone.id, "a leaf on the film")
    page = page_of(cast.manager).get(path(clear)).text
    for words in (
        "6 in", "ASTM E1643 section 8", "B-01", "Sealed", "overlap 6 in", "4 in tape", "a leaf on the film",
        "does not ask the gate for penetrations, seams, terminations, hold points and film",
        "It does not replace the engineer of record",
    ):  # fmt: skip
        assert words in page, words
    digest = zone_view(desk, cast.manager.id, clear.id).standing.digest
    assert form_of(page, path(clear))["digest"] == digest
    assert digest.split(":")[1][:4] in page


def test_it_releases_without_a_script_and_says_who_and_when(
    desk: Desk, cast: Cast, page_of: ClientOf, clear: Zone
) -> None:
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(clear)).text, path(clear))
    assert "1 mark, every one sealed" in sent["statement"]
    answer = manager.post(path(clear), data=sent | {"statement": "Seen with the inspector."})
    assert (answer.status_code, answer.headers["location"]) == (303, f"{path(clear)}?did=released")
    page = manager.get(answer.headers["location"]).text
    for words in ("Ready to place", "is-ready", "Max Manager", "Wed 25 Nov 2026, 6:00 am", "Seen with the"):
        assert words in page, words
    assert state_of(desk, cast, clear) == "ready to place"


def test_a_form_sent_twice_releases_once(desk: Desk, cast: Cast, page_of: ClientOf, clear: Zone) -> None:
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(clear)).text, path(clear))
    answers = [manager.post(path(clear), data=sent) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [303, 303]
    assert answers[0].headers["location"] == answers[1].headers["location"]
    assert len(releases(desk, cast)) == 1


@pytest.mark.parametrize("who", ["lead", "inspector"])
def test_nobody_but_a_project_manager_releases(
    desk: Desk, cast: Cast, page_of: ClientOf, clear: Zone, who: str
) -> None:
    sent = form_of(page_of(cast.manager).get(path(clear)).text, path(clear))
    other = page_of(getattr(cast, who))
    shown = other.get(path(clear))
    assert shown.status_code == 200 and path(clear) not in actions_of(shown.text)
    assert "Only a project manager releases" in shown.text
    for statement in ("I say so.", ""):
        assert other.post(path(clear), data=sent | {"statement": statement}).status_code == 403
    assert state_of(desk, cast, clear) == "clear"


def test_who_is_not_on_the_project_finds_nothing(cast: Cast, page_of: ClientOf, clear: Zone) -> None:
    for person in (cast.outsider, cast.other_manager):
        assert page_of(person).get(path(clear)).status_code == 404
        assert page_of(person).post(path(clear), data={"statement": "x", "digest": "1:0"}).status_code == 404


def test_who_is_signed_out_is_shown_the_way_in(client: httpx.Client, clear: Zone) -> None:
    assert client.get(path(clear)).headers["location"] == f"/sign-in?next={path(clear)}"
    assert client.post(path(clear)).status_code == 303


def test_facts_that_moved_release_nothing_and_are_told(
    desk: Desk, cast: Cast, page_of: ClientOf, clear: Zone
) -> None:
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(clear)).text, path(clear)) | {"statement": "My own words."}
    a_patch(desk, cast, a_mark(desk, cast, clear, (600, 600)))  # sealed at once: still clear, and other facts
    answer = manager.post(path(clear), data=sent)
    assert answer.status_code == 409
    assert "Something changed since you looked" in answer.text
    assert "Lou Lead marked B-02" in answer.text and "Lou Lead logged a patch on B-02" in answer.text
    again = form_of(answer.text, path(clear))
    assert again["statement"] == "My own words." and again["digest"] != sent["digest"]
    assert releases(desk, cast) == []
    assert manager.post(path(clear), data=again).status_code == 303


def test_a_mark_made_meanwhile_answers_with_every_reason(
    desk: Desk, cast: Cast, page_of: ClientOf, clear: Zone
) -> None:
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(clear)).text, path(clear))
    a_mark(desk, cast, clear, (600, 600))
    answer = manager.post(path(clear), data=sent)
    assert answer.status_code == 409
    assert "Lou Lead marked B-02" in answer.text and "is open: tear" in answer.text
    assert path(clear) not in actions_of(answer.text)


def test_the_digest_of_held_facts_releases_nothing(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    """A trick: the right digest, taken from elsewhere, on a zone that is held."""
    zone = a_zone(desk, cast)
    a_mark(desk, cast, zone)
    a_walk(desk, cast, zone)
    digest = zone_view(desk, cast.manager.id, zone.id).standing.digest
    answer = page_of(cast.manager).post(path(zone), data={"digest": digest, "statement": "Go."})
    assert answer.status_code == 409
    assert "Zone B is held: 1 reason stands." in answer.text and "is open: tear" in answer.text
    assert state_of(desk, cast, zone) == "held"


@pytest.mark.parametrize("digest", ["", "1:", "clear", "1:" + "0" * 64])
def test_a_digest_of_other_facts_releases_nothing(
    desk: Desk, cast: Cast, page_of: ClientOf, clear: Zone, digest: str
) -> None:
    answer = page_of(cast.manager).post(path(clear), data={"digest": digest, "statement": "Go.", "seen": "²"})
    assert answer.status_code == 409
    assert state_of(desk, cast, clear) == "clear"


def test_an_empty_statement_is_asked_for_and_the_form_comes_back(
    desk: Desk, cast: Cast, page_of: ClientOf, clear: Zone
) -> None:
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(clear)).text, path(clear))
    for statement, told in (("  ", "State what you confirm."), ("x" * 2001, "Keep it to 2,000 characters")):
        answer = manager.post(path(clear), data=sent | {"statement": statement})
        assert answer.status_code == 422 and told in answer.text
        assert form_of(answer.text, path(clear))["digest"] == sent["digest"]
    assert "x" * 2001 in answer.text


def test_a_release_that_fell_says_what_took_it_away(
    desk: Desk, cast: Cast, page_of: ClientOf, clear: Zone, clock: Clock
) -> None:
    a_release(desk, cast, clear)
    clock.go_on(hours=2)
    a_mark(desk, cast, clear, (600, 600))
    page = page_of(cast.manager).get(path(clear)).text
    assert "Its release of Wed 25 Nov 2026, 6:00 am fell away" in page
    assert "Lou Lead marked B-02" in page and "Wed 25 Nov 2026, 8:00 am" in page
    assert "Why zone B is held" in page


def test_a_neighbours_mark_that_reaches_in_is_told_as_the_cause(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    sketch = a_sketch(desk, cast)
    zone = a_zone(desk, cast, sketch)
    other = a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    a_mark(desk, cast, other, (1500, 400))  # far from the joint: moves nothing of zone B
    a_mark(desk, cast, other, (900.5, 400))
    page = page_of(cast.manager).get(path(zone)).text
    assert "marked C-02" in page and "marked C-01" not in page
    assert "reaches in from zone C" in page


def test_a_zone_taken_off_the_sketch_is_told_as_that(
    desk: Desk, cast: Cast, page_of: ClientOf, clear: Zone
) -> None:
    sent = form_of(page_of(cast.manager).get(path(clear)).text, path(clear))
    zones.withdraw_zone(desk, cast.manager.id, clear.id, "poured with zone C")
    for answer in (
        page_of(cast.manager).get(path(clear)),
        page_of(cast.manager).post(path(clear), data=sent),
    ):
        assert answer.status_code == 409 and "poured with zone C" in answer.text


def test_what_people_typed_is_shown_as_text(desk: Desk, cast: Cast, page_of: ClientOf, clear: Zone) -> None:
    gone = a_mark(desk, cast, clear, (600, 600))
    defects.withdraw_defect(desk, cast.lead.id, gone.id, "<script>alert(1)</script>")
    page = page_of(cast.manager).get(path(clear)).text
    assert "<script>alert(1)" not in page and "&lt;script&gt;alert(1)" in page


def test_no_race_of_marking_and_releasing_leaves_an_open_mark_in_a_ready_zone(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    """Twelve rounds: a release by the page and a mark by the crew start together, whichever wins."""
    sketch = a_sketch(desk, cast)
    manager = page_of(cast.manager)
    outcomes = set()
    for turn in range(12):
        left = 100 + turn * 200
        ring = ((left, 100), (left + 150, 100), (left + 150, 300), (left, 300))
        zone = a_zone(desk, cast, sketch, chr(ord("A") + turn), ring)
        a_walk(desk, cast, zone)
        sent = form_of(manager.get(path(zone)).text, path(zone))
        start = Barrier(2)

        def release(zone: Zone = zone, sent: dict[str, str] = sent, start: Barrier = start) -> int:
            start.wait()
            return manager.post(path(zone), data=sent).status_code

        def mark(zone: Zone = zone, left: int = left, start: Barrier = start) -> None:
            start.wait()
            a_mark(desk.fresh(), cast, zone, (left + 70, 200))

        with ThreadPoolExecutor(2) as pool:
            released, marked = pool.submit(release), pool.submit(mark)
            marked.result()
            outcomes.add(released.result())
        assert state_of(desk, cast, zone) == "held"
    assert outcomes <= {303, 409}
