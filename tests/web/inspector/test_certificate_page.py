"""A release's certificate as a page, as a paper and as a proof; the ways to it; what took its force first."""

from __future__ import annotations

import base64
import re
from html import unescape

import pytest

from service.actions.frame.desk import Desk
from service.actions.office import release
from service.domain.nouns.site import Zone
from service.history.proofs.checkpoints import checkpoint_in, fingerprint, key_of
from service.history.proofs.merkle import leaf_hash
from service.history.proofs.notes import read_note, signed_by
from service.history.proofs.tlog_proof import read_proof
from tests.builders import a_mark, a_patch, a_release, a_walk, a_zone, newest_release
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.papers.reading import words


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    zone = a_zone(desk, cast)
    a_patch(desk, cast, a_mark(desk, cast, zone))
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    return zone


def newest(desk: Desk, cast: Cast, zone: Zone) -> str:
    """The address of the newest release's certificate."""
    return f"/releases/{newest_release(desk, cast, zone).id}"


def main(html: str) -> str:
    """The words of a page's main part."""
    body = re.sub(r"<(script|style|svg).*?</\1>", " ", html.split("<main", 1)[1], flags=re.DOTALL)
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", "<main" + body)))


def test_it_is_led_to_from_the_zone_its_release_and_the_history(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    client, href = page_of(cast.lead), newest(desk, cast, zone)
    for page in (
        f"/zones/{zone.id}",
        f"/zones/{zone.id}/release",
        f"/projects/{cast.project_id}/history",
    ):
        assert f'href="{href}"' in client.get(page).text, page


def test_a_zone_nobody_released_leads_to_none(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    client = page_of(cast.manager)
    for page in (f"/zones/{zone.id}", f"/zones/{zone.id}/release"):
        assert "/releases/" not in client.get(page).text


def test_everybody_on_the_project_reads_it_and_nobody_else(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    href = newest(desk, cast, zone)
    for path in (href, f"{href}/certificate.pdf", f"{href}/proof"):
        for person in (cast.lead, cast.manager, cast.inspector):
            assert page_of(person).get(path).status_code == 200, path
        for stranger in (cast.outsider, cast.other_manager):
            assert page_of(stranger).get(path).status_code == 404, path


def test_the_page_says_it_all(desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone) -> None:
    html = page_of(cast.inspector).get(newest(desk, cast, zone)).text
    told = main(html)
    for said in (
        "Release certificate of zone B",
        "Stands",
        "North bay, 4,800 sq ft",
        "Max Manager, project manager",
        "I have seen this zone.",
        "The gate was not asked for penetrations, seams, terminations, hold points and film.",
        "tear, 4 by 2 in: sealed, overlap 6 in",
        "sheet patch (left 6 in, right 6 in, near 6 in, far 6 in)",
        "ASTM E1643 section 8 (from memory, not verified)",
        "laptight release 1",
        f"laptight/{cast.project_id}",
        '"type":"zone-released"',
        "Signature Verified Successfully",
    ):
        assert said in told, said
    assert 'aria-label="Zone B drawn true to scale' in html and 'width="146mm"' in html
    assert "PULLED BACK" not in told and "FELL AWAY" not in told


def test_a_pulled_back_one_says_so_first_on_page_and_paper_and_names_the_later_one(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    href = newest(desk, cast, zone)
    release.pull_back(desk, cast.manager.id, zone.id, "Rain <b>in</b> the night")
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    client = page_of(cast.lead)
    html = client.get(href).text
    told = main(html)
    assert told.index("PULLED BACK") < told.index("Release certificate of zone B")
    assert "Max Manager, project manager" in told and "Rain <b>in</b> the night" in told
    assert "<b>in</b>" not in html and "does not stand any more" in told
    paper = words(client.get(f"{href}/certificate.pdf").content)
    assert paper.startswith("PULLED BACK") and "Rain <b>in</b> the night" in paper
    later = newest(desk, cast, zone)
    assert later != href and f'href="{later}"' in html
    assert "PULLED BACK" not in main(client.get(later).text)


def test_a_fallen_one_says_by_which_entry(desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone) -> None:
    mark = a_mark(desk, cast, zone, (600, 600))
    client, href = page_of(cast.manager), newest(desk, cast, zone)
    for told in (main(client.get(href).text), words(client.get(f"{href}/certificate.pdf").content)):
        assert "FELL AWAY" in told and f"entry {mark.seq}: Lou Lead marked B-02" in told


def test_the_proof_is_a_file_that_leads_from_the_entry_to_the_signed_root(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    """c2sp.org/tlog-proof@v1: read and checked by what checks any such proof."""
    href = newest(desk, cast, zone)
    answer = page_of(cast.inspector).get(f"{href}/proof")
    assert answer.headers["content-type"] == "text/plain; charset=utf-8"
    assert answer.text.startswith("c2sp.org/tlog-proof@v1\n")
    proof = read_proof(answer.text)
    assert f'filename="entry-{proof.seq}.tlog-proof"' in answer.headers["content-disposition"]
    checkpoint = proof.check(leaf_hash(proof.extra))
    assert checkpoint == checkpoint_in(proof.note)
    page = page_of(cast.inspector).get(href).text
    public = re.search(r"-----BEGIN PUBLIC KEY-----\n(.+)\n-----END", unescape(page))
    assert public is not None
    key = base64.b64decode(public[1])[-32:]
    assert signed_by(read_note(proof.note), [key_of(cast.project_id, key)])
    assert fingerprint(key) in lines_of_the_code(page)


def lines_of_the_code(page: str) -> str:
    """The lines of the QR code as the page tells them."""
    found = re.search(r"aria-label=\"The code's lines\">(.*?)</pre>", unescape(page), re.DOTALL)
    assert found is not None
    return unescape(found[1])


def test_the_paper_is_a_pdf_named_after_the_zone_and_the_entry(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    href = newest(desk, cast, zone)
    answers = [page_of(cast.lead).get(f"{href}/certificate.pdf") for _ in range(2)]
    assert answers[0].headers["content-type"] == "application/pdf"
    assert re.search(r'filename="certificate-B-\d+\.pdf"', answers[0].headers["content-disposition"])
    assert answers[0].content.startswith(b"%PDF-") and answers[0].content == answers[1].content
