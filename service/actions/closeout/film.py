"""Film, tape and mastic for the closeout: what each material states and shows, and where each lot lies."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from service.actions.closeout.acts import Acts
from service.actions.closeout.installed import Stands, lots_named
from service.domain.gate.installed_states import FILM_LOT
from service.domain.gate.wording import say_faults
from service.domain.nouns.installed import FILM, Lot, Material
from service.domain.nouns.site import Site, Zone
from service.domain.patches.repair import Numbers
from service.domain.rule_sheet.film_class import class_of, film_faults
from service.domain.rule_sheet.material_texts import say_permeance, say_puncture, say_tensile, say_thickness
from service.domain.words.measures import Units, say_length, say_run
from service.domain.words.speech import later, tr, trc
from service.domain.words.temperatures import say_temperature
from service.history.closeout.told import LaidTold
from service.history.closeout.whole import LotTold, MaterialTold, StrayLot

NOT_STATED, NO_CLASS = later("not stated"), later("none shown")


def materials_of(site: Site, acts: Acts) -> tuple[MaterialTold, ...]:
    """Film first, then tape, then mastic; in the order submitted. A material's lots stand with it."""
    kinds = (FILM, "tape", "mastic")
    found = sorted(site.materials.values(), key=lambda m: (kinds.index(m.kind), m.signed.seq))
    laid, worked = _laid_in(site), _worked_in(site)
    return tuple(
        MaterialTold(
            kind=material.kind,
            name=material.name,
            shown_class=_class(material),
            permeance=_permeance(material, acts.units),
            thickness=_thickness(material, acts.units),
            stated=tuple(_stated(material, acts.units)),
            stands=_stands(site, material),
            note=material.note,
            submitted=acts.signed(material.signed),
            lots=tuple(
                _lot(lot, acts, laid, worked) for lot in site.lots.values() if lot.material_id == material.id
            ),
            undone=acts.undone("material", material.id, material.withdrawn),
        )
        for material in found
    )


def _lot(lot: Lot, acts: Acts, laid: dict[str, set[str]], worked: dict[str, set[str]]) -> LotTold:
    return LotTold(
        number=lot.number,
        rolls=lot.rolls,
        note=lot.note,
        received=acts.signed(lot.signed),
        laid_in=_letters(laid[lot.id]),
        worked_in=_letters(worked[lot.number]),
        undone=acts.undone("lot", lot.id, lot.withdrawn),
    )


def _letters(letters: set[str]) -> tuple[str, ...]:
    return tuple(sorted(letters, key=lambda letter: (len(letter), letter)))


def _laid_in(site: Site) -> dict[str, set[str]]:
    """Letters of the zones where each lot is logged as laid, by the lot's id; of zones that stand."""
    found: dict[str, set[str]] = defaultdict(set)
    for zone in site.zones.values():
        for laying in zone.laid:
            if laying.withdrawn is None and zone.withdrawn is None:
                found[laying.lot_id].add(zone.letter)
    return found


def _worked_in(site: Site) -> dict[str, set[str]]:
    """Letters of the zones whose work names a lot, by the lot's number."""
    found: dict[str, set[str]] = defaultdict(set)
    for number, zone_id, _ in lots_named(site):
        if site.zones[zone_id].withdrawn is None:
            found[number].add(site.zones[zone_id].letter)
    return found


def stray_lots(site: Site) -> tuple[StrayLot, ...]:
    """Lot numbers that standing work names and nobody received."""
    received = {lot.number for lot in site.lots.values() if lot.withdrawn is None}
    found: dict[str, list[str]] = defaultdict(list)
    for number, _, tag in lots_named(site):
        if number and number not in received:
            found[number].append(tag)
    return tuple(StrayLot(number, tuple(dict.fromkeys(tags))) for number, tags in sorted(found.items()))


def _class(material: Material) -> str:
    if material.kind != FILM:
        return ""
    return class_of(material.permeance_up, material.tensile_mlbf_in, material.puncture_g) or tr(NO_CLASS)


def _permeance(material: Material, units: Units) -> str:
    if material.kind != FILM:
        return ""
    return tr(NOT_STATED) if material.permeance_up is None else say_permeance(material.permeance_up, units)


def _thickness(material: Material, units: Units) -> str:
    if material.kind != FILM:
        return ""
    return tr(NOT_STATED) if material.thickness_nm is None else say_thickness(material.thickness_nm, units)


def _stated(material: Material, units: Units) -> Iterator[tuple[str, str]]:
    """What its maker states beside permeance and thickness; of film what is not stated too."""
    film = material.kind == FILM
    if film or material.claimed_class:
        yield tr("Class claimed"), material.claimed_class or trc("class", "none")
    for term, amount, say in (
        (later("Tension"), material.tensile_mlbf_in, lambda n: say_tensile(n, units)),
        (later("Puncture"), material.puncture_g, say_puncture),
        (later("Roll width"), material.roll_width_nm, lambda n: say_run(n, units)),
        (later("Roll length"), material.roll_length_nm, lambda n: say_run(n, units)),
        (later("Maker's least lap"), material.least_lap_nm, lambda n: say_length(n, units, "up")),
        (
            later("Maker's least patch overlap"),
            material.least_patch_overlap_nm,
            lambda n: say_length(n, units, "up"),
        ),
        (
            later("Maker's least temperature"),
            material.least_mf,
            lambda n: say_temperature(n, units, down=False),
        ),
    ):
        if amount is not None or (film and term in ("Tension", "Puncture", "Maker's least lap")):
            yield tr(term), tr(NOT_STATED) if amount is None else say(amount)


def _stands(site: Site, material: Material) -> str:
    """How film stands against the project's rule sheet; tape and mastic are not judged."""
    assert site.project is not None, "materials are submitted to a project"
    if material.kind != FILM:
        return tr("not judged: the rule sheet asks for film by class, not for this")
    faults = film_faults(material, Numbers.of(site.project.sheet))
    return tr("below the rule sheet: {why}", why=say_faults(faults)) if faults else tr("meets the rule sheet")


def laid_told(site: Site, zone: Zone, stands: Stands, acts: Acts) -> tuple[LaidTold, ...]:
    """Film logged as laid in the zone, in the order laid, what was taken back too."""
    found = []
    for laying in zone.laid:
        lot = site.lots[laying.lot_id]
        material, thing = site.materials[lot.material_id], stands.get((FILM_LOT, laying.id))
        found.append(
            LaidTold(
                number=lot.number,
                material=material.name,
                shown_class=_class(material),
                permeance=_permeance(material, acts.units),
                thickness=_thickness(material, acts.units),
                state=thing.state if thing else "laid",
                faults=say_faults(thing.faults) if thing else "",
                note=laying.note,
                act=acts.signed(laying.signed),
                undone=acts.undone("laying", laying.id, laying.withdrawn),
            )
        )
    return tuple(found)
