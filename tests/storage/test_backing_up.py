"""A backup made while people work is whole: served, checked and moved as it is, with every proof."""

from __future__ import annotations

import shutil
import threading
from pathlib import Path

import pytest

from service.actions.frame.desk import Desk
from service.actions.sketches import sketches
from service.actions.upkeep import backing_up, moving
from service.actions.upkeep.checking import check_histories
from service.actions.upkeep.checking_pictures import lost_pictures, spoiled_pictures
from service.domain.words.refusals import Conflict
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database
from service.storage.history import books, trees
from tests import postgres
from tests.builders import a_mark, a_sketch, a_zone
from tests.cast import Cast
from tests.web.sketches.plans import plan_png
from tests.whole.test_command_line import run


def restored(desk: Desk, folder: Path) -> Desk:
    return Desk(
        Database(f"sqlite:///{folder / 'laptight.sqlite3'}", desk.database.keys), Blobs(folder), desk.clock
    )


def history(desk: Desk, cast: Cast) -> list[bytes]:
    with desk.reading() as session:
        return [entry.content() for entry in books.entries(session, cast.project_id)]


def test_a_backup_under_load_is_a_whole_beginning_of_the_history(
    desk: Desk, cast: Cast, tmp_path: Path
) -> None:
    zone = a_zone(desk, cast, a_sketch(desk, cast))
    stop, made = threading.Event(), 0

    def work(number: int) -> None:
        nonlocal made
        while not stop.is_set():
            a_mark(desk.fresh(), cast, zone, at=(200 + number, 300))
            made += 1

    threads = [threading.Thread(target=work, args=(number,)) for number in range(3)]
    for thread in threads:
        thread.start()
    backups: list[tuple[int, Path]] = []
    while len(backups) < 3:
        before = len(history(desk, cast))
        folder = tmp_path / f"backup {len(backups)}"
        told = backing_up.back_up(desk.fresh(), folder)
        assert told.faults == ()
        backups.append((before, folder))
    stop.set()
    for thread in threads:
        thread.join()
    whole = history(desk, cast)
    assert made > 3
    for before, folder in backups:
        again = restored(desk, folder)
        kept = history(again, cast)
        again.database.close()
        assert before <= len(kept) <= len(whole) and kept == whole[: len(kept)]


def test_a_restored_service_goes_on_with_its_pictures_and_its_key(
    desk: Desk, cast: Cast, tmp_path: Path
) -> None:
    plan = tmp_path / "plan.png"
    plan.write_bytes(plan_png())
    sketch = sketches.add_sketch(desk, cast.manager.id, cast.project_id, plan, "Slab")
    told = backing_up.back_up(desk, tmp_path / "backup")
    assert told.pictures == 1
    again = restored(desk, tmp_path / "backup")
    assert again.blobs.read(sketch.sha256) == plan.read_bytes()
    assert sketches.picture_of(again, sketch.sha256, None).width_px == sketch.width_px
    a_zone(again, cast, a_sketch(again, cast))
    assert check_histories(again).faults == ()
    assert not (tmp_path / "backup" / "keys").exists()
    again.database.close()


def test_a_backup_never_goes_into_a_folder_that_holds_something(
    desk: Desk, cast: Cast, tmp_path: Path
) -> None:
    backing_up.back_up(desk, tmp_path / "backup")
    with pytest.raises(Conflict) as refused:
        backing_up.back_up(desk, tmp_path / "backup")
    assert refused.value.code == "not-empty"


def a_plan(desk: Desk, cast: Cast, tmp_path: Path) -> str:
    """A sketch as it was uploaded; its SHA-256."""
    plan = tmp_path / "plan.png"
    plan.write_bytes(plan_png())
    return sketches.add_sketch(desk, cast.manager.id, cast.project_id, plan, "Slab").sha256


def test_a_picture_that_is_gone_is_told(desk: Desk, cast: Cast, tmp_path: Path) -> None:
    sha256 = a_plan(desk, cast, tmp_path)
    assert backing_up.back_up(desk, tmp_path / "whole").lost == ()
    desk.blobs.path(sha256).unlink()
    (lost,) = backing_up.back_up(desk, tmp_path / "backup").lost
    assert sha256[:12] in lost and "is gone" in lost


def test_a_picture_whose_bytes_turned_is_told_and_never_copied_under_its_name(
    desk: Desk, cast: Cast, tmp_path: Path
) -> None:
    sha256 = a_plan(desk, cast, tmp_path)
    assert lost_pictures(desk, desk.blobs) == spoiled_pictures(desk) == ()
    kept = desk.blobs.path(sha256)
    kept.write_bytes(bytes([kept.read_bytes()[0] ^ 1]) + kept.read_bytes()[1:])
    assert lost_pictures(desk, desk.blobs) == ()
    (spoiled,) = spoiled_pictures(desk)
    assert sha256[:12] in spoiled
    (lost,) = backing_up.back_up(desk, tmp_path / "backup").lost
    assert sha256[:12] in lost and not Blobs(tmp_path / "backup").has(sha256)


@pytest.mark.parametrize("words", [("check",), ("check", "--pictures"), ("backup", "--to", "backup/")])
def test_a_lost_picture_turns_the_exit_status_of_the_commands(
    words: tuple[str, ...],
    desk: Desk,
    cast: Cast,
    data: Path,
    database_url: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    sha256 = a_plan(desk, cast, tmp_path)
    monkeypatch.setenv("LAPTIGHT_DATABASE_URL", database_url)
    asked = [str(tmp_path / word) if word == "backup/" else word for word in words]
    assert run(*asked, "--data", data).returncode == 0
    shutil.rmtree(tmp_path / "backup", ignore_errors=True)
    desk.blobs.path(sha256).unlink()
    told = run(*asked, "--data", data)
    assert told.returncode == 1 and sha256[:12] in told.stderr


def test_a_backup_under_load_moved_into_an_empty_database_has_the_same_roots(
    desk: Desk, cast: Cast, tmp_path: Path, server: postgres.Server
) -> None:
    """What was restored replays, and is signed up to the very root that the service had at that size."""
    zone = a_zone(desk, cast, a_sketch(desk, cast))
    stop = threading.Event()

    def work() -> None:
        while not stop.is_set():
            a_mark(desk.fresh(), cast, zone)

    sending = threading.Thread(target=work)
    sending.start()
    while len(history(desk, cast)) < 8:
        pass
    backing_up.back_up(desk.fresh(), tmp_path / "backup")
    stop.set()
    sending.join()
    kept = restored(desk, tmp_path / "backup")
    url = server.url(server.create())
    assert moving.move(kept, url).faults == ()
    there = Desk(Database(url, desk.database.keys), kept.blobs, desk.clock)
    with there.reading() as session, desk.reading() as live:
        size = books.head(session, cast.project_id)
        assert 8 <= size <= books.head(live, cast.project_id)
        root = trees.root_at(session, cast.project_id, size)
        assert root == trees.root_at(live, cast.project_id, size)
    assert check_histories(there).faults == ()
    a_mark(there.fresh(), cast, zone)  # and it goes on
    for one in (kept, there):
        one.database.close()
