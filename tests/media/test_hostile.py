"""Hostile uploads: every one refused with its own reason, soon, in little memory, and nothing of it kept."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from service.media.photos import prepare_photo
from service.media.refusals import BadPicture
from service.media.sketches import pdf_pages, prepare_sketch
from tests.media.hostile import REFUSED, TRAPS
from tests.media.making import drawing, encoded, flat_png, pdf, scene

MIB = 1024 * 1024


def test_the_hostile_set_holds_at_least_twenty_five_files() -> None:
    assert len(REFUSED) >= 25


@pytest.mark.parametrize("name", REFUSED)
def test_a_hostile_sketch_is_refused_with_its_reason_and_leaves_nothing(name: str, tmp_path: Path) -> None:
    code, make = REFUSED[name]
    source = tmp_path / "plan.png"
    source.write_bytes(make())
    with pytest.raises(BadPicture) as refused:
        prepare_sketch(source, tmp_path / "tiles")
    assert refused.value.code == code
    assert refused.value.message.endswith(".")
    assert "Traceback" not in refused.value.message and str(tmp_path) not in refused.value.message
    assert not (tmp_path / "tiles").exists()


@pytest.mark.parametrize("name", [name for name, (code, _) in REFUSED.items() if not code.startswith("pdf")])
def test_no_hostile_file_is_taken_as_a_photo(name: str) -> None:
    code, make = REFUSED[name]
    with pytest.raises(BadPicture) as refused:
        prepare_photo(make())
    if name == "a HEIC photo":  # as a photo one is read, and this one holds nothing
        assert refused.value.code == "picture-damaged"
    elif "PDF" not in name and code != "too-narrow":
        assert refused.value.code == code


@pytest.mark.parametrize("name", ["a PDF with a password", "a PDF with no pages", "a PDF of a few bytes"])
def test_the_pages_of_a_bad_pdf_are_refused_with_the_same_reason(name: str, tmp_path: Path) -> None:
    code, make = REFUSED[name]
    source = tmp_path / "plan.pdf"
    source.write_bytes(make())
    with pytest.raises(BadPicture) as refused:
        pdf_pages(source)
    assert refused.value.code == code


def test_a_file_of_one_byte_too_many_is_refused_before_it_is_read(tmp_path: Path) -> None:
    source = tmp_path / "plan.png"
    source.write_bytes(encoded(drawing(128, 128), "PNG"))
    with source.open("r+b") as file:
        file.truncate(100_000_001)
    with pytest.raises(BadPicture) as refused:
        prepare_sketch(source, tmp_path / "tiles")
    assert refused.value.code == "too-large"
    with pytest.raises(BadPicture) as refused:
        prepare_photo(encoded(scene(64, 64), "JPEG").ljust(15 * MIB + 1, b"\0"))
    assert refused.value.code == "too-large"


def test_a_photo_of_51_million_pixels_is_refused_and_a_sketch_of_51_million_is_not(tmp_path: Path) -> None:
    data = flat_png(8500, 6000)
    with pytest.raises(BadPicture) as refused:
        prepare_photo(data)
    assert refused.value.code == "too-many-pixels"
    source = tmp_path / "plan"
    source.write_bytes(data)
    assert prepare_sketch(source, tmp_path / "tiles").width_px == 8500


# Counts the memory of its own children, and is small itself: a child begins with its parent's peak.
_RUNNER = """
import json, resource, sys, time
from pathlib import Path
from service.media.refusals import BadPicture
from service.media.sketches import prepare_sketch
answers = {}
for source in sorted(Path(sys.argv[1]).iterdir()):
    try:
        prepare_sketch(source, Path(sys.argv[2], source.name))
        answers[source.name] = "taken"
    except BadPicture as refused:
        answers[source.name] = refused.code
print(json.dumps([answers, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss * 1024]))
"""


def answers_and_peak(files: dict[str, bytes], room: Path) -> tuple[list[str], int]:
    """What each file was answered with, in order, and the most memory any decoding held, in bytes."""
    (room / "set").mkdir()
    for number, data in enumerate(files.values()):
        (room / "set" / f"{number:02}").write_bytes(data)
    ran = subprocess.run(
        [sys.executable, "-c", _RUNNER, str(room / "set"), str(room / "out")],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).resolve().parents[2],
    )
    answers, peak = json.loads(ran.stdout)
    return list(answers.values()), peak


def test_the_whole_hostile_set_stays_within_256_mebibytes(tmp_path: Path) -> None:
    """The figure is our own (no published source)."""
    files = {name: make() for name, (_, make) in REFUSED.items()} | {
        name: make() for name, make in TRAPS.items()
    }
    answers, peak = answers_and_peak(files, tmp_path)
    assert answers == [code for code, _ in REFUSED.values()] + ["taken"] * len(TRAPS)
    assert 0 < peak <= 256 * MIB


def test_a_pdf_that_draws_itself_for_ever_is_ended_at_its_memory_limit(tmp_path: Path) -> None:
    answers, peak = answers_and_peak({"itself": pdf([(200, 200, "/F Do /F Do 0 0 90 90 re f")])}, tmp_path)
    assert answers == ["picture-too-hard"]
    # The watcher looks fifty times a second; between two looks a process can touch this much more.
    assert peak <= (700 + 200) * MIB
