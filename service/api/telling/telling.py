"""From projects, sketches and zones to the contract's answers: units, rounding, today's pixels, names."""

from __future__ import annotations

from datetime import datetime

from service.actions.frame.reading import ZoneView
from service.api.answers import sites as out
from service.domain.gate.during import goes_on
from service.domain.gate.zone_facts import nm_per_px
from service.domain.nouns.placing import Placement
from service.domain.nouns.rules import LENGTHS, Number, RuleSheet, not_asked_for, source_of
from service.domain.nouns.site import Project, Px, Sketch, Zone
from service.domain.rule_sheet.rule_texts import say_rule
from service.domain.sketch.places import from_base, shown
from service.domain.sketch.zones import area_m2, perimeter_nm
from service.domain.words.measures import (
    Toward,
    Units,
    area_json,
    length_json,
    metres,
    say_distance,
    say_perimeter,
)
from service.domain.words.volume import cubic_metres
from service.history.facts.encoding import time_text
from service.history.replay.standing import Standing

NOBODY = "A person no longer named"
NM_PER_M = 1_000_000_000


def length(nm: int, units: Units, toward: Toward = "nearest") -> out.Length:
    return out.Length.model_validate(length_json(nm, units, toward))


def maybe_length(nm: int | None, units: Units, toward: Toward = "nearest") -> out.Length | None:
    return None if nm is None else length(nm, units, toward)


def time(moment: datetime | None) -> str | None:
    return None if moment is None else time_text(moment)


def place(sketch: Sketch, point: Px) -> list[float]:
    """A place in pixels of today's picture."""
    return list(from_base(sketch, point))


# --- projects and sketches -------------------------------------------------------------------------------


def rule_sheet(sheet: RuleSheet, units: Units) -> out.RuleSheet:
    def number(name: str) -> out.SheetNumber:
        of: Number = getattr(sheet, name)
        return out.SheetNumber(text=say_rule(sheet, name, units), m=metres(of.nm), source=of.source)

    factor, warm = sheet.collar_length_factor, sheet.tape_temperature
    film, most = sheet.film_class, sheet.most_permeance
    return out.RuleSheet(
        **{name: number(name) for name in LENGTHS},
        collar_length_factor=out.SheetFactor(
            text=say_rule(sheet, "collar_length_factor", units),
            value=factor.thousandths / 1000,
            source=factor.source,
        ),
        tape_temperature=out.SheetTemperature(
            text=say_rule(sheet, "tape_temperature", units), f=warm.mf / 1000, source=warm.source
        ),
        film_class=out.SheetClass.model_validate(
            {"text": say_rule(sheet, "film_class", units), "class": film.word or None, "source": film.source}
        ),
        most_permeance=out.SheetPermeance(
            text=say_rule(sheet, "most_permeance", units), perm=most.up / 1_000_000, source=most.source
        ),
        repair_methods=list(sheet.repair_methods),
        second_look=sheet.second_look,
        gate_demands=list(sheet.gate_demands),
        hold_points=list(sheet.hold_points),
        sets=list(sheet.sets),
        sources=out.Sources(**{name: source_of(sheet, name) for name in out.Sources.model_fields}),
        not_asked_for=list(not_asked_for(sheet)),
    )


def project(of: Project, role: str) -> out.Project:
    sheet = rule_sheet(of.sheet, of.units)
    return out.Project(
        id=of.id, name=of.name, units=of.units, time_zone=of.time_zone, role=role, rule_sheet=sheet
    )


def px_per_m(of: Sketch) -> float | None:
    """Pixels of today's picture to a metre of ground."""
    return None if of.scale is None else NM_PER_M / nm_per_px(of.scale) * shown(of).scale


def sketch(of: Sketch, project_id: str, units: Units) -> out.Sketch:
    scale = None
    if of.scale is not None:
        ends = {"from": place(of, of.scale.a), "to": place(of, of.scale.b)}
        nm = of.scale.distance_nm
        apart = out.Length(text=say_distance(nm, units), m=nm / NM_PER_M)
        scale = out.Scale.model_validate({**ends, "distance": apart})
    grid = [
        out.GridLine.model_validate({"label": line.label, "from": place(of, line.a), "to": place(of, line.b)})
        for line in of.grid
    ]
    return out.Sketch(
        id=of.id, project=project_id, name=of.name, width_px=of.width_px, height_px=of.height_px,
        page=of.page, revision=of.revision, px_per_m=px_per_m(of), scale=scale, grid=grid,
    )  # fmt: skip


# --- zones -----------------------------------------------------------------------------------------------


def zone(standing: Standing, on: Sketch, project_id: str, units: Units, names: dict[str, str]) -> out.Zone:
    of, area, perimeter = standing.zone, None, None
    if on.scale is not None:
        per_px = nm_per_px(on.scale)
        area = out.Area.model_validate(area_json(area_m2(of.outline, per_px), units))
        nm = perimeter_nm(of.outline, per_px)
        perimeter = out.Length(text=say_perimeter(nm, units), m=nm / NM_PER_M)
    return out.Zone(
        id=of.id, project=project_id, sketch=of.sketch_id, letter=of.letter, name=of.name,
        outline=[place(on, corner) for corner in of.outline], area=area, perimeter=perimeter,
        state=standing.state, place_at=time(of.place_at), walked_at=time(of.walked_at), marks=of.marks,
        placing_since=time(of.placing.started_at) if of.placing is not None and goes_on(of) else None,
        placed=placement(of, names), withdrawn=of.withdrawn,
    )  # fmt: skip


def placement(of: Zone, names: dict[str, str]) -> out.Placement | None:
    placed: Placement | None = of.placement
    if placed is None:
        return None
    volume = out.Volume(text=placed.volume, m3=float(cubic_metres(placed.volume))) if placed.volume else None
    return out.Placement(
        at=time_text(placed.at), by=names.get(placed.by, NOBODY), volume=volume,
        without_release=placed.without_release, blockers=list(placed.blockers),
    )  # fmt: skip


def zone_of(view: ZoneView) -> out.Zone:
    seen = view.seen
    return zone(view.standing, seen.sketch, seen.project.id, seen.project.units, view.names)
