"""Film, tape and mastic in words: what a material is, how it stands against the sheet, what nobody stated."""

from __future__ import annotations

from collections.abc import Sequence

from service.actions.film.film import Judged
from service.domain.gate.wording import FAULTS
from service.domain.nouns.installed import FILM, Material
from service.domain.nouns.rules import RuleSheet
from service.domain.rule_sheet.material_texts import (
    CALLED,
    say_permeance,
    say_puncture,
    say_tensile,
    say_thickness,
)
from service.domain.words.measures import Units, say_length, say_run
from service.domain.words.speech import later, tr
from service.domain.words.temperatures import say_temperature
from service.web.drawings.drawing import ReasonRow
from service.web.shared.crew_words import starting
from service.web.shared.sheet_words import film_words

ROLL_CAUTION = later(
    "A roll of film 15 ft wide and 200 ft long, 10 mil thick, weighs about 140 to 150 lb: two people or a "
    "machine. Unroll short lengths in wind, and weigh the edges down at once."
)


def material_facts(material: Material, units: Units) -> tuple[tuple[str, str], ...]:
    """Everything its maker states, in words; what is not stated has no row."""
    rows: list[tuple[str, str]] = []

    def say(term: str, words: str | None) -> None:
        if words:
            rows.append((term, words))

    known = material
    say(tr("Class it claims"), known.claimed_class)
    say(tr("Permeance"), None if known.permeance_up is None else say_permeance(known.permeance_up, units))
    say(tr("Thickness"), None if known.thickness_nm is None else say_thickness(known.thickness_nm, units))
    say(tr("Tension"), None if known.tensile_mlbf_in is None else say_tensile(known.tensile_mlbf_in, units))
    say(tr("Puncture"), None if known.puncture_g is None else say_puncture(known.puncture_g))
    say(tr("Roll"), _roll(known, units))
    for term, nm in (
        (tr("Maker's least lap"), known.least_lap_nm),
        (tr("Maker's least patch overlap"), known.least_patch_overlap_nm),
    ):
        say(term, None if nm is None else say_length(nm, units, "up"))
    if known.least_mf is not None:
        say(tr("Maker's least temperature"), say_temperature(known.least_mf, units, down=False))
    say(tr("Note"), known.note)
    return tuple(rows)


def _roll(material: Material, units: Units) -> str:
    wide, long = material.roll_width_nm, material.roll_length_nm
    told = [] if wide is None else [tr("{width} wide", width=say_run(wide, units))]
    told += [] if long is None else [tr("{length} long", length=say_run(long, units))]
    return ", ".join(told)


def verdict_words(material: Material, stands: Judged, sheet: RuleSheet, units: Units) -> tuple[str, str, str]:
    """How a material stands: the verdict, the quieter line, and its kind (holds, short or nothing)."""
    if material.withdrawn is not None:
        return tr("Withdrawn"), material.withdrawn, "stop"
    if material.kind != FILM:
        told = tr("Not judged: the rule sheet asks for film by class, not for this.")
        return starting(tr(material.kind)), told, ""
    asked = film_words(sheet, units)
    reached = tr("Its numbers show no class.")
    if stands.reached:
        reached = tr("Its numbers show class {reached}.", reached=stands.reached)
    told = tr("The rule sheet asks nothing of the film.")
    if asked:
        told = tr("The rule sheet asks for {asked}.", asked=asked)
    if stands.faults:
        return tr("Below the rule sheet"), f"{reached} {told}", "short"
    return tr("Meets the rule sheet"), f"{reached} {told}", "holds"


def fault_rows(faults: Sequence[str]) -> tuple[ReasonRow, ...]:
    """Each fault as one numbered reason."""
    return tuple(ReasonRow(starting(tr(FAULTS[code]))) for code in faults)


def missing_words(missing: Sequence[str]) -> str:
    """What nobody stated and is needed, in a sentence, or nothing."""
    if not missing:
        return ""
    told = [tr(CALLED[name]) for name in missing]
    listed = told[-1]
    if told[1:]:
        listed = tr("{list} and {last}", list=", ".join(told[:-1]), last=told[-1])
    return tr("Not stated: {listed}. Ask its maker, and submit the material again with it.", listed=listed)
