"""Photos sent by what they hold before their form: whole or not at all, each sender's own, and stripped."""

from __future__ import annotations

import hashlib
import io
from dataclasses import replace
from datetime import timedelta
from uuid import uuid4

import httpx
import pytest
from PIL import Image

from service.actions.frame.desk import Desk
from service.actions.marks import uploads as taking
from service.actions.people.erasing import erase_person
from service.web.serving import receipts
from tests.cast import Clock
from tests.media.loaded import MARKS_OF_PAYLOAD
from tests.media.making import CANARY, encoded, exif_with_place, scene
from tests.media.test_heic import corners, heic
from tests.whole.asking import CREW_LEAD, PROJECT_MANAGER, actor_of
from tests.whole.conftest import set_stage, stage
from tests.whole.routes import ROWS
from tests.whole.stage import Stage

__all__ = ["set_stage", "stage"]

MARK = next(row for row in ROWS if row.method == "POST" and row.path == "/zones/{zone_id}/mark")
MIB = 1024 * 1024


def photo() -> bytes:
    return encoded(scene(320, 240), "JPEG", quality=85, exif=exif_with_place())


def name_of(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def put(stage: Stage, data: bytes, role: str = CREW_LEAD, name: str = "") -> httpx.Response:
    with stage.client(actor_of(stage, role), program=False) as client:
        client.headers["Accept"] = receipts.RECEIPT
        client.headers["Laptight-Person"] = actor_of(stage, role).person_id
        return client.put(f"/blobs/{name or name_of(data)}", content=data)


def head(stage: Stage, name: str, role: str = CREW_LEAD) -> int:
    with stage.client(actor_of(stage, role), program=False) as client:
        return client.head(f"/blobs/{name}").status_code


def mark_with(stage: Stage, *names: str, role: str = CREW_LEAD) -> httpx.Response:
    with stage.client(actor_of(stage, role), program=False) as client:
        client.headers.update(
            {
                "Accept": receipts.RECEIPT,
                "Idempotency-Key": str(uuid4()),
                "Laptight-Outbox": "1",
                "Laptight-Person": actor_of(stage, role).person_id,
            }
        )
        form = {**MARK.form, "photo_sha256": list(names)}
        return client.post(MARK.address(stage.ids), data=form)


@pytest.mark.parametrize(
    "make", [photo, lambda: heic(corners(), exif=exif_with_place())], ids=["JPEG", "HEIC"]
)
def test_a_photo_sent_before_its_form_is_shown_with_it_and_nothing_of_its_place_is_kept(
    stage: Stage, make: object
) -> None:
    data = make()  # type: ignore[operator]  # one of the two above
    assert head(stage, name_of(data)) == 404
    assert put(stage, data).status_code == 204
    assert put(stage, data).status_code == 204, "sent again after a lost answer"
    assert head(stage, name_of(data)) == 200
    landed = mark_with(stage, name_of(data))
    assert landed.status_code == 201, landed.text
    mark_id = landed.json()["href"].split("/")[2]
    with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
        page = client.get(f"/defects/{mark_id}").text
        source = page.split('src="/photos/', 1)[1].split('"', 1)[0].split("?")[0]
        shown = client.get(f"/photos/{source}").content
    assert shown.startswith(b"\xff\xd8\xff")
    assert CANARY in data
    assert not any(payload in shown for payload in MARKS_OF_PAYLOAD)
    with Image.open(io.BytesIO(shown)) as picture:
        assert not picture.getexif()


def test_an_upload_is_its_senders_alone(stage: Stage) -> None:
    data = photo()
    put(stage, data)
    assert head(stage, name_of(data), PROJECT_MANAGER) == 404
    before = stage.entries()
    other = mark_with(stage, name_of(data), role=PROJECT_MANAGER)
    assert (other.status_code, other.json()["error"]["code"]) == (422, "photo-missing")
    assert stage.entries() == before
    put(stage, data, PROJECT_MANAGER)
    assert head(stage, name_of(data), PROJECT_MANAGER) == 200


@pytest.mark.parametrize(
    ("data", "status", "code"),
    [
        (b"<script>alert(1)</script>", 422, "not-a-picture"),
        (b"", 422, "empty"),
        (b"%PDF-1.7\n", 422, "not-a-picture"),
        (b"\xff\xd8\xff" + b"\0" * (15 * MIB - 2), 413, "too-large"),
    ],
    ids=["a page", "nothing", "a PDF", "one byte too many"],
)
def test_what_is_no_photo_or_too_large_is_not_taken(
    stage: Stage, data: bytes, status: int, code: str
) -> None:
    answer = put(stage, data)
    assert (answer.status_code, answer.json()["error"]["code"]) == (status, code)
    assert head(stage, name_of(data)) == 404
    assert not list((stage.desk.blobs.folder / "coming").iterdir())


def test_bytes_that_are_not_those_of_the_address_are_not_taken(stage: Stage) -> None:
    data = photo()
    cut = put(stage, data[: len(data) // 2], name=name_of(data))
    assert (cut.status_code, cut.json()["error"]["code"]) == (422, "other-bytes")
    assert head(stage, name_of(data)) == 404
    for odd in ("x" * 64, "../../keys", "AB" * 32):
        assert put(stage, data, name=odd).status_code in (404, 405, 422)


def test_whoever_is_not_signed_in_is_told_so_as_json(stage: Stage) -> None:
    with stage.client(stage.actors[0], program=False) as client:
        answer = client.put(f"/blobs/{name_of(b'x')}", content=b"x", headers={"Accept": receipts.RECEIPT})
    assert (answer.status_code, answer.json()["error"]["code"]) == (401, "sign-in")


def test_a_person_has_room_for_so_much_and_no_more(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    data = photo()
    monkeypatch.setattr(taking, "MOST_BYTES", len(data) + 10)
    assert put(stage, data).status_code == 204
    assert put(stage, data).status_code == 204, "the same again takes no more room"
    other = encoded(scene(64, 64), "PNG")
    answer = put(stage, other)
    assert (answer.status_code, answer.json()["error"]["code"]) == (507, "no-room")
    assert put(stage, other, PROJECT_MANAGER).status_code == 204


def test_uploads_are_swept_a_day_after_they_are_shown_and_after_ninety_days(stage: Stage) -> None:
    desk: Desk = stage.desk
    now = desk.clock()
    shown, waiting, next_one = photo(), encoded(scene(64, 64), "PNG"), encoded(scene(48, 48), "PNG")
    put(stage, shown)
    put(stage, waiting)
    assert mark_with(stage, name_of(shown)).status_code == 201
    assert head(stage, name_of(shown)) == 200
    for days, left in ((0.9, [200, 200]), (1.1, [404, 200]), (90.1, [404, 404])):
        later = replace(desk.fresh(), clock=Clock(now + timedelta(days=days)))
        with later.blobs.coming() as folder:
            source = folder / "upload"
            source.write_bytes(next_one)
            taking.take_in(later, stage.cast.manager.id, name_of(next_one), source)
        assert [head(stage, name_of(data)) for data in (shown, waiting)] == left
    person = stage.cast.lead.id
    for data in (shown, waiting):
        with pytest.raises(FileNotFoundError):
            desk.blobs.waiting(person, name_of(data))


def test_an_erased_persons_uploads_go_with_them(stage: Stage) -> None:
    data = photo()
    put(stage, data)
    person = actor_of(stage, CREW_LEAD).person
    assert person is not None
    file = stage.desk.blobs.waiting(person.id, name_of(data))
    assert file.is_file()
    erase_person(stage.desk.fresh(), person.email)
    assert not file.exists()
