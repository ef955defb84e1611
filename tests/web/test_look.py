"""The look held by rule: no inline style or script, readable contrast, errors told as they should be."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from jinja2 import UndefinedError

from service.domain.words.speech import trn
from service.web.serving.render import TEMPLATES, environment, render

SHEET = (TEMPLATES / "static" / "look.css").read_text()
PAGES = sorted(TEMPLATES.rglob("*.html"))


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it (https://www.w3.org/TR/WCAG22/#dfn-relative-luminance)."""
    full = "".join(c * 2 for c in colour[1:]) if len(colour) == 4 else colour[1:]
    parts = [int(full[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(a: str, b: str) -> float:
    """Contrast ratio of WCAG 2.2 (https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio)."""
    low, high = sorted((luminance(a), luminance(b)))
    return (high + 0.05) / (low + 0.05)


def colour(name: str) -> str:
    found = re.search(rf"--{name}: (#[0-9a-f]+);", SHEET)
    assert found, name
    return found[1]


def test_the_contrast_sum_gives_the_published_extremes() -> None:
    assert contrast("#000", "#fff") == pytest.approx(21)
    assert contrast("#fff", "#ffffff") == pytest.approx(1)


@pytest.mark.parametrize("ground", ["paper", "sheet"])
@pytest.mark.parametrize(("ink", "least"), [("ink", 12), ("soft", 7), ("do", 7), ("stop", 7)])
def test_every_ink_is_read_on_every_ground_in_the_sun(ink: str, least: float, ground: str) -> None:
    """7:1 for text (WCAG 1.4.6 enhanced contrast), 12:1 for words of state (the project's own figure)."""
    assert contrast(colour(ink), colour(ground)) >= least


@pytest.mark.parametrize("page", PAGES, ids=lambda p: str(p.relative_to(TEMPLATES)))
def test_no_template_needs_an_inline_style_or_script(page: Path) -> None:
    """The pages' Content-Security-Policy allows neither; data for scripts is JSON, which no browser runs."""
    text = page.read_text()
    assert not re.search(r"\sstyle\s*=", text)
    assert not re.search(r"\son[a-z]+\s*=", text)
    assert "javascript:" not in text
    for tag in re.findall(r"<script\b[^>]*>", text):
        assert "src=" in tag or 'type="application/json"' in tag, tag


def test_an_undefined_name_is_an_error_not_a_blank() -> None:
    with pytest.raises(UndefinedError):
        environment().from_string("{{ page.nothing }}").render(page=object())


def test_markup_typed_by_people_is_shown_not_run() -> None:
    assert "<b>x</b>" not in render("page.html", None, project="<b>x</b>", person="<b>x</b>")


def test_an_error_is_in_the_title_and_leads_the_page_to_its_field() -> None:
    html = render("page.html", None, errors={"width": "Type the width with its unit"})
    assert "<title>Error: " in html
    main = html.split('<main id="main"')[1]
    assert main.index('id="errors"') < main.index("</main>")
    assert '<a href="#width">Type the width with its unit</a>' in html


def test_a_page_without_errors_has_no_summary() -> None:
    html = render("page.html", None)
    assert 'id="errors"' not in html and "Error" not in html


def test_every_page_says_it_is_a_record_and_not_advice() -> None:
    assert "A quality record, not engineering advice." in render("page.html", None)


def test_a_field_and_the_summary_use_the_same_words() -> None:
    source = '{% import "parts/fields.html" as f %}{{ f.length("width", "Width", "six", errors) }}'
    html = environment().from_string(source).render(errors={"width": "Type a length"})
    assert "Type a length</span>" in html and 'aria-describedby="width-wrong"' in html
    assert 'aria-invalid="true"' in html and 'value="six"' in html


def test_counts_are_said_as_people_say_them() -> None:
    marks = [trn("{n} mark", "{n} marks", n) for n in (1, 0, 1204)]
    assert marks == ["1 mark", "0 marks", "1,204 marks"]
    assert trn("{n} entry", "{n} entries", 2) == "2 entries"
