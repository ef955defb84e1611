"""The foundation of the papers: kept and heard, the same bytes every time, texts never read as source."""

from __future__ import annotations

import hashlib
import io
import re
import tempfile
from collections.abc import Callable
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from fontTools.ttLib import TTFont

from service.papers.setting.letters import FONTS, Exact, code_points, covered, spelled
from service.papers.setting.qr import qr_svg
from service.papers.setting.typeset import TEMPLATES, compile_pdf, fonts_in_use
from tests.papers.reading import (
    broken_rules,
    fonts,
    must_be_an_archive_that_can_be_heard,
    opened,
    tags,
    words,
)

AT = datetime(2026, 11, 25, 14, 10, tzinfo=UTC)
ROW = re.compile(r"^\| `(?P<path>[^`]+)` \|.*\| `(?P<sha256>[0-9a-f]{64})` \|$", re.MULTILINE)
HOSTILE = (
    '#image("/etc/passwd") #read("/etc/passwd") $x$ ] } \\ " \' #{panic()} @preview/x:1.0.0 <y> *b* _i_ `c`'
)


def specimen(**changes: Any) -> dict[str, Any]:
    return {
        "paper": "us-letter",
        "letter": "B",
        "rows": [["Zone", "North bay"], ["Placing", "Thu 26 Nov"], ["Rule sheet", "6 in patches"]],
        "stands": "Released",
        "small": "nothing since",
        "kind": "ready",
        "struck": "PULLED BACK",
        "why": ["By Ana Núñez"],
        "heads": ["Tag", "Kind", "Overlap"],
        "lines": [["B-01", "hole", "6 1/2 in"]],
        "told": [["Digest", "abc"]],
        "caution": "Cut away from yourself.",
        "alt": "A code",
        "width_mm": 30,
        "caption": "The code",
        "exact": "laptight/x\n12",
        **changes,
    }


def paper(data: dict[str, Any], at: datetime = AT) -> bytes:
    return compile_pdf("specimen", data, {"figure.svg": qr_svg("hello")}, "Specimen", at)


@pytest.fixture(scope="module")
def plain() -> bytes:
    return paper(specimen())


def test_a_paper_carries_the_marks_of_an_archive_and_of_a_document_that_can_be_heard(plain: bytes) -> None:
    must_be_an_archive_that_can_be_heard(plain, "Specimen")


def test_an_independent_validator_finds_no_rule_of_either_standard_broken(plain: bytes) -> None:
    assert broken_rules(plain) == []


def test_the_validator_finds_what_is_taken_away(plain: bytes) -> None:
    """The check has teeth: a paper is refused whose language, metadata or words for a figure are gone."""

    def without(spoil: Callable[[pikepdf.Pdf], None]) -> str:
        file = opened(plain)
        spoil(file)
        kept = io.BytesIO()
        file.save(kept)
        return " ".join(broken_rules(kept.getvalue()))

    def no_words(file: pikepdf.Pdf) -> None:
        for thing in file.objects:
            if isinstance(thing, pikepdf.Dictionary) and thing.get("/S") == "/Figure":
                del thing["/Alt"]

    assert "LANG" in without(lambda file: file.Root.__delitem__("/Lang"))
    assert "METADATA" in without(lambda file: file.Root.__delitem__("/Metadata"))
    assert "FIGURE" in without(no_words)


def test_the_same_facts_give_the_same_bytes_and_another_moment_gives_others(plain: bytes) -> None:
    assert paper(specimen()) == plain
    assert paper(specimen(), AT.astimezone(timezone(timedelta(hours=-6)))) == plain
    assert paper(specimen(), AT + timedelta(seconds=1)) != plain


def test_a_paper_says_when_it_was_made_and_nothing_of_the_machine_it_was_made_on(plain: bytes) -> None:
    with opened(plain).open_metadata() as meta:
        assert str(meta["xmp:CreateDate"]) == "2026-11-25T14:10:00+00:00"
    room = tempfile.gettempdir().encode()
    assert room not in opened(plain).Root.Metadata.read_bytes() and b"laptight-paper" not in plain


def test_a_text_is_set_as_it_is_and_never_read_as_source() -> None:
    made = paper(specimen(why=[HOSTILE], lines=[[HOSTILE, HOSTILE, HOSTILE]], caution=HOSTILE, exact=HOSTILE))
    told = re.sub(r"\s", "", words(made))
    assert told.count(re.sub(r"\s", "", HOSTILE)) == 6
    assert "root:" not in told


def test_a_template_reads_nothing_but_itself_and_what_it_was_given() -> None:
    sources = {path.name: path.read_text() for path in TEMPLATES.glob("*.typ")}
    assert "base.typ" in sources
    for name, source in sources.items():
        code = re.sub(r"//.*", "", source)
        assert set(re.findall(r'(?:import|include|read|json)\W+"([^"]+)"', code)) <= {
            "base.typ",
            "told.json",
        }, name
        assert "eval(" not in code and "plugin(" not in code, name


@pytest.mark.parametrize("name", ["../a.svg", "/etc/passwd", "a/b.svg", "told.json", "base.typ", "A.svg", ""])
def test_a_picture_has_a_plain_name_of_its_own(name: str) -> None:
    with pytest.raises(ValueError, match="picture"):
        compile_pdf("specimen", specimen(), {name: b""}, "Specimen", AT)


def test_a_moment_without_its_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="zone"):
        paper(specimen(), AT.replace(tzinfo=None))


def test_signs_of_the_trade_and_names_of_people_are_drawn() -> None:
    signs = "é ñ ′ ″ ≥ ≤ × ° ½ ⅛ – — “ ” → ✓ ő ř ж Ω"
    assert spelled(signs) == signs
    assert signs.replace(" ", "") in re.sub(r"\s", "", words(paper(specimen(exact=signs))))


def test_a_sign_no_font_has_is_told_by_its_number_and_no_text_stops_a_paper() -> None:
    assert spelled("中\u202e\x00\ue000\U00020000") == "[U+4E2D][U+202E][U+0000][U+E000][U+20000]"
    every = "".join(
        chr(i)
        for i in (*range(0x20, 0x3000, 7), *range(0xE000, 0x1F700, 97))
        if i not in range(0xD800, 0xE000)
    )
    assert "[U+0900]" in words(paper(specimen(exact="\u0900" + every)))


def test_a_word_longer_than_a_line_is_broken_unless_it_is_to_be_copied() -> None:
    long = "x" * 200
    made = paper(specimen(caution=long, exact=Exact("y" * 90)))
    text = words(made)
    assert len([line for line in text.split("\n") if "x" * 30 in line]) == 2
    assert text.replace("\u200b", "").replace("\n", "").count("x" * 200) == 1 and "y" * 90 in text


def test_the_covered_signs_are_those_another_library_reads_from_the_fonts() -> None:
    files = sorted(FONTS.rglob("*.ttf"))
    for path in files:
        assert code_points(path.read_bytes()) == {
            code for code, glyph in TTFont(path).getBestCmap().items() if glyph != ".notdef"
        }
    assert len(covered()) > 5000 and len(files) == 3


def test_every_font_has_the_checksum_written_beside_it_and_its_licence() -> None:
    written = {m["path"]: m["sha256"] for m in ROW.finditer((FONTS / "VENDORED.md").read_text())}
    found = {p.relative_to(FONTS).as_posix(): p for p in FONTS.rglob("*") if p.is_file()}
    del found["VENDORED.md"]
    assert written == {path: hashlib.sha256(p.read_bytes()).hexdigest() for path, p in found.items()}
    assert all((folder / "LICENSE").is_file() for folder in FONTS.iterdir() if folder.is_dir())


def test_no_font_but_the_projects_own_is_ever_looked_at(plain: bytes) -> None:
    """Those of the machine would give other bytes on another machine."""
    seen = fonts_in_use().fonts()
    assert {font.family for font in seen} == {"Atkinson Hyperlegible", "DejaVu Sans"} and len(seen) == 3
    assert all(font.path and FONTS in Path(font.path).parents for font in seen)
    used = {name.partition("+")[2] for name, _ in fonts(opened(plain))}
    assert used <= {"AtkinsonHyperlegible-Regular", "AtkinsonHyperlegible-Bold", "DejaVuSans"}


def test_tables_have_heads_and_figures_have_words(plain: bytes) -> None:
    found = tags(opened(plain))
    assert [tag.alt for tag in found if tag.kind == "Figure"] == ["A code"]
    assert [tag.kind for tag in found if tag.kind in ("H1", "H2")] == ["H1", "H2", "H2", "H2"]
    assert len([tag for tag in found if tag.kind == "TH"]) == 5
