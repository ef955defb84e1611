"""The record's page: what is in it, what it can prove, who took one; and taking it."""

from __future__ import annotations

import io
import json
import re
import zipfile

from service.actions.frame.desk import Desk
from service.history.proofs.checkpoints import fingerprint, in_fours
from service.storage.history import books
from service.web.serving.render import TEMPLATES
from tests.builders import a_mark, a_release, a_walk, a_zone
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.whole.asking import main_words


def path(cast: Cast) -> str:
    return f"/projects/{cast.project_id}/record"


def head(desk: Desk, cast: Cast) -> int:
    with desk.reading() as session:
        return books.head(session, cast.project_id)


def test_looking_at_the_page_adds_nothing_and_says_what_a_record_would_hold(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    before = head(desk, cast)
    told = main_words(page_of(cast.inspector).get(path(cast)))
    assert head(desk, cast) == before
    assert f"History {before} entries, as the exact bytes that are signed for" in told
    assert "the closeout, and 1 certificate of releases" in told
    assert "0 photos and 1 sketch by hash" in told
    assert "Nobody took a record of this project yet." in told
    assert "provided one checkpoint left our hands before the change" in told
    assert in_fours(fingerprint(desk.database.keys.current().public)) in told


def test_anybody_on_the_project_takes_it_and_the_page_says_who(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    a_mark(desk, cast, a_zone(desk, cast))
    answer = page_of(cast.lead).post(path(cast))
    seq = head(desk, cast)
    assert (answer.status_code, answer.headers["content-type"]) == (200, "application/zip")
    assert f'filename="laptight-record-{cast.project_id}-{seq}.zip"' in answer.headers["content-disposition"]
    with zipfile.ZipFile(io.BytesIO(answer.content)) as record:
        last = json.loads(record.read("entries.jsonl").splitlines()[-1])
    assert (last["type"], last["by"], last["seq"]) == ("record-made", cast.lead.id, seq)
    told = main_words(page_of(cast.manager).get(path(cast)))
    assert re.search(rf"{seq} Lou Lead Wed 25 Nov 2026, 6:00 am, tells entries 1 to {seq - 1}", told)
    assert "taking it again gives the same file and adds no entry" in told
    assert page_of(cast.inspector).post(path(cast)).content == answer.content
    assert head(desk, cast) == seq


def test_a_file_handed_out_leaves_the_page_so_its_form_may_be_sent_again(
    cast: Cast, page_of: ClientOf
) -> None:
    """The script that sends a form once would else leave the button pressed for ever."""
    assert f'action="{path(cast)}" data-again>' in page_of(cast.lead).get(path(cast)).text
    script = (TEMPLATES / "static" / "form.js").read_text()
    assert 'querySelectorAll("form[method=post]:not([data-again])").forEach(sendOnce)' in script


def test_the_record_is_led_to_from_the_office_and_from_the_history(cast: Cast, page_of: ClientOf) -> None:
    client = page_of(cast.manager)
    for page in ("office", "history"):
        assert f'href="{path(cast)}"' in client.get(f"/projects/{cast.project_id}/{page}").text


def test_somebody_on_no_project_gets_nothing(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    before = head(desk, cast)
    client = page_of(cast.outsider)
    assert (client.get(path(cast)).status_code, client.post(path(cast)).status_code) == (404, 404)
    assert head(desk, cast) == before
