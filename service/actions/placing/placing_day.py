"""A zone's placing day: how it is planned, the weather readings taken for it, its slab's thickness.

Guidance only: no rule of the gate reads any of it, so nothing here holds a zone or sets one free.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlmodel import Session

from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow, record, words, zone_to_change
from service.actions.frame.reading import ZoneView, zone_view
from service.actions.placing.readings_entry import read_plan, read_reading
from service.actions.placing.thickness_entry import read_thickness
from service.domain.gate.zone_facts import nm_per_px
from service.domain.nouns import roles
from service.domain.nouns.installed import Signed
from service.domain.nouns.placing import PlacingPlan, Readings, Thickness, WeatherReading
from service.domain.nouns.site import Site
from service.domain.placing import concrete
from service.domain.placing.thickness import ThicknessVerdict, judge
from service.domain.sketch.zones import area_m2
from service.domain.weather import evaporation
from service.domain.words.refusals import Conflict, NotAllowed
from service.domain.words.speech import tr
from service.history.facts.placing import (
    PlacingPlanned,
    ReadingsTaken,
    ReadingsWithdrawn,
    ThicknessMeasured,
    ThicknessWithdrawn,
)
from service.storage.history import onto
from service.storage.history.seen import SeenProject, SeenZone, readings_seen_by, thickness_seen_by


@dataclass(frozen=True, slots=True)
class PlacingDay:
    """A zone with its placing plan and all that was read for it, withdrawn too, oldest entry first."""

    view: ZoneView
    plan: PlacingPlan | None
    readings: tuple[Readings, ...]
    thicknesses: tuple[Thickness, ...]

    def weather(self) -> tuple[WeatherReading, ...]:
        """Every reading that stands, by its time; of one moment the one logged last comes last."""
        return weather_of(self.readings)

    def limit(self) -> evaporation.Limit:
        """The limit chosen for the mix, or the more careful one that is offered first."""
        return limit_of_plan(self.plan)

    def area_m2(self) -> float | None:
        """The zone's area; None on a sketch without a scale."""
        scale = self.view.seen.sketch.scale
        return area_m2(self.view.zone.outline, nm_per_px(scale)) if scale is not None else None

    def verdict(self) -> ThicknessVerdict | None:
        """The slab's readings against the plan; None where no thickness is planned or nothing was read."""
        return thickness_verdict(self.plan, self.thicknesses)


def weather_of(readings: tuple[Readings, ...]) -> tuple[WeatherReading, ...]:
    """The readings of those that stand, by their time. `readings`: oldest entry first."""
    standing = (reading for of in readings if of.withdrawn is None for reading in of.readings)
    return tuple(sorted(standing, key=lambda reading: reading.at))


def limit_of_plan(plan: PlacingPlan | None) -> evaporation.Limit:
    return evaporation.LIMITS[plan.limit] if plan is not None else next(iter(evaporation.LIMITS.values()))


def thickness_verdict(
    plan: PlacingPlan | None, thicknesses: tuple[Thickness, ...]
) -> ThicknessVerdict | None:
    """All standing readings of a slab judged together; None where there is nothing to judge, or by."""
    read = [each.depth_nm for of in thicknesses if of.withdrawn is None for each in of.readings]
    return judge(read, plan.thickness_nm) if plan is not None and read else None


def placing_day(desk: Desk, by: str, zone_id: str) -> PlacingDay:
    """The zone's placing day, as one person of the project sees it."""
    with desk.reading() as session:
        view = zone_view(desk, by, zone_id)
        onto.put_placing(session, view.site, zone_id)
    return of_site(view)


def of_site(view: ZoneView) -> PlacingDay:
    site = view.site
    return PlacingDay(
        view,
        site.placing_plans.get(view.zone.id),
        tuple(sorted(site.readings.values(), key=lambda of: of.signed.seq)),
        tuple(sorted(site.thicknesses.values(), key=lambda of: of.signed.seq)),
    )


def concrete_of(day: PlacingDay) -> concrete.ConcretePlan | None:
    """What the plan takes; None without a plan or an area. BadConcrete where it is more loads than can be."""
    plan, area = day.plan, day.area_m2()
    if plan is None or area is None:
        return None
    units = day.view.seen.project.units
    return concrete.plan(area, plan.thickness_nm, plan.allowance_mpct, plan.truck, plan.rate, units)


# --- doing ------------------------------------------------------------------------------------------------


def zone_with_placing(session: Session, by: str, zone_id: str, action: str) -> tuple[SeenZone, Site]:
    """The zone to change, with its plan and readings, under the head's lock."""
    seen, site = zone_to_change(session, by, zone_id, action)
    onto.put_placing(session, site, zone_id)
    return seen, site


def plan_placing(desk: Desk, by: str, zone_id: str, given: Mapping[str, Any]) -> PlacingPlan:
    """Set the whole plan of a zone's placing. A field left out is as if left empty."""
    with desk.writing() as session:
        seen, site = zone_with_placing(session, by, zone_id, "plan a placing")
        of = read_plan(given)
        fact = PlacingPlanned(
            zone_id, seen.zone.letter, of.thickness_nm, of.allowance_mpct, of.truck, of.rate, of.limit, of.mix
        )
        record(desk, session, site, by, seen.role, fact)
    return site.placing_plans[zone_id]


def take_reading(desk: Desk, by: str, zone_id: str, given: Mapping[str, Any]) -> Readings:
    """Log one reading by hand. With no time given it is of now; of what waited on a phone, of when it was
    kept there, as the phone tells and never later than now."""
    with desk.writing() as session:
        seen, site = zone_with_placing(session, by, zone_id, "take readings")
        now = desk.clock()
        told = desk.phone.device_at if desk.phone is not None else None
        if given.get("at") is None and told is not None:
            given = {**given, "at": min(told, now)}
        entry = read_reading(given, now)
        fact = ReadingsTaken(desk.new_id(), zone_id, seen.zone.letter, "", (entry.reading,), entry.note)
        record(desk, session, site, by, seen.role, fact)
    return site.readings[fact.readings]


def withdraw_readings(desk: Desk, by: str, readings_id: str, reason: str) -> Readings:
    """Take readings back. They stay in the history with the reason."""
    reason = words(reason, "reason", needed=tr("Say why the readings are withdrawn."))
    with desk.writing() as session:
        _, found = readings_seen_by(session, by, readings_id)
        seen, site = zone_with_placing(session, by, found.zone_id, "withdraw readings")
        found = site.readings[readings_id]
        allow_withdrawing(seen, by, found.signed)
        _still_stands(found.withdrawn)
        fact = ReadingsWithdrawn(readings_id, found.zone_id, seen.zone.letter, reason)
        record(desk, session, site, by, seen.role, fact)
    return site.readings[readings_id]


def measure_thickness(desk: Desk, by: str, zone_id: str, given: Mapping[str, Any]) -> Thickness:
    """Log thickness readings of the zone's slab, taken together."""
    with desk.writing() as session:
        seen, site = zone_with_placing(session, by, zone_id, "take readings")
        entry = read_thickness(given)
        fact = ThicknessMeasured(desk.new_id(), zone_id, seen.zone.letter, entry.readings, entry.note)
        record(desk, session, site, by, seen.role, fact)
    return site.thicknesses[fact.thickness]


def withdraw_thickness(desk: Desk, by: str, thickness_id: str, reason: str) -> Thickness:
    """Take thickness readings back. They stay in the history with the reason."""
    reason = words(reason, "reason", needed=tr("Say why the readings are withdrawn."))
    with desk.writing() as session:
        _, found = thickness_seen_by(session, by, thickness_id)
        seen, site = zone_with_placing(session, by, found.zone_id, "withdraw readings")
        found = site.thicknesses[thickness_id]
        allow_withdrawing(seen, by, found.signed)
        _still_stands(found.withdrawn)
        fact = ThicknessWithdrawn(thickness_id, found.zone_id, seen.zone.letter, reason)
        record(desk, session, site, by, seen.role, fact)
    return site.thicknesses[thickness_id]


def allow_withdrawing(seen: SeenProject, by: str, signed: Signed) -> None:
    """NotAllowed unless this person may take back what was signed so."""
    allow(seen, "withdraw readings")
    if not roles.may_withdraw(seen.role, by, signed.by, signed.role):
        raise NotAllowed(tr("Readings are withdrawn by whoever took them, or by the project manager."))


def _still_stands(withdrawn: str | None) -> None:
    if withdrawn is not None:
        told = tr("These readings were withdrawn: {reason}. Nothing was recorded.", reason=withdrawn)
        raise Conflict(told, code="readings-withdrawn")


def readings_day(desk: Desk, by: str, readings_id: str) -> tuple[PlacingDay, Readings]:
    """Readings within the placing day of their zone."""
    with desk.reading() as session:
        _, found = readings_seen_by(session, by, readings_id)
    return placing_day(desk, by, found.zone_id), found


def thickness_day(desk: Desk, by: str, thickness_id: str) -> tuple[PlacingDay, Thickness]:
    """Thickness readings within the placing day of their zone."""
    with desk.reading() as session:
        _, found = thickness_seen_by(session, by, thickness_id)
    return placing_day(desk, by, found.zone_id), found
