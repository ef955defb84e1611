"""Several machines with one object store: what one keeps every other has, and an outage is told as one."""

from __future__ import annotations

from pathlib import Path
from zipfile import ZipFile

import pytest

from service.actions.frame.desk import Desk
from service.actions.marks import defects
from service.actions.record import record
from service.actions.sketches import pictures, sketches
from service.storage.blobs.blobs import Blobs
from service.storage.blobs.store import Store, StoreAway
from service.storage.upkeep.outages import is_outage
from tests.api.scene import jpeg
from tests.builders import a_mark, a_zone
from tests.cast import Cast
from tests.object_store import a_bucket
from tests.web.sketches.plans import plan_png


@pytest.fixture
def bucket(object_store: str) -> str:
    return a_bucket(object_store)


@pytest.fixture
def machines(desk: Desk, bucket: str, tmp_path: Path) -> tuple[Desk, Desk]:
    """Two machines on one database and one bucket, each with a folder of its own."""
    one, other = (Blobs(tmp_path / name, Store(bucket)) for name in ("one", "other"))
    return Desk(desk.database, one, desk.clock), Desk(desk.database, other, desk.clock)


def test_what_one_machine_keeps_every_other_has(bucket: str, tmp_path: Path) -> None:
    one, other = (Blobs(tmp_path / name, Store(bucket)) for name in ("one", "other"))
    name = one.put(b"film")
    assert not other.path(name).exists()
    assert other.has(name) and other.size(name) == 4 and other.read(name) == b"film"
    assert not other.has("0" * 64) and other.size("0" * 64) == 0
    with pytest.raises(FileNotFoundError):
        other.read("0" * 64)


def test_a_sketch_and_a_photo_taken_in_by_one_machine_are_shown_by_the_other(
    machines: tuple[Desk, Desk], cast: Cast, tmp_path: Path
) -> None:
    one, other = machines
    plan, photo = tmp_path / "plan.png", tmp_path / "photo.jpg"
    plan.write_bytes(plan_png())
    photo.write_bytes(jpeg())
    sketch = sketches.add_sketch(one, cast.manager.id, cast.project_id, plan, "Slab")
    taken, _ = pictures.shown_picture(other, cast.lead.id, sketch.id)
    assert pictures.tile(other, taken, 0, 0, 0).body == pictures.tile(one, taken, 0, 0, 0).body
    mark = a_mark(one, cast, a_zone(one, cast))
    kept = defects.settle_photo(
        one,
        cast.lead.id,
        "defect",
        mark.id,
        defects.take_in_photo(one, cast.lead.id, "defect", mark.id, photo),
    )
    told = [defects.photo_bytes(machine, cast.lead.id, kept.id) for machine in machines]
    assert told[0] == told[1]
    made = record.make_record(other, cast.inspector.id, cast.project_id)
    with made.file, ZipFile(made.file) as bundle:
        names = {name.rpartition(".")[0] for name in bundle.namelist()}
    assert {f"photos/{kept.sha256}", f"sketches/{sketch.sha256}"} <= names


def test_an_upload_waits_for_its_form_on_whichever_machine_that_comes_to(bucket: str, tmp_path: Path) -> None:
    one, other = (Blobs(tmp_path / name, Store(bucket)) for name in ("one", "other"))
    name = one.put(b"a photo")
    with one.coming() as folder:
        (folder / "came").write_bytes(b"a photo")
        one.put_waiting(folder / "came", "lou", name)
    assert other.waiting("lou", name).read_bytes() == b"a photo"
    with pytest.raises(FileNotFoundError):
        other.waiting("max", name)
    one.drop_all_waiting("lou")
    with pytest.raises(FileNotFoundError):
        Blobs(tmp_path / "third", Store(bucket)).waiting("lou", name)


def test_a_store_that_gives_no_answer_is_an_outage_and_nothing_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("service.storage.blobs.store.TRIES", 1)
    monkeypatch.setattr("service.storage.blobs.store.CONNECT_S", 1)
    blobs = Blobs(tmp_path / "data", Store("s3://site/laptight?endpoint=http://127.0.0.1:9"))
    for attempt in (lambda: blobs.put(b"film"), lambda: blobs.read("0" * 64), lambda: blobs.has("0" * 64)):
        with pytest.raises(StoreAway) as away:
            attempt()
        assert is_outage(away.value)
    assert list((tmp_path / "data" / "blobs").iterdir()) == []


def test_a_bucket_that_is_not_there_is_an_outage_too(object_store: str, tmp_path: Path) -> None:
    blobs = Blobs(tmp_path / "data", Store(f"s3://nobodys/x?endpoint={object_store}"))
    with pytest.raises(StoreAway):
        blobs.put(b"film")


@pytest.mark.parametrize("url", ["file:///tmp/x", "s3:///x", "bucket"])
def test_another_address_is_refused_at_the_start(url: str) -> None:
    with pytest.raises(ValueError, match="LAPTIGHT_BLOBS"):
        Store(url)
