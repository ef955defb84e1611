"""Hostile forms round an upload: names that climb or hide, a thousand parts, a body that never ends.

The pictures themselves are tests/media/hostile.py. A file's name is read in one place alone, a weather file.
"""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

import pytest
from starlette.types import Message

from service.actions.entrance.accounts import PROGRAM
from service.web.forms.forms import MOST_FIELDS, MOST_FILES
from tests.api.scene import jpeg
from tests.whole.asking import CREW_LEAD, actor_of, main_words
from tests.whole.conftest import set_stage, stage
from tests.whole.routes import ROWS
from tests.whole.stage import Stage

__all__ = ["set_stage", "stage"]

MARK = next(row for row in ROWS if row.method == "POST" and row.path == "/zones/{zone_id}/mark")
CANARY = "canary41"
NAMES = {
    "one that climbs": f"../../../{CANARY}.jpg",
    "one that climbs the other way": f"..\\..\\{CANARY}.jpg",
    "a whole path": f"/etc/cron.d/{CANARY}",
    "one cut by a NUL": f"{CANARY}.php\0.jpg",
    "300 characters": CANARY + "x" * 300 + ".jpg",
    "one that reads the other way round": f"{CANARY}\u202egpj.exe",
    "a name in no known letters": None,
    "one of dots": "..",
    "one that is a device elsewhere": f"CON{CANARY}:stream",
    "one with markup": f'<img src="{CANARY}">',
}
WEATHER = b"time,air F,humidity %,wind mph\n2026-11-24 09:00,70,40,5\n"


def multipart(name: str | None, data: bytes, field: str = "file") -> tuple[bytes, dict[str, str]]:
    told = CANARY.encode() + b"\xff\xfe\x80.jpg" if name is None else name.encode()
    told = told.replace(b'"', b"%22")
    body = b'--b\r\nContent-Disposition: form-data; name="%s"; filename="%s"\r\n\r\n%s\r\n--b--\r\n'
    kind = {"Content-Type": "multipart/form-data; boundary=b"}
    return body % (field.encode(), told, data), kind


def files_below(folder: Path) -> set[str]:
    return {str(found.relative_to(folder)) for found in folder.rglob("*") if found.is_file()}


@pytest.mark.parametrize("name", NAMES)
def test_a_files_name_leads_nowhere_and_is_kept_nowhere(stage: Stage, name: str) -> None:
    root = stage.file.parent
    body, kind = multipart(NAMES[name], jpeg())
    with stage.client(actor_of(stage, CREW_LEAD), program=True) as client:
        answer = client.post(f"/api/v1/defects/{stage.ids['defect_id']}/photos", content=body, headers=kind)
    assert answer.status_code in (201, 422), answer.text
    assert CANARY not in answer.text
    assert CANARY.encode() not in stage.file.read_bytes()
    wal = stage.file.with_name(stage.file.name + "-wal")
    assert not wal.exists() or CANARY.encode() not in wal.read_bytes()
    assert not [found for found in files_below(root.parent) if CANARY in found]
    stage.put_back()


@pytest.mark.parametrize("name", NAMES)
def test_the_name_of_a_weather_file_is_a_name_and_is_shown_as_text(stage: Stage, name: str) -> None:
    path = f"/zones/{stage.ids['zone_id']}/readings/file"
    body, kind = multipart(NAMES[name], WEATHER)
    with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
        sent = client.post(path, content=body, headers=kind)
        assert sent.status_code in (303, 422), sent.text
        shown = client.get(sent.headers["location"]) if sent.status_code == 303 else sent
    assert shown.status_code < 500
    assert "<img src" not in shown.text and "/etc/" not in main_words(shown)
    stage.put_back()


@pytest.mark.parametrize(("kind", "most"), [("fields", MOST_FIELDS), ("files", MOST_FILES)])
def test_a_form_of_a_thousand_and_one_parts_is_refused(stage: Stage, kind: str, most: int) -> None:
    """The form is right but for the parts beside it: without them it lands."""
    many: Any = [(f"f{i}", (f"{i}.jpg" if kind == "files" else None, b"x")) for i in range(1001)]
    mark = [(name, (None, value)) for name, value in MARK.form.items()]
    photo = [("file", ("a.jpg", jpeg()))]
    before, statuses = stage.digest(), []
    empty: Any = []
    for more in (many, empty):
        with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
            page = client.post(MARK.address(stage.ids), files=[*mark, *more])
        with stage.client(actor_of(stage, CREW_LEAD), program=True) as client:
            call = client.post(f"/api/v1/defects/{stage.ids['defect_id']}/photos", files=[*photo, *more])
        statuses.append((page.status_code, call.status_code))
        assert (stage.digest() == before) is (more is many)
    assert most < 1001
    assert statuses == [(400, 422), (303, 201)]


def test_a_body_that_is_cut_off_records_nothing(stage: Stage) -> None:
    """A phone that loses its signal in the middle of a photo: half a picture comes, then the line is gone."""
    before = stage.digest()
    whole, kind = multipart("a.jpg", jpeg())
    answered = asyncio.run(_cut(stage, whole, kind))
    assert not any(message.get("status", 0) < 400 for message in answered if "status" in message)
    assert stage.digest() == before


async def _cut(stage: Stage, body: bytes, kind: dict[str, str]) -> list[Message]:
    token = stage.tokens["the crew lead", PROGRAM]
    path = f"/api/v1/defects/{stage.ids['defect_id']}/photos"
    headers = {**kind, "Authorization": f"Bearer {token}", "Host": "laptight.test"}
    raw = [(name.lower().encode(), value.encode()) for name, value in headers.items()]
    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "POST", "scheme": "http",
        "path": path, "raw_path": path.encode(), "query_string": b"", "headers": raw,
        "client": ("10.0.0.1", 4000), "server": ("laptight.test", 80), "state": {},
    }  # fmt: skip
    coming: list[Message] = [
        {"type": "http.request", "body": body[: len(body) // 2], "more_body": True},
        {"type": "http.disconnect"},
    ]
    answered: list[Message] = []

    async def receive() -> Message:
        return coming.pop(0) if coming else {"type": "http.disconnect"}

    async def send(message: Message) -> None:
        answered.append(message)

    await stage.app(scope, receive, send)
    return answered
