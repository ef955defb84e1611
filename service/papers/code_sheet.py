"""A sheet with a code on paper: the same few words in every language given, side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime

from service.papers.setting.letters import Exact
from service.papers.setting.qr import qr_svg
from service.papers.setting.typeset import compile_pdf


@dataclass(frozen=True, slots=True)
class SheetWords:
    """What a sheet says in one language. `until`: how long its code is good; empty: for good. `heed` heads
    the cautions; `advice` is what stands at the foot of every paper."""

    lang: str
    title: str
    do: str
    until: str
    heed: str
    cautions: tuple[str, ...]
    advice: str


def code_sheet_pdf(
    *,
    project: str,
    units: str,
    letter: str,
    large: str,
    under: str,
    code: str,
    address: str,
    said: Sequence[SheetWords],
    at: datetime,
) -> bytes:
    """The sheet as PDF. `large`: the zone's letter, or a name; `letter`: the letter alone; `code`: what the
    code holds; `address`: the same to be typed, empty where it is a secret."""
    data = {
        "paper": "us-letter" if units == "us" else "a4",
        "project": project,
        "letter": letter,
        "large": large,
        "under": under,
        "alt": " / ".join(words.do for words in said),
        "address": Exact(address),
        "said": [asdict(words) for words in said],
    }
    title = f"{project}, {' / '.join(words.title for words in said)}"
    return compile_pdf("code_sheet", data, {"code.svg": qr_svg(code)}, title, at)
