"""The decoding process: ended at each limit, two at a time, and told nothing of the server."""

from __future__ import annotations

import threading
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from service.media import confine, sketches
from service.media.limits import SKETCH, Limits
from service.media.refusals import BadPicture
from service.media.sketches import prepare_sketch
from tests.media.making import encoded, scene


@pytest.fixture(scope="module")
def honest(tmp_path_factory: pytest.TempPathFactory) -> Path:
    source = tmp_path_factory.mktemp("honest") / "plan"
    source.write_bytes(encoded(scene(3000, 2400), "JPEG", progressive=True))
    return source


@pytest.mark.parametrize(
    "limits",
    [replace(SKETCH, wall_s=0), replace(SKETCH, resident=30_000_000)],
    ids=["clock", "memory held"],
)
def test_a_decoding_past_a_limit_is_ended_and_leaves_nothing(
    limits: Limits, honest: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sketches, "SKETCH", limits)
    with pytest.raises(BadPicture) as refused:
        prepare_sketch(honest, tmp_path / "tiles")
    monkeypatch.undo()
    assert refused.value.code == "picture-too-hard"
    assert not (tmp_path / "tiles").exists()
    assert prepare_sketch(honest, tmp_path / "again").width_px == 3000


def test_a_decoding_past_its_processor_seconds_is_ended(
    honest: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    source = tmp_path / "big"
    source.write_bytes(encoded(scene(4000, 3000).resize((9600, 8000)), "JPEG", quality=95))
    monkeypatch.setattr(sketches, "SKETCH", replace(SKETCH, cpu_s=1))
    with pytest.raises(BadPicture) as refused:
        prepare_sketch(source, tmp_path / "tiles")
    assert refused.value.code == "picture-too-hard"


def test_a_decoding_that_asks_for_more_addresses_than_it_may_have_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    source = tmp_path / "flat"
    source.write_bytes(encoded(Image.new("RGB", (7000, 7000), "white"), "WEBP", lossless=True, method=0))
    monkeypatch.setattr(sketches, "SKETCH", replace(SKETCH, address=400_000_000))
    with pytest.raises(BadPicture) as refused:
        prepare_sketch(source, tmp_path / "tiles")
    assert refused.value.code == "picture-too-hard"


def test_a_broken_decoder_is_our_fault_and_not_called_a_bad_picture() -> None:
    with pytest.raises(RuntimeError, match="decoding process failed"):
        confine.run_apart({"job": "no such job", "source": "nowhere"}, SKETCH)


def test_no_more_than_two_pictures_are_decoded_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    inside, most = 0, 0
    lock, third = threading.Lock(), threading.Event()

    def converse(job: dict[str, object], limits: Limits) -> tuple[int, str, str]:
        nonlocal inside, most
        with lock:
            inside += 1
            most = max(most, inside)
            if inside > 2:
                third.set()
        # Long enough for a third to come in beside these, if anything let it.
        third.wait(0.3)
        with lock:
            inside -= 1
        return 0, "{}", ""

    monkeypatch.setattr(confine, "_converse", converse)
    threads = [threading.Thread(target=confine.run_apart, args=({}, SKETCH)) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(20)
    assert (most, inside) == (2, 0)


def test_a_picture_that_never_gets_a_seat_is_told_to_try_again(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(confine, "_SEATS", threading.BoundedSemaphore(1))
    monkeypatch.setattr(confine, "_WAIT_S", 0)
    with confine._SEATS, pytest.raises(BadPicture) as refused:
        confine.run_apart({}, SKETCH)
    assert refused.value.code == "too-busy"


def test_the_decoding_process_is_told_nothing_of_the_server(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LAPTIGHT_SECRET", "do not pass on")
    assert "LAPTIGHT_SECRET" not in confine._environment()


def test_a_directory_that_holds_something_is_never_written_into(honest: Path, tmp_path: Path) -> None:
    (tmp_path / "kept").write_text("kept")
    with pytest.raises(FileExistsError):
        prepare_sketch(honest, tmp_path)
    assert (tmp_path / "kept").read_text() == "kept"
