"""From materials, lots, film laid and a zone's numbers to the contract's answers."""

from __future__ import annotations

from service.actions.film.film import FilmView, judged
from service.actions.frame.reading import ZoneView
from service.actions.office.numbers import origins
from service.api.answers import film as out
from service.api.answers.marks import Reason
from service.api.answers.sites import Length
from service.api.telling import telling
from service.domain.gate.wording import FAULTS
from service.domain.nouns.installed import Laying, Lot, Material
from service.domain.nouns.rules import RAISABLE
from service.domain.rule_sheet.effective import films_laid
from service.domain.rule_sheet.material_texts import say_permeance, say_puncture, say_tensile, say_thickness
from service.domain.rule_sheet.rule_sets import RuleSet
from service.domain.rule_sheet.rule_texts import say_number, say_rule
from service.domain.words.measures import Units, metres, say_length
from service.domain.words.temperatures import say_temperature
from service.history.facts.encoding import time_text


def material(of: Material, view: FilmView) -> out.Material:
    project = view.seen.project
    units, stands = project.units, judged(of, project.sheet)
    return out.Material(
        id=of.id, project=project.id, kind=of.kind, name=of.name, claimed_class=of.claimed_class or None,
        reached_class=stands.reached or None, permeance=_perms(of.permeance_up, units),
        thickness=_thick(of.thickness_nm, units), tensile=_tension(of.tensile_mlbf_in, units),
        puncture=_grams(of.puncture_g), roll_width=telling.maybe_length(of.roll_width_nm, units),
        roll_length=telling.maybe_length(of.roll_length_nm, units),
        least_lap=telling.maybe_length(of.least_lap_nm, units, "up"),
        least_patch_overlap=telling.maybe_length(of.least_patch_overlap_nm, units, "up"),
        least_temperature=_degrees(of.least_mf, units), note=of.note, meets=not stands.faults,
        faults=reasons(stands.faults), missing=list(stands.missing),
        by=view.names.get(of.signed.by, telling.NOBODY), at=time_text(of.signed.at), withdrawn=of.withdrawn,
    )  # fmt: skip


def reasons(faults: tuple[str, ...]) -> list[Reason]:
    return [Reason(code=code, text=FAULTS[code]) for code in faults]


def _perms(up: int | None, units: Units) -> out.Amount | None:
    return None if up is None else out.Amount(text=say_permeance(up, units), value=up / 1_000_000)


def _thick(nm: int | None, units: Units) -> Length | None:
    return None if nm is None else Length(text=say_thickness(nm, units), m=metres(nm))


def _tension(mlbf_in: int | None, units: Units) -> out.Amount | None:
    return None if mlbf_in is None else out.Amount(text=say_tensile(mlbf_in, units), value=mlbf_in / 1000)


def _grams(grams: int | None) -> out.Amount | None:
    return None if grams is None else out.Amount(text=say_puncture(grams), value=grams)


def _degrees(mf: int | None, units: Units) -> out.Amount | None:
    if mf is None:
        return None
    return out.Amount(text=say_temperature(mf, units, down=False), value=mf / 1000)


def lot(of: Lot, view: FilmView) -> out.Lot:
    material = view.site.materials[of.material_id]
    return out.Lot(
        id=of.id, material=material.id, material_name=material.name, kind=material.kind, number=of.number,
        rolls=of.rolls, note=of.note, zones=[zone.letter for zone in view.zones_with(of.id)],
        by=view.names.get(of.signed.by, telling.NOBODY), at=time_text(of.signed.at), withdrawn=of.withdrawn,
    )  # fmt: skip


def laying(of: Laying, view: ZoneView) -> out.Laying:
    lot = view.site.lots[of.lot_id]
    material = view.site.materials[lot.material_id]
    gone = ("lot-withdrawn",) if lot.withdrawn is not None else ()
    faults = (*gone, *judged(material, view.seen.project.sheet).faults)
    return out.Laying(
        id=of.id, zone=view.zone.id, lot=lot.id, number=lot.number, material=material.id,
        material_name=material.name, kind=material.kind, note=of.note, faults=reasons(faults),
        by=view.names.get(of.signed.by, telling.NOBODY), at=time_text(of.signed.at), withdrawn=of.withdrawn,
    )  # fmt: skip


def zone_film(view: ZoneView) -> out.ZoneFilm:
    return out.ZoneFilm(
        zone=view.zone.id,
        state=view.standing.state,
        asked_for="film" in view.seen.project.sheet.gate_demands,
        laid=[laying(of, view) for of in view.zone.laid],
        films=[material.name for material in films_laid(view.site, view.zone)],
    )


def rule_set(of: RuleSet) -> out.RuleSet:
    us, metric = of.patch_nm("us"), of.patch_nm("metric")
    thin, thin_metric = of.film_nm("us"), of.film_nm("metric")
    return out.RuleSet(
        key=of.key, name=of.name, lap=_both(of.lap_nm("us"), of.lap_nm("metric")),
        patch_overlap=None if us is None or metric is None else _both(us, metric),
        methods=None if of.methods is None else list(of.methods),
        film_class=of.film_class or None,  # type: ignore[arg-type]  # one of the three, as the sets are written
        film_thickness=_both(thin, thin_metric, thick=True) if thin else None,
        notes=of.notes, source=of.source,
    )  # fmt: skip


def _both(us_nm: int, metric_nm: int, *, thick: bool = False) -> out.BothUnits:
    def told(nm: int, units: Units) -> Length:
        words = say_number("film_thickness", nm, units) if thick else say_length(nm, units)
        return Length(text=words, m=metres(nm))

    return out.BothUnits(us=told(us_nm, "us"), metric=told(metric_nm, "metric"))


def zone_numbers(view: ZoneView) -> out.ZoneNumbers:
    units, sheet = view.seen.project.units, view.seen.project.sheet
    return out.ZoneNumbers(
        zone=view.zone.id,
        state=view.standing.state,
        raised=[raised.name for raised in view.zone.raised],
        numbers={
            name: out.ZoneNumber(
                text=say_rule(sheet, name, units),
                source=getattr(sheet, name).source,
                asked=[
                    out.Asked(who=of.who, text=of.words, source=of.source)
                    for of in origins(view.site, view.zone, name, units)
                ],
            )
            for name in RAISABLE
        },
        sheet=telling.rule_sheet(sheet, units),
    )
