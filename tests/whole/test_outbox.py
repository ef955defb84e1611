"""Every form that a phone may keep and send later, and every other that it may not: from the route table.

The four answers to a key are those of draft-ietf-httpapi-idempotency-key-header-06.
"""

from __future__ import annotations

import re
from concurrent.futures import ThreadPoolExecutor
from threading import Event
from typing import Any
from uuid import UUID, uuid4

import httpx
import pytest

from service.actions.frame.receipts import Kept
from service.actions.marks.defects import PhotoIn
from service.history.facts.entries import leaf_hash
from service.storage.history import books
from service.web.marks import pictures
from service.web.serving import receipts
from tests.whole.asking import CREW_LEAD, INSPECTOR, PROJECT_MANAGER, actor_of
from tests.whole.routes import ROWS, Row
from tests.whole.stage import Stage

UNSAFE = [row for row in ROWS if row.method not in ("GET", "HEAD")]
ANYBODYS = ("/sign-in", "/sign-out", "/language", "/join", "/reset", "/account", "/forgot")


def queued(row: Row) -> bool:
    """Whether a phone may keep it: asked of the service with any ids in the path."""
    return receipts._QUEUED.fullmatch(re.sub(r"\{[^}]*\}", "0" * 64, row.path)) is not None


QUEUED = [row for row in UNSAFE if queued(row) and not row.path.startswith("/blobs")]
# What an inspector alone may do to an inspector's mark has the same path and another row.
OWN = [row for row in QUEUED if row.made != "inspector"]


def who(stage: Stage, row: Row) -> str:
    """A second look is another person's than its maker's."""
    return INSPECTOR if row.action == "take a second look" else PROJECT_MANAGER


def headers(stage: Stage, role: str, key: str, known: int = 0) -> dict[str, str]:
    """As the page's script sends what waited."""
    return {
        "Accept": receipts.RECEIPT,
        "Idempotency-Key": key,
        "Laptight-Outbox": "1",
        "Laptight-Person": actor_of(stage, role).person_id,
        "Laptight-Known": str(known),
        "Laptight-Device-At": "2026-11-25T14:05:00.123+01:00",
    }


def send(stage: Stage, row: Row, key: str, role: str = "", **more: str) -> httpx.Response:
    role = role or who(stage, row)
    with stage.client(actor_of(stage, role), program=False) as client:
        client.headers.update(headers(stage, role, key, head(stage)))
        return row.send(client, stage.ids, **more)


def head(stage: Stage) -> int:
    with stage.desk.fresh().reading() as session:
        return books.head(session, stage.ids["project_id"])


def test_the_forms_that_may_wait_are_those_of_the_crew() -> None:
    told = {row.action for row in QUEUED}
    assert {"mark a defect", "log a patch", "finish a walk", "add a photo", "sign a hold point"} <= told
    never = {
        "release a zone", "pull back a release", "mark a zone placed", "change the rule sheet",
        "invite people", "set the scale", "outline a zone", "add a sketch", "keep a checkpoint",
        "take the record", "lay the grid",
    }  # fmt: skip
    assert not told & never
    assert len(OWN) >= 24


@pytest.mark.parametrize("row", OWN, ids=str)
def test_a_form_that_waited_is_answered_by_its_entry_and_sent_again_by_the_same(
    stage: Stage, row: Row
) -> None:
    key = str(uuid4())
    before = head(stage)
    first = send(stage, row, key)
    assert first.status_code == 201, first.text
    assert first.headers["content-type"].startswith(receipts.RECEIPT)
    told = first.json()
    assert told.keys() == {"href", "seq", "leaf", "again", "words"}
    assert told["again"] is False and told["href"].startswith("/") and told["words"].endswith(".")
    assert told["seq"] == head(stage) > before
    with stage.desk.fresh().reading() as session:
        entries = books.hashed_entries(session, stage.ids["project_id"], after=before)
    last, leaf = entries[-1]
    assert told["leaf"] == leaf.hex() == leaf_hash(last.content()).hex()
    for entry, _ in entries:
        assert entry.phone is not None and entry.phone.known == before
        assert (
            entry.phone.device_at and entry.phone.device_at.isoformat() == "2026-11-25T13:05:00.123000+00:00"
        )
    again = send(stage, row, key)
    assert again.status_code == 201
    assert again.json() == {**told, "again": True}
    assert head(stage) == told["seq"]


@pytest.mark.parametrize("row", OWN, ids=str)
def test_a_key_with_another_body_is_refused_and_one_without_a_key_too(stage: Stage, row: Row) -> None:
    key = str(uuid4())
    assert send(stage, row, key).status_code == 201
    told = head(stage)
    other = send(stage, row, key, noted_on_the_phone="something else")
    assert (other.status_code, other.json()["error"]["code"]) == (422, "key-reused")
    assert head(stage) == told
    stage.put_back()
    keyless = send(stage, row, "")
    assert (keyless.status_code, keyless.json()["error"]["code"]) == (400, "key-missing")
    assert stage.entries() and head(stage) < told


@pytest.mark.parametrize("row", OWN, ids=str)
def test_what_somebody_else_made_is_not_sent_under_this_sign_in(stage: Stage, row: Row) -> None:
    before = stage.digest()
    with stage.client(actor_of(stage, who(stage, row)), program=False) as client:
        client.headers.update(headers(stage, CREW_LEAD, str(uuid4())))
        other = row.send(client, stage.ids)
    assert (other.status_code, other.json()["error"]["code"]) == (409, "another-person")
    with stage.client(stage.actors[1], program=False) as client:
        client.headers.update(headers(stage, PROJECT_MANAGER, str(uuid4())))
        ended = row.send(client, stage.ids)
    assert (ended.status_code, ended.json()["error"]["code"]) == (401, "sign-in")
    assert "location" not in ended.headers
    assert stage.digest() == before


@pytest.mark.parametrize("row", [row for row in UNSAFE if not queued(row)], ids=str)
def test_nothing_else_is_taken_from_an_outbox(stage: Stage, row: Row) -> None:
    before = stage.digest()
    asked = send(stage, row, str(uuid4()), PROJECT_MANAGER)
    assert (asked.status_code, asked.json()["error"]["code"]) == (409, "not-from-outbox")
    assert stage.digest() == before


@pytest.mark.parametrize(("format", "status"), [("1", 201), ("2", 409), ("", 409), ("one", 409)])
def test_an_item_of_a_form_not_known_here_stays_on_the_phone(stage: Stage, format: str, status: int) -> None:
    row = next(row for row in OWN if row.path.endswith("/walks"))
    with stage.client(actor_of(stage, PROJECT_MANAGER), program=False) as client:
        client.headers.update(headers(stage, PROJECT_MANAGER, str(uuid4()), head(stage)))
        client.headers["Laptight-Outbox"] = format
        asked = row.send(client, stage.ids)
    assert asked.status_code == status
    assert status == 201 or asked.json()["error"]["code"] == "format"


def test_another_sites_page_cannot_send_what_looks_like_an_outbox(stage: Stage) -> None:
    row = next(row for row in OWN if row.path.endswith("/walks"))
    before = stage.digest()
    with stage.client(actor_of(stage, PROJECT_MANAGER), program=False) as client:
        client.headers.update(headers(stage, PROJECT_MANAGER, str(uuid4())))
        client.headers["Sec-Fetch-Site"] = "cross-site"
        asked = row.send(client, stage.ids)
    assert (asked.status_code, asked.json()["error"]["code"]) == (403, "cross-site")
    assert stage.digest() == before


def test_the_same_key_is_told_to_wait_while_its_first_sending_is_under_way(
    stage: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    began, go_on = Event(), Event()
    real = pictures.take_in_photos

    def slow(*given: Any) -> list[PhotoIn]:
        began.set()
        go_on.wait(10)
        return real(*given)

    monkeypatch.setattr(pictures, "take_in_photos", slow)
    row, key = next(row for row in OWN if row.path.endswith("/mark")), str(uuid4())
    with ThreadPoolExecutor(1) as pool:
        first = pool.submit(send, stage, row, key)
        assert began.wait(10)
        second = send(stage, row, key)
        go_on.set()
        assert first.result().status_code == 201
    assert (second.status_code, second.json()["error"]["code"]) == (409, "still-under-way")


def test_ids_chosen_on_the_phone_let_a_patch_wait_behind_its_mark(stage: Stage) -> None:
    mark = next(row for row in OWN if row.path.endswith("/mark"))
    patch = next(row for row in OWN if row.path.endswith("/patch"))
    key, patch_key = uuid4(), uuid4()
    landed = send(stage, mark, str(key), CREW_LEAD, new_id=key.hex)
    assert landed.json()["href"] == f"/defects/{key.hex}/marked"
    ids = {**stage.ids, "defect_id": key.hex}
    with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
        client.headers.update(headers(stage, CREW_LEAD, str(patch_key)))
        over = patch.send(client, ids, new_id=patch_key.hex)
    assert over.json()["href"] == f"/patches/{patch_key.hex}"


@pytest.mark.parametrize("path", ["/zones/{zone_id}/mark", "/defects/{defect_id}/patch"])
def test_an_id_used_before_is_the_same_thing_or_is_refused(stage: Stage, path: str) -> None:
    row = next(row for row in OWN if row.path == path)
    key = uuid4()
    first = send(stage, row, str(key), CREW_LEAD, new_id=key.hex).json()
    told = head(stage)
    # The key was forgotten, the same person sends the same: it was received.
    same = send(stage, row, str(uuid4()), CREW_LEAD, new_id=key.hex)
    assert same.status_code == 201
    assert (same.json()["seq"], same.json()["leaf"]) == (first["seq"], first["leaf"])
    changed = send(stage, row, str(uuid4()), CREW_LEAD, new_id=key.hex, note="by the column")
    other = send(stage, row, str(uuid4()), PROJECT_MANAGER, new_id=key.hex)
    for refused in (changed, other):
        assert (refused.status_code, refused.json()["error"]["code"]) == (409, "id-taken")
    odd = send(stage, row, str(uuid4()), CREW_LEAD, new_id=str(UUID(key.hex)))
    assert (odd.status_code, list(odd.json()["error"]["fields"])) == (422, ["new_id"])
    assert head(stage) == told


def test_a_page_that_sends_its_form_plainly_is_still_led_on(stage: Stage) -> None:
    """Where no script runs nothing has changed: no header of a phone, and a page is the answer."""
    row = next(row for row in OWN if row.path.endswith("/mark"))
    with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
        led = [row.send(client, stage.ids, request_key="k") for _ in range(2)]
    assert [answer.status_code for answer in led] == [303, 303]
    assert len({answer.headers["location"] for answer in led}) == 1
    with stage.desk.fresh().reading() as session:
        last = books.entries(session, stage.ids["project_id"], after=head(stage) - 1)[-1]
    assert last.phone is None
    assert b'"known"' not in last.content() and b'"device_at"' not in last.content()


def test_a_reply_kept_by_an_earlier_program_still_leads_on() -> None:
    assert Kept.read("/defects/1/marked") == Kept("/defects/1/marked", "", 0, "")
    now = Kept("/x", "p", 7, "ab")
    assert Kept.read(now.text()) == now
