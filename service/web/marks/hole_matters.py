"""Why a hole matters: how much whole film passes as much vapor as one hole, with what that leaves out."""

from __future__ import annotations

from dataclasses import dataclass

from service.actions.frame.reading import ZoneView
from service.domain.nouns.installed import Material
from service.domain.nouns.site import PATCHABLE, Defect
from service.domain.rule_sheet.effective import films_laid
from service.domain.rule_sheet.film_class import CLASS_PERMEANCE_UP
from service.domain.rule_sheet.material_texts import say_permeance
from service.domain.rule_sheet.vapor import LIMITS_IN_WORDS, Range, equal_film_area_m2
from service.domain.words.measures import Units
from service.domain.words.speech import later, tr, trc

SQ_M_PER_SQ_FT = 0.3048**2
FIGURES = 2  # more would say that still air and the film are known better than they are


@dataclass(frozen=True, slots=True)
class HoleMatters:
    """`words`: the estimate; `taken`: which film it takes; `limits`: what it leaves out, always in full."""

    words: str
    taken: str
    limits: str


def hole_matters(view: ZoneView, defect: Defect) -> HoleMatters | None:
    """The estimate for this mark; None where it would say nothing: an open seam or an edge is no hole."""
    if defect.kind not in PATCHABLE or defect.withdrawn is not None:
        return None
    units = view.seen.project.units
    known = [film for film in films_laid(view.site, view.zone) if film.permeance_up]
    tightest = min(known, key=lambda film: film.permeance_up or 0, default=None)
    permeance = (tightest.permeance_up if tightest else None) or CLASS_PERMEANCE_UP
    area = area_words(equal_film_area_m2(defect.outline, permeance), units)
    return HoleMatters(
        tr("In still air this one passes as much vapor by itself as {area}.", area=area),
        _taken(tightest, len(known) > 1, permeance, units),
        tr(LIMITS_IN_WORDS),
    )


def _taken(film: Material | None, of_several: bool, permeance_up: int, units: Units) -> str:
    degrees = "68 °F" if units == "us" else "20 °C"
    told = say_permeance(permeance_up, units)
    if film is None:
        return tr(
            "Nobody stated the permeance of the film laid here. Worked out for {permeance}, the most that "
            "ASTM E1745 allows (2009 and later, edition from memory), with air at {degrees} on both sides; "
            "for tighter film it is more.",
            permeance=told,
            degrees=degrees,
        )
    words = later(
        "Worked out for the film laid here, {film} ({permeance}), with air at {degrees} on both sides."
    )
    if of_several:
        words = later(
            "Worked out for the tightest film laid here, {film} ({permeance}), with air at {degrees} on both "
            "sides."
        )
    return tr(words, film=film.name, permeance=told, degrees=degrees)


def area_words(area: Range, units: Units) -> str:
    """`about 5.9 sq ft of whole film`, or from what to what where the hole's own shape leaves that open."""
    one = 1.0 if units == "metric" else SQ_M_PER_SQ_FT
    low, high = _rounded(area.low_m2 / one), _rounded(area.high_m2 / one)
    unit = "m²" if units == "metric" else trc("unit", "sq ft")
    if not area.low_m2:
        return tr(
            "up to about {high} {unit} of whole film: nobody knows how far it opens when it is walked on",
            high=high,
            unit=unit,
        )
    if low == high:
        return tr("about {high} {unit} of whole film", high=high, unit=unit)
    return tr("about {low} to {high} {unit} of whole film", low=low, high=high, unit=unit)


def _rounded(amount: float) -> str:
    """To two figures: `0.59`, `5.9`, `59`, `590`, `5,900`."""
    shown = float(f"{amount:.{FIGURES}g}")
    return f"{shown:,.0f}" if shown >= 10 else f"{shown:g}"
