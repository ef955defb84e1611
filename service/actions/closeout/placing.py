"""What was measured on a zone's placing day, for the closeout: the weather read, and the slab's thickness."""

from __future__ import annotations

from service.actions.closeout.acts import Acts
from service.actions.placing.placing_day import limit_of_plan, thickness_verdict, weather_of
from service.domain.nouns.placing import PlacingPlan, Thickness
from service.domain.nouns.site import Site, Zone
from service.domain.placing.thickness import FAULT_WORDS
from service.domain.weather.chart import day_chart
from service.domain.weather.texts import say_rate
from service.domain.words.measures import Units, say_length
from service.domain.words.speech import tr
from service.history.closeout.told import DepthTold, Size, ThicknessTold, WeatherTold


def weather_told(site: Site, zone: Zone, units: Units) -> WeatherTold | None:
    """The readings that stand; the highest estimate is of those that tell the concrete's temperature."""
    taken = sorted(
        (of for of in site.readings.values() if of.zone_id == zone.id), key=lambda of: of.signed.seq
    )
    read = weather_of(tuple(taken))
    if not read:
        return None
    worst = day_chart(read, limit_of_plan(site.placing_plans.get(zone.id)), units).worst
    rate = worst.rate if worst is not None else None
    return WeatherTold(
        len(read),
        read[0].at,
        read[-1].at,
        say_rate(rate.worse, units) if rate is not None else "",
        worst.at if worst is not None else None,
    )


def slab_told(site: Site, zone: Zone, acts: Acts) -> ThicknessTold | None:
    """The thickness readings that stand, judged together against the plan as it is."""
    plan = site.placing_plans.get(zone.id)
    standing = tuple(
        sorted(
            (of for of in site.thicknesses.values() if of.zone_id == zone.id and of.withdrawn is None),
            key=lambda of: of.signed.seq,
        )
    )
    if not standing:
        return None
    verdict = thickness_verdict(plan, standing)
    return ThicknessTold(
        asked=_asked(plan, acts),
        planned=acts.signed(plan.signed) if plan is not None else None,
        average=acts.down(verdict.average_nm) if verdict else None,
        thinnest=acts.down(verdict.thinnest_nm) if verdict else None,
        meets=verdict.meets if verdict else None,
        faults="; ".join(tr(FAULT_WORDS[code]) for code in verdict.faults) if verdict else "",
        readings=tuple(_depth(of, n, acts) for of in standing for n in range(len(of.readings))),
    )


def _asked(plan: PlacingPlan | None, acts: Acts) -> Size | None:
    """As the plan has it, neither rounded up nor down."""
    return Size(plan.thickness_nm, say_length(plan.thickness_nm, acts.units)) if plan is not None else None


def _depth(of: Thickness, number: int, acts: Acts) -> DepthTold:
    reading = of.readings[number]
    return DepthTold(acts.down(reading.depth_nm), reading.where, of.note, acts.signed(of.signed))
