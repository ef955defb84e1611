"""The hostile set through the doors a crew lead and a manager send pictures by: pages, calls, and by hash.

What comes is refused with its status and nothing is kept, or it is taken and only a picture drawn anew is
kept, under a name made from its bytes.
"""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import httpx
import pytest
from pysqlite3 import dbapi2

from tests.media.hostile import REFUSED, TRAPS
from tests.media.loaded import LOADED, MARKS_OF_PAYLOAD
from tests.media.making import encoded, exif_with_place, scene
from tests.media.test_heic import corners, heic
from tests.web.forms.test_uploads import mark_with, name_of, put
from tests.whole.asking import CREW_LEAD, PROJECT_MANAGER, actor_of, shown_form
from tests.whole.conftest import set_stage, stage
from tests.whole.stage import Stage

__all__ = ["set_stage", "stage"]

MIB = 1024 * 1024
FILE_NAME = "IMG_canary41.jpg"
TAKEN: dict[str, Callable[[], bytes]] = {
    **LOADED,
    **TRAPS,
    "a HEIC photo with its place": lambda: heic(corners(), exif=exif_with_place()),
}
# What a photo's door says where it differs from a sketch's: a PDF is no photo, and HEIC is read as one.
AS_A_PHOTO = {"a HEIC photo": "picture-damaged"}


def photo_code(name: str) -> str:
    return AS_A_PHOTO.get(name) or ("not-a-picture" if "PDF" in name else REFUSED[name][0])


def by_page(stage: Stage, data: bytes, field: str = "camera") -> httpx.Response:
    path = f"/defects/{stage.ids['defect_id']}/photos"
    with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
        return client.post(path, files={field: (FILE_NAME, data, "image/jpeg")})


def by_call(stage: Stage, data: bytes) -> httpx.Response:
    path = f"/api/v1/defects/{stage.ids['defect_id']}/photos"
    with stage.client(actor_of(stage, CREW_LEAD), program=True) as client:
        return client.post(path, files={"file": (FILE_NAME, data, "image/jpeg")})


def by_hash(stage: Stage, data: bytes) -> httpx.Response:
    """The file first, and where that is taken the form that shows it: the answer that is the last word."""
    came = put(stage, data)
    return mark_with(stage, name_of(data)) if came.status_code == 204 else came


def sketch_by_page(stage: Stage, data: bytes) -> httpx.Response:
    path = f"/projects/{stage.ids['project_id']}/sketches/new"
    with stage.client(actor_of(stage, PROJECT_MANAGER), program=False) as client:
        form = shown_form(client, path)
        return client.post(path, data=form, files={"file": (FILE_NAME, data, "image/png")})


def sketch_by_call(stage: Stage, data: bytes) -> httpx.Response:
    path = f"/api/v1/projects/{stage.ids['project_id']}/sketches"
    with stage.client(actor_of(stage, PROJECT_MANAGER), program=True) as client:
        return client.post(path, files={"file": (FILE_NAME, data, "image/png")})


def kept(stage: Stage) -> dict[str, bytes]:
    """Every file of the store, those that wait for their forms left out: they lie as they were sent."""
    root = stage.desk.blobs.folder
    parts = [root / part for part in ("blobs", "tiles", "coming")]
    return {
        str(file.relative_to(root)): file.read_bytes()
        for part in parts
        for file in part.rglob("*")
        if file.is_file()
    }


@pytest.fixture(autouse=True)
def _same_store(set_stage: Stage) -> Iterator[None]:
    """The store as it was: the stage itself puts back the database alone."""
    before = kept(set_stage)
    yield
    root = set_stage.desk.blobs.folder
    for path in kept(set_stage).keys() - before.keys():
        if path.startswith("tiles/"):  # with all the other files of its picture
            shutil.rmtree(root.joinpath(*Path(path).parts[:3]), ignore_errors=True)
        else:
            (root / path).unlink()


def recorded(stage: Stage) -> str:
    return stage.digest(("upload",))


@pytest.mark.parametrize("name", REFUSED)
def test_a_hostile_photo_is_refused_at_every_door_and_nothing_is_kept(stage: Stage, name: str) -> None:
    data, code = REFUSED[name][1](), photo_code(name)
    before, files = recorded(stage), kept(stage)
    page, call, hashed = by_page(stage, data), by_call(stage, data), by_hash(stage, data)
    assert [page.status_code, call.status_code, hashed.status_code] == [422, 422, 422]
    assert [call.json()["error"]["code"], hashed.json()["error"]["code"]] == [code, code]
    assert call.json()["error"]["message"] in page.text.replace("&#39;", "'")
    assert recorded(stage) == before
    assert kept(stage) == files


@pytest.mark.parametrize("name", REFUSED)
def test_a_hostile_sketch_is_refused_at_both_doors_and_nothing_is_kept(stage: Stage, name: str) -> None:
    data, code = REFUSED[name][1](), REFUSED[name][0]
    before, files = recorded(stage), kept(stage)
    page, call = sketch_by_page(stage, data), sketch_by_call(stage, data)
    assert [page.status_code, call.status_code] == [422, 422]
    assert call.json()["error"]["code"] == code
    assert call.json()["error"]["message"] in page.text.replace("&#39;", "'")
    assert recorded(stage) == before
    assert kept(stage) == files


@pytest.mark.parametrize("name", TAKEN)
def test_of_a_loaded_photo_only_its_picture_is_kept_whichever_door_it_comes_by(
    stage: Stage, name: str
) -> None:
    data = TAKEN[name]()
    before = kept(stage)
    for door, status in ((by_page, 303), (by_call, 201), (by_hash, 201)):
        answer = door(stage, data)
        assert answer.status_code == status, answer.text
    new = {path: content for path, content in kept(stage).items() if path not in before}
    assert len(new) == 2, "the picture and its small one, once, by whichever door"
    for path, content in new.items():
        sha256 = hashlib.sha256(content).hexdigest()
        assert path == f"blobs/{sha256[:2]}/{sha256}", "a name made from what is kept"
        assert content.startswith(b"\xff\xd8\xff") and content.endswith(b"\xff\xd9")
        assert [mark for mark in MARKS_OF_PAYLOAD if mark in content] == []
    assert not [entry for entry in entries(stage) if b"canary" in entry.lower()]
    assert served(stage) in new.values()


@pytest.mark.parametrize("name", [*LOADED, *TRAPS])
def test_of_a_loaded_sketch_only_its_picture_is_kept(stage: Stage, name: str) -> None:
    before = kept(stage)
    answer = sketch_by_call(stage, TAKEN[name]())
    assert answer.status_code == 201, answer.text
    new = {path: content for path, content in kept(stage).items() if path not in before}
    assert any(path.startswith("tiles/") for path in new)
    (whole,) = (path for path in new if path.startswith("blobs/"))
    sha256 = hashlib.sha256(new[whole]).hexdigest()
    assert whole == f"blobs/{sha256[:2]}/{sha256}", "a name made from what is kept"
    for path, content in new.items():
        assert "canary" not in path.lower()
        assert [mark for mark in MARKS_OF_PAYLOAD if mark in content] == []
    assert not [entry for entry in entries(stage) if b"canary" in entry.lower()]


def entries(stage: Stage) -> list[bytes]:
    """Every entry of every history, as it is kept."""
    with closing(dbapi2.connect(str(stage.file))) as connection:
        return [bytes(content) for (content,) in connection.execute("SELECT content FROM entry")]


def served(stage: Stage) -> bytes:
    """The newest photo of the mark, as a program is given it."""
    with stage.client(actor_of(stage, CREW_LEAD), program=True) as client:
        photos = client.get(f"/api/v1/defects/{stage.ids['defect_id']}").json()["photos"]
        answer = client.get(f"/api/v1/photos/{photos[-1]['id']}")
    assert answer.headers["content-type"] == "image/jpeg"
    return answer.content


# --- bodies that do not say how long they are -------------------------------------------------------------


def in_pieces(body: bytes) -> Iterator[bytes]:
    for start in range(0, len(body), 65_536):
        yield body[start : start + 65_536]


def by_door(stage: Stage, door: str, data: bytes) -> tuple[str, str, bytes, dict[str, str]]:
    """How a photo comes by a door: method, address, the whole body and its kind."""
    field = {"page": "camera", "call": "file"}.get(door)
    if field is None:
        return "PUT", f"/blobs/{name_of(data)}", data, {}
    body = f'--b\r\nContent-Disposition: form-data; name="{field}"; filename="a.jpg"\r\n\r\n'.encode()
    path = f"/defects/{stage.ids['defect_id']}/photos"
    kind = {"Content-Type": "multipart/form-data; boundary=b"}
    return "POST", ("/api/v1" if door == "call" else "") + path, body + data + b"\r\n--b--\r\n", kind


@pytest.mark.parametrize(("door", "landed"), [("page", 303), ("call", 201), ("hash", 204)])
def test_a_body_of_no_told_length_is_counted_as_it_comes(stage: Stage, door: str, landed: int) -> None:
    """What is within the limit lands; one byte past it, nothing does. No door is told a length."""
    most = (15 if door == "hash" else 16) * MIB
    small = encoded(scene(320, 240), "JPEG")
    method, path, whole, kind = by_door(stage, door, small)
    large = whole + b"\0" * (most + 1 - len(whole))
    before, files = recorded(stage), kept(stage)
    answers = []
    for body in (large, whole):
        with stage.client(actor_of(stage, CREW_LEAD), program=door == "call") as client:
            request = client.build_request(method, path, content=in_pieces(body), headers=kind)
            assert "content-length" not in request.headers
            assert request.headers["transfer-encoding"] == "chunked"
            answers.append(client.send(request).status_code)
        if body is large:
            assert (recorded(stage), kept(stage)) == (before, files)
    assert answers == [413, landed]
