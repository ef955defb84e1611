"""Folds layouts, orders, readings and the start of a placing into the site."""

from __future__ import annotations

from dataclasses import replace

from service.domain.nouns.installed import Signed
from service.domain.nouns.placing import (
    Layout,
    OrderPlan,
    Placing,
    PlacingPlan,
    Readings,
    SheetsLaying,
    Thickness,
)
from service.domain.nouns.site import Noun, Site
from service.history.facts import placing as p
from service.history.facts.entries import Entry

_Layouts = p.LayoutKept | p.LayoutWithdrawn | p.SheetsLaid | p.SheetsLaidWithdrawn
_Plans = p.OrderPlanned | p.PlacingPlanned | p.PlacingStarted
_Readings = p.ReadingsTaken | p.ReadingsWithdrawn | p.ThicknessMeasured | p.ThicknessWithdrawn
Placed = _Layouts | _Plans | _Readings


def placing(site: Site, entry: Entry, fact: Placed) -> Noun:
    """The new version of the noun that such an entry changes."""
    signed = Signed(entry.by, entry.role, entry.at, entry.seq)
    if isinstance(fact, _Layouts):
        return _layout(site, fact, signed)
    if isinstance(fact, _Plans):
        return _plan(site, entry, fact, signed)
    return _readings(site, fact, signed)


def _layout(site: Site, fact: _Layouts, signed: Signed) -> Layout:
    match fact:
        case p.LayoutKept():
            return Layout(
                fact.layout, fact.sketch, fact.zones, fact.material, fact.roll_width_nm, fact.roll_length_nm,
                fact.side_lap_nm, fact.end_lap_nm, fact.direction_udeg, fact.starts, fact.offset_nm,
                fact.past, fact.openings, fact.by_hand, fact.sheets, fact.seams, fact.film_mm2,
                fact.seam_nm, (), signed, None,
            )  # fmt: skip
        case p.LayoutWithdrawn():
            return replace(site.layouts[fact.layout], withdrawn=fact.reason)
        case p.SheetsLaid():
            old = site.layouts[fact.layout]
            laying = SheetsLaying(fact.laying, fact.sheets, fact.lot, fact.zone, fact.note, signed, None)
            return replace(old, laid=(*old.laid, laying))
        case p.SheetsLaidWithdrawn():
            old = site.layouts[fact.layout]
            return replace(
                old,
                laid=tuple(replace(x, withdrawn=fact.reason) if x.id == fact.laying else x for x in old.laid),
            )


def _plan(site: Site, entry: Entry, fact: _Plans, signed: Signed) -> Noun:
    match fact:
        case p.OrderPlanned():
            return OrderPlan(
                entry.project, fact.material, fact.film_allowance_mpct, fact.tape_allowance_mpct,
                fact.repairs_per_1000ft2_m, fact.stock, fact.deliveries, signed,
            )  # fmt: skip
        case p.PlacingPlanned():
            return PlacingPlan(
                fact.zone, fact.zone, fact.thickness_nm, fact.allowance_mpct, fact.truck, fact.rate,
                fact.limit, fact.mix, signed,
            )  # fmt: skip
        case p.PlacingStarted():
            begun = Placing(fact.started_at, entry.by, fact.release, entry.seq)
            return replace(site.zones[fact.zone], placing=begun)


def _readings(site: Site, fact: _Readings, signed: Signed) -> Noun:
    match fact:
        case p.ReadingsTaken():
            return Readings(fact.readings, fact.zone, fact.source, fact.taken, fact.note, signed, None)
        case p.ReadingsWithdrawn():
            return replace(site.readings[fact.readings], withdrawn=fact.reason)
        case p.ThicknessMeasured():
            return Thickness(fact.thickness, fact.zone, fact.taken, fact.note, signed, None)
        case p.ThicknessWithdrawn():
            return replace(site.thicknesses[fact.thickness], withdrawn=fact.reason)
