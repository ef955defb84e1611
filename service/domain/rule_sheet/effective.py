"""The numbers as they hold in one zone: the strictest of the sheet's, the zone's and its materials'."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from service.domain.nouns.installed import FILM, Lot, Material, Raised
from service.domain.nouns.rules import STRICTER_IS_LESS, Factor, Number, RuleSheet, Temperature
from service.domain.nouns.site import Site, Zone
from service.domain.words.speech import tr

Rule = Number | Factor | Temperature


def sheet_in(site: Site, zone: Zone) -> RuleSheet:
    """The project's sheet as it holds in the zone. A zone or a material only ever asks more."""
    assert site.project is not None, "a zone without its project"
    sheet = site.project.sheet
    more: dict[str, Rule] = {}
    for raised in (*zone.raised, *_of_materials(materials_laid(site, zone))):
        rule: Rule = more.get(raised.name) or getattr(sheet, raised.name)
        more[raised.name] = stricter(raised.name, rule, raised)
    return replace(sheet, **more) if more else sheet  # type: ignore[arg-type]  # by name, kind for kind


def stricter(name: str, rule: Rule, raised: Raised) -> Rule:
    """The rule, or what was raised where that asks more."""
    value = value_of(rule)
    if name in STRICTER_IS_LESS:
        # No spacing of stations is the laxest; no mastic at all the strictest.
        lax = name == "station_every"
        more = (raised.value < value or (lax and value == 0)) and not (lax and raised.value == 0)
    else:
        more = raised.value > value
    return type(rule)(raised.value, raised.source) if more else rule


def value_of(rule: Rule) -> int:
    """A number of the sheet in its own unit: nanometres, thousandths, or thousandths of a degree."""
    match rule:
        case Number(nm):
            return nm
        case Factor(thousandths):
            return thousandths
        case Temperature(mf):
            return mf


def _of_materials(materials: Iterable[Material]) -> Iterator[Raised]:
    for material in materials:
        yield from asked_by(material)


def asked_by(material: Material) -> Iterator[Raised]:
    """What a material's maker asks of it, as far as it is stated."""
    source = tr("{material}: its maker's own", material=material.name)
    for name, value in (
        ("lap", material.least_lap_nm),
        ("patch_overlap", material.least_patch_overlap_nm),
        ("tape_temperature", material.least_mf),
    ):
        if value is not None:
            yield Raised(name, value, source)


def lots_laid(site: Site, zone: Zone) -> list[Lot]:
    """The lots whose laying in the zone stands, in the order laid; the lots themselves may be withdrawn."""
    return [site.lots[laying.lot_id] for laying in zone.laid if laying.withdrawn is None]


def materials_laid(site: Site, zone: Zone) -> list[Material]:
    """What the zone's lots are of, each once, in the order laid."""
    return list({lot.material_id: site.materials[lot.material_id] for lot in lots_laid(site, zone)}.values())


def films_laid(site: Site, zone: Zone) -> list[Material]:
    """The zone's film: more than one only where different film was laid in it."""
    return [material for material in materials_laid(site, zone) if material.kind == FILM]
