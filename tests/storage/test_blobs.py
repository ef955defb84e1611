"""Blobs by their hash: kept once, named by what they are, and nobody's own file touched."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from service.storage.blobs.blobs import Blobs
from service.storage.blobs.store import Store
from tests.object_store import a_bucket


@pytest.fixture(params=["on disk", "in an object store"])
def blobs(request: pytest.FixtureRequest, tmp_path: Path) -> Blobs:
    if request.param == "on disk":
        return Blobs(tmp_path / "data")
    return Blobs(tmp_path / "data", Store(a_bucket(request.getfixturevalue("object_store"))))


def test_a_blob_is_kept_under_the_sha_256_of_its_bytes(blobs: Blobs) -> None:
    name = blobs.put(b"film")
    assert name == hashlib.sha256(b"film").hexdigest()
    assert blobs.read(name) == b"film" and blobs.put(b"film") == name


def test_somebody_elses_file_stays_where_it_was(blobs: Blobs, tmp_path: Path) -> None:
    plan = tmp_path / "plan.png"
    plan.write_bytes(b"a plan")
    name = blobs.put_file(plan)
    assert plan.read_bytes() == b"a plan" and blobs.read(name) == b"a plan"


def test_a_file_that_came_in_is_moved_and_leaves_nothing_behind(blobs: Blobs) -> None:
    with blobs.coming() as folder:
        came = folder / "upload"
        came.write_bytes(b"an upload")
        name = blobs.put_file(came)
        assert not came.exists()
    assert blobs.read(name) == b"an upload"
    assert list((blobs.folder / "coming").iterdir()) == []


@pytest.mark.parametrize("name", ["../../etc/passwd", "", "A" * 64, "0" * 63, "0" * 64 + "\n"])
def test_no_name_but_a_hash_leads_anywhere(blobs: Blobs, name: str) -> None:
    with pytest.raises(ValueError, match="SHA-256"):
        blobs.path(name)


@pytest.mark.parametrize("name", ["../x", "0" * 64 + "-", "0" * 64 + "-123456", "0" * 64 + "/.."])
def test_no_name_but_a_pictures_leads_to_tiles(blobs: Blobs, name: str) -> None:
    with pytest.raises(ValueError, match="tile pyramid"):
        blobs.tiles(name)
