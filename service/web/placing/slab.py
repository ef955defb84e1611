"""The concrete of a placing day and the slab's thickness, in words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from service.actions.placing.placing_day import PlacingDay, concrete_of
from service.actions.placing.readings_entry import mpct_words
from service.domain.placing import concrete
from service.domain.placing.concrete import ConcretePlan, say_volume
from service.domain.placing.thickness import FAULT_WORDS, METRIC_NOTE, SOURCE, ThicknessVerdict
from service.domain.weather.texts import say_rate
from service.domain.words.measures import Units, say_length
from service.domain.words.speech import tr, trn
from service.domain.words.volume import cubic_metres
from service.web.placing.words import Verdict


@dataclass(frozen=True, slots=True)
class ConcreteTold:
    """The concrete of the zone. `facts` empty: `told` says why."""

    facts: tuple[tuple[str, ...], ...]
    told: str
    thin: str


def concrete_told(day_of: PlacingDay) -> ConcreteTold:
    plan = day_of.plan
    if plan is None:
        return ConcreteTold((), tr("No placing is planned for this zone yet."), "")
    if day_of.area_m2() is None:
        return ConcreteTold((), tr("The sketch has no scale yet, so the zone has no area to place on."), "")
    try:
        found = concrete_of(day_of)
    except concrete.BadConcrete as bad:
        return ConcreteTold((), str(bad), "")
    assert found is not None, "a plan and an area give a volume"
    return ConcreteTold(
        tuple(_concrete_rows(day_of, found)),
        "",
        tr("Thinner than 3 1/2 in (89 mm), the least slab of IBC 1910.1: ask the engineer.")
        if found.thin
        else "",
    )


def _concrete_rows(day_of: PlacingDay, found: ConcretePlan) -> Iterable[tuple[str, ...]]:
    plan, units = day_of.plan, day_of.view.seen.project.units
    assert plan is not None, "told of a plan"
    net, allowed = say_volume(found.net, units), say_volume(found.allowed, units)
    yield (
        tr("To order"),
        say_volume(found.ordered, units),
        tr(
            "{net} by area and thickness; with {allowance} % allowance {allowed}; rounded up to a quarter.",
            net=net,
            allowance=mpct_words(plan.allowance_mpct),
            allowed=allowed,
        ),
    )
    yield tr("Slab"), tr("{thickness} thick", thickness=say_length(plan.thickness_nm, units))
    yield from _loads(found, plan.truck, plan.rate, units)
    limit = day_of.limit()
    yield (
        tr("Limit of evaporation"),
        say_rate(float(limit.of(units)), units),
        f"{tr(limit.label)} ({tr(limit.source)})",
    )


def _loads(found: ConcretePlan, truck: str, rate: str, units: Units) -> Iterable[tuple[str, ...]]:
    if found.loads is None or found.last_load is None:
        yield tr("Loads"), tr("not worked out: no truck is planned")
    else:
        carried = say_volume(cubic_metres(truck), units)
        loads = trn("{n} load of {truck}", "{n} loads of {truck}", found.loads, truck=carried)
        yield tr("Loads"), loads, tr("The last has {volume}.", volume=say_volume(found.last_load, units))
    if found.hours is None:
        yield tr("Trucks"), tr("not worked out: no placing rate is planned")
        return
    hourly = say_volume(cubic_metres(rate), units)
    told = tr("At {rate} an hour, about {hours} in all.", rate=hourly, hours=_hours(found.hours))
    if found.minutes_between is None:
        yield tr("Trucks"), told
    else:
        yield tr("Trucks"), tr("one every {n} minutes", n=_minutes(found.minutes_between)), told


def _minutes(minutes: Fraction) -> str:
    """To the half minute, down: no truck stands waiting for what was rounded."""
    halves = minutes * 2 // 1
    return f"{halves / 2:g}"


def _hours(hours: Fraction) -> str:
    whole, minutes = divmod(-(-hours * 60 // 1), 60)
    return tr("{h} h {m} min", h=whole, m=minutes)


# --- thickness --------------------------------------------------------------------------------------------


def thickness_told(day_of: PlacingDay) -> Verdict | None:
    """The slab's readings judged together; None where none stand."""
    read = [each for of in day_of.thicknesses if of.withdrawn is None for each in of.readings]
    if not read:
        return None
    verdict, units = day_of.verdict(), day_of.view.seen.project.units
    if verdict is None or day_of.plan is None:
        told = trn(
            "{n} reading, and no thickness planned to judge it by",
            "{n} readings, and no thickness planned to judge them by",
            len(read),
        )
        return Verdict(told, "", "")
    asked = say_length(day_of.plan.thickness_nm, units)
    small = trn(
        "{n} reading against {asked}: average {average}, thinnest {thinnest}. {source}.",
        "{n} readings against {asked}: average {average}, thinnest {thinnest}. {source}.",
        len(read),
        asked=asked,
        average=say_length(verdict.average_nm, units, "down"),
        thinnest=say_length(verdict.thinnest_nm, units, "down"),
        source=tr(SOURCE),
    )
    note = f" {tr(METRIC_NOTE)}" if units == "metric" else ""
    return Verdict(thickness_words(verdict), small + note, "holds" if verdict.meets else "stop")


def thickness_words(verdict: ThicknessVerdict) -> str:
    """`Within the tolerance`, or every fault."""
    if verdict.meets:
        return tr("Within the tolerance")
    faults = "; ".join(tr(FAULT_WORDS[code]) for code in verdict.faults)
    return tr("Out of tolerance: {faults}", faults=faults)
