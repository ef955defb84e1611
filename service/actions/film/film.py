"""Film, tape and mastic by lot: submit a material, receive lots, log where each was laid, take any back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sqlmodel import Session

from service.actions.film.material_reading import read_material
from service.actions.frame.desk import Desk
from service.actions.frame.doing import project_to_change, record, words, zone_to_change
from service.domain.nouns.installed import FILM, Laying, Lot, Material
from service.domain.nouns.rules import RuleSheet
from service.domain.nouns.site import Site, Zone
from service.domain.patches.repair import Numbers
from service.domain.rule_sheet.effective import films_laid
from service.domain.rule_sheet.film_class import class_of, film_faults
from service.domain.rule_sheet.material_texts import missing_from
from service.domain.words.refusals import BadInput, Conflict, NotFound
from service.domain.words.speech import later, tr
from service.history.facts.film import (
    LayingWithdrawn,
    LotLaid,
    LotReceived,
    LotWithdrawn,
    MaterialSubmitted,
    MaterialWithdrawn,
)
from service.storage.history import slices
from service.storage.history.seen import SeenProject, lot_seen_by, material_seen_by, names_in, project_seen_by

LONGEST_NUMBER = 60
MOST_ROLLS = 10_000
NUMBER_NEEDED = later("Write the lot's number as it is printed.")


# --- looking ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class FilmView:
    """A project's materials and lots, and its zones with what was laid. `names`: person id to name."""

    seen: SeenProject
    site: Site
    names: dict[str, str]

    def materials(self) -> list[Material]:
        """In the order submitted, withdrawn ones too."""
        return sorted(self.site.materials.values(), key=lambda material: material.signed.seq)

    def lots(self, material_id: str = "") -> list[Lot]:
        """In the order received, withdrawn ones too; of one material where it is named."""
        return lots_of(self.site, material_id)

    def zones_with(self, lot_id: str) -> list[Zone]:
        """The zones in which a lot is logged as laid, by letter."""
        found = [
            zone
            for zone in self.site.zones.values()
            if zone.withdrawn is None and any(x.lot_id == lot_id and x.withdrawn is None for x in zone.laid)
        ]
        return sorted(found, key=lambda zone: (len(zone.letter), zone.letter))


@dataclass(frozen=True, slots=True)
class Judged:
    """A material against a sheet: the class its numbers reach, its faults as codes, what is not stated."""

    reached: str
    faults: tuple[str, ...]
    missing: tuple[str, ...]


def film_view(desk: Desk, by: str, project_id: str) -> FilmView:
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        return FilmView(seen, slices.film_site(session, project_id), names_in(session, project_id))


def material_view(desk: Desk, by: str, material_id: str) -> tuple[FilmView, Material]:
    """A material within its project."""
    with desk.reading() as session:
        seen, material = material_seen_by(session, by, material_id)
    return film_view(desk, by, seen.project.id), material


def lot_view(desk: Desk, by: str, lot_id: str) -> tuple[FilmView, Lot]:
    """A lot within its project."""
    with desk.reading() as session:
        seen, lot = lot_seen_by(session, by, lot_id)
    return film_view(desk, by, seen.project.id), lot


def lots_of(site: Site, material_id: str = "") -> list[Lot]:
    """The lots of a site in the order received; of one material where it is named."""
    found = [lot for lot in site.lots.values() if material_id in ("", lot.material_id)]
    return sorted(found, key=lambda lot: lot.signed.seq)


def judged(material: Material, sheet: RuleSheet) -> Judged:
    """How a material stands against a sheet. Only film is judged; tape and mastic have no class."""
    numbers = Numbers.of(sheet)
    missing = missing_from(material, numbers)
    if material.kind != FILM:
        return Judged("", ("material-withdrawn",) if material.withdrawn is not None else (), missing)
    reached = class_of(material.permeance_up, material.tensile_mlbf_in, material.puncture_g)
    return Judged(reached, film_faults(material, numbers), missing)


def two_films(site: Site, zone: Zone) -> tuple[str, ...]:
    """The names of the zone's films where different film was laid in it; nothing where it is one or none."""
    films = films_laid(site, zone)
    return tuple(material.name for material in films) if len(films) > 1 else ()


# --- materials -------------------------------------------------------------------------------------------


def submit_material(desk: Desk, by: str, project_id: str, given: Mapping[str, str | None]) -> Material:
    """A material as its maker's papers tell it, by the names of `material_reading.FIELDS`. One that is below
    the sheet is kept all the same, and holds where it is laid."""
    read = read_material(given)
    stated = read.stated
    with desk.writing() as session:
        seen, site = _film_to_change(session, by, project_id, "submit a material")
        fact = MaterialSubmitted(
            desk.new_id(), read.kind, read.name, read.claimed_class, stated["permeance"], stated["thickness"],
            stated["tensile"], stated["puncture"], stated["roll_width"], stated["roll_length"],
            stated["least_lap"], stated["least_patch_overlap"], stated["least_temperature"], read.note,
        )  # fmt: skip
        record(desk, session, site, by, seen.role, fact)
    return site.materials[fact.material]


def withdraw_material(desk: Desk, by: str, material_id: str, reason: str) -> Material:
    """Take a material back. Zones in which it was laid are held from then on."""
    reason = words(reason, "reason", needed=tr("Say why the material is withdrawn."))
    with desk.writing() as session:
        within, _ = material_seen_by(session, by, material_id)
        seen, site = _film_to_change(session, by, within.project.id, "withdraw a material")
        material = site.materials[material_id]
        if material.withdrawn is not None:
            raise Conflict(tr("That material is withdrawn already."), code="withdrawn-already")
        record(desk, session, site, by, seen.role, MaterialWithdrawn(material_id, material.name, reason))
    return site.materials[material_id]


def _film_to_change(session: Session, by: str, project_id: str, action: str) -> tuple[SeenProject, Site]:
    """The project with its materials and lots, read under the head's lock."""
    seen, _ = project_to_change(session, by, project_id, action)
    return seen, slices.film_site(session, project_id)


# --- lots ------------------------------------------------------------------------------------------------


def receive_lot(desk: Desk, by: str, material_id: str, number: str, rolls: int = 1, note: str = "") -> Lot:
    """A lot came to the site. `number` as printed on it; it may not repeat within a material."""
    with desk.writing() as session:
        within, _ = material_seen_by(session, by, material_id)
        seen, site = _film_to_change(session, by, within.project.id, "receive a lot")
        fact = _received(desk, site, material_id, number, rolls, note)
        record(desk, session, site, by, seen.role, fact)
    return site.lots[fact.lot]


def _received(desk: Desk, site: Site, material_id: str, number: str, rolls: int, note: str) -> LotReceived:
    """The fact of a lot received, every field checked."""
    faults: dict[str, str] = {}
    material = site.materials.get(material_id)
    if material is None:
        faults["material"] = tr("Choose one of this project's materials.")
    elif material.withdrawn is not None:
        faults["material"] = tr(
            "{material} was withdrawn: {reason}", material=material.name, reason=material.withdrawn
        )
    number = " ".join(number.split())
    if not number:
        faults["number"] = tr(NUMBER_NEEDED)
    elif len(number) > LONGEST_NUMBER or "\x00" in number:
        faults["number"] = tr("A lot's number has at most {most} characters.", most=LONGEST_NUMBER)
    elif any(
        lot.number.casefold() == number.casefold() and lot.withdrawn is None
        for lot in lots_of(site, material_id)
    ):
        faults["number"] = tr("Lot {number} of this material was received already.", number=number)
    if not 1 <= rolls <= MOST_ROLLS:
        faults["rolls"] = tr("Write how many rolls came, 1 to {most}.", most=f"{MOST_ROLLS:,}")
    try:
        note = words(note, "note")
    except BadInput as bad:
        faults["note"] = bad.message
    if faults:
        told = tr("The lot was not received: {faults}", faults=" ".join(faults.values()))
        raise BadInput(told, fields=faults)
    return LotReceived(desk.new_id(), material_id, number, rolls, note)


def withdraw_lot(desk: Desk, by: str, lot_id: str, reason: str) -> Lot:
    """Take a lot back. Zones in which it was laid, and patches cut from it, are judged without it."""
    reason = words(reason, "reason", needed=tr("Say why the lot is withdrawn."))
    with desk.writing() as session:
        within, _ = lot_seen_by(session, by, lot_id)
        seen, site = _film_to_change(session, by, within.project.id, "withdraw a lot")
        lot = site.lots[lot_id]
        if lot.withdrawn is not None:
            raise Conflict(tr("That lot is withdrawn already."), code="withdrawn-already")
        fact = LotWithdrawn(lot_id, lot.material_id, lot.number, reason)
        record(desk, session, site, by, seen.role, fact)
    return site.lots[lot_id]


# --- which lot went where --------------------------------------------------------------------------------


def lay_lot(desk: Desk, by: str, zone_id: str, lot_id: str, note: str = "") -> Laying:
    """Log that a lot was laid in a zone. It is kept whatever its material lacks: the zone is then held."""
    note = words(note, "note")
    with desk.writing() as session:
        seen, site = zone_to_change(session, by, zone_id, "log film laid")
        lot = site.lots.get(lot_id)
        if lot is None:
            told = tr("Choose one of the lots received on this project.")
            raise BadInput(told, fields={"lot": told})
        if any(x.lot_id == lot_id and x.withdrawn is None for x in seen.zone.laid):
            told = tr(
                "Lot {number} is logged as laid in zone {letter} already.",
                number=lot.number,
                letter=seen.zone.letter,
            )
            raise Conflict(told, code="laid-already")
        fact = LotLaid(desk.new_id(), lot_id, zone_id, seen.zone.letter, lot.number, note)
        record(desk, session, site, by, seen.role, fact)
    return site.zones[zone_id].laid[-1]


def receive_and_lay(
    desk: Desk, by: str, zone_id: str, material_id: str, number: str, rolls: int = 1, note: str = ""
) -> Laying:
    """A lot that nobody has received yet, received and logged as laid here, both or neither."""
    with desk.writing() as session:
        seen, site = zone_to_change(session, by, zone_id, "receive a lot")
        fact = _received(desk, site, material_id, number, rolls, note)
        record(desk, session, site, by, seen.role, fact)
        return lay_lot(desk, by, zone_id, fact.lot)


def withdraw_laying(desk: Desk, by: str, zone_id: str, laying_id: str, reason: str) -> Laying:
    """Take back that a lot was laid in a zone."""
    reason = words(reason, "reason", needed=tr("Say why it is taken back."))
    with desk.writing() as session:
        seen, site = zone_to_change(session, by, zone_id, "withdraw film laid")
        laying = laying_in(seen.zone, laying_id)
        if laying.withdrawn is not None:
            raise Conflict(tr("That is withdrawn already."), code="withdrawn-already")
        number = site.lots[laying.lot_id].number
        fact = LayingWithdrawn(laying_id, laying.lot_id, zone_id, seen.zone.letter, number, reason)
        record(desk, session, site, by, seen.role, fact)
    return laying_in(site.zones[zone_id], laying_id)


def laying_in(zone: Zone, laying_id: str) -> Laying:
    """One laying of the zone; NotFound where there is no such."""
    found = next((laying for laying in zone.laid if laying.id == laying_id), None)
    if found is None:
        raise NotFound
    return found
