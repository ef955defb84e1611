"""Sheets with a code, in two languages at once: one that opens a zone, one that signs a crew in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.actions.frame.languages import speech_for
from service.actions.people.crew_codes import CodeView
from service.domain.nouns.roles import CREW_LEAD
from service.domain.words.speech import ENGLISH, later, speaking, tr
from service.papers.code_sheet import SheetWords, code_sheet_pdf
from service.papers.setting.qr import qr_modules
from service.storage.history.seen import SeenZone, zone_seen_by

LANGUAGES = (ENGLISH, "es")  # what crews speak; a sheet says everything in both
SheetSaid = SheetWords
Moment = Callable[[datetime], str]

# TRADE.md section 11, in few words: 29 CFR 1926.701(b); wet film, knives, wind: common practice, no source;
# 29 CFR 1910.1200 by 1926.59; wet concrete is caustic (from memory).
CAUTIONS = (
    later("Cap or guard bars and stakes before anybody works here."),
    later("Wet film is slippery: keep off it, or dry it first."),
    later("Cut away from your body, with a board under the film."),
    later("Wind lifts film: weigh its edges down, and never stand on a loose sheet."),
    later("Primer, solvent and mastic: fresh air, gloves, no flame."),
    later("Wet concrete burns skin: gloves and boots, and rinse at once."),
)


@dataclass(frozen=True, slots=True)
class CodeSheet:
    """A sheet. `large`: the zone's letter or a person's name; `under`: what stands below it; `address`: what
    the code holds; `secret`: it is not to be printed to be read."""

    project: str
    units: str
    letter: str
    large: str
    under: str
    address: str
    secret: bool
    said: tuple[SheetSaid, ...]
    at: datetime

    @property
    def code(self) -> tuple[str, int]:
        """The code's dark modules as a path in modules, and how many a side has."""
        return qr_modules(self.address)

    def pdf(self) -> bytes:
        """The sheet on paper, in black and white."""
        return code_sheet_pdf(
            project=self.project,
            units=self.units,
            letter=self.letter,
            large=self.large,
            under=self.under,
            code=self.address,
            address="" if self.secret else self.address,
            said=self.said,
            at=self.at,
        )


def zone_sheet(
    desk: Desk, by: str, zone_id: str, address: Callable[[str], str], advice: str
) -> tuple[SeenZone, CodeSheet]:
    """The sheet that opens a zone. `address`: a path of the service as a phone opens it; `advice`: the
    sentence at the foot, as it is written."""
    with desk.reading() as session:
        seen = zone_seen_by(session, by, zone_id)
        allow(seen, "read")
    zone = seen.zone

    def said(lang: str) -> SheetWords:
        do = tr("Point the phone's camera at the code. It opens this zone: its marks, and what mends them.")
        return _words(lang, tr("Zone {letter}", letter=zone.letter), do, "", advice)

    sheet = CodeSheet(
        project=seen.project.name,
        units=seen.project.units,
        letter=zone.letter,
        large=zone.letter,
        under=zone.name,
        address=address(f"/zones/{zone.id}"),
        secret=False,
        said=_in_both(said),
        at=desk.clock(),
    )
    return seen, sheet


def crew_sheet(
    view: CodeView, units: str, address: str, when: Moment, advice: str, at: datetime
) -> CodeSheet:
    """The sheet that signs somebody in. `when`: a moment in the words of the language being spoken."""
    code = view.code

    def said(lang: str) -> SheetWords:
        do = tr("Open the code with the phone that stays with the crew, then press the large button.")
        until = tr(
            "Good for one phone, once, until {time}. After that, ask the office for a new one.",
            time=when(code.ends_at),
        )
        return _words(lang, tr("Sign in as {role}", role=tr(CREW_LEAD)), do, until, advice)

    return CodeSheet(
        project=view.project_name,
        units=units,
        letter="",
        large=code.name,
        under="",
        address=address,
        secret=True,
        said=_in_both(said),
        at=at,
    )


def _words(lang: str, title: str, do: str, until: str, advice: str) -> SheetWords:
    cautions = tuple(tr(words) for words in CAUTIONS)
    return SheetWords(lang, title, do, until, tr("Take care"), cautions, tr(advice))


def _in_both(said: Callable[[str], SheetWords]) -> tuple[SheetWords, ...]:
    """The same words in each language of a sheet."""
    found = []
    for lang in LANGUAGES:
        speech = speech_for(lang)
        with speaking(speech):
            found.append(said(speech.code))
    return tuple(found)
