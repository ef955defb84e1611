"""From told facts to a PDF for an archive (PDF/A-2a) and a screen reader (PDF/UA-1): same bytes each time.

Facts go in as data and are never read as source: a template of `templates/papers/` reads `told.json`. It sees
nothing but itself, `base.typ`, that file and the pictures given; no network, no system fonts.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import UTC, datetime
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import typst

from service.papers.setting.letters import FONTS, Exact, breakable, spelled

TEMPLATES = FONTS.parent
# ISO 19005-2 level A, for keeping, and ISO 14289-1, for reading aloud; both at once.
STANDARDS: list[typst.PDFStandard] = ["a-2a", "ua-1"]
PICTURE = re.compile(r"[a-z0-9][a-z0-9_-]{0,79}\.(svg|jpg|png|webp)")


def compile_pdf(
    template: str,
    data: Mapping[str, Any],
    pictures: Mapping[str, bytes],
    title: str,
    at: datetime,
    lang: str = "en",
) -> bytes:
    """The PDF that `templates/papers/{template}.typ` makes of the data, created `at` that moment.

    data: anything JSON holds; texts are set as they are (see `letters`); one that is to be copied
    letter by letter is an `Exact`.
    pictures: file name to bytes, for `image("name.svg", alt: ...)`. ValueError for a picture's name that is
    no plain file name or a moment without its zone; RuntimeError where the template does not compile.
    """
    if at.tzinfo is None:
        raise ValueError("the moment of a paper has its zone")
    for name in pictures:
        if not PICTURE.fullmatch(name):
            raise ValueError(f"no plain picture name: {name!r}")
    told = {"title": title, "lang": lang, "data": data}
    with TemporaryDirectory(prefix="laptight-paper-") as folder:
        root = Path(folder)
        for source in ("base", template):
            (root / f"{source}.typ").write_bytes((TEMPLATES / f"{source}.typ").read_bytes())
        (root / "told.json").write_text(json.dumps(told_safely(told)), encoding="utf-8")
        for name, content in pictures.items():
            (root / name).write_bytes(content)
        return _compiled(root, template, at)


def _compiled(root: Path, template: str, at: datetime) -> bytes:
    return typst.compile(
        root / f"{template}.typ",
        root=root,
        format="pdf",
        pdf_standards=STANDARDS,
        font_paths=fonts_in_use(),
        # No package is ever asked for; were one, it would be looked for in a folder that is not there.
        package_path=root / "none",
        package_cache_path=root / "none",
        timestamp=at.astimezone(UTC).replace(microsecond=0),
    )


@lru_cache(maxsize=1)
def fonts_in_use() -> typst.Fonts:
    """The fonts that papers are set in: the project's own, and no other."""
    return typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[FONTS.as_posix()]
    )


def told_safely(data: Any) -> Any:
    """The same data with every text spelled out and very long words made breakable (see `letters`)."""
    match data:
        case Exact():
            return spelled(data)
        case str():
            return breakable(spelled(data))
        case Mapping():
            return {str(key): told_safely(value) for key, value in data.items()}
        case list() | tuple():
            return [told_safely(value) for value in data]
    return data
