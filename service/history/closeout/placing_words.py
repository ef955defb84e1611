"""What was measured on a zone's placing day, in the closeout's words: guidance then, evidence now."""

from __future__ import annotations

from collections.abc import Iterator

from service.domain.placing.thickness import SOURCE
from service.domain.words.speech import tr, trn
from service.history.closeout.sheet import Row, Table, When, at, by, cell, starting, who
from service.history.closeout.told import ThicknessTold, ZoneTold


def measured_facts(zone: ZoneTold, when: When) -> Iterator[tuple[str, str]]:
    """The slab's thickness with its verdict, and the weather with its highest estimate."""
    if zone.thickness is not None:
        yield tr("Slab thickness"), _thickness(zone.thickness, when)
    weather = zone.weather
    if weather is None:
        return
    told = trn(
        "{n} reading, {first}", "{n} readings, {first} to {last}", weather.count,
        first=when(weather.first), last=when(weather.last),
    )  # fmt: skip
    if weather.highest_at is None:
        yield tr("Weather readings"), tr("{readings}; the concrete's temperature was not read", readings=told)
    else:
        yield (
            tr("Weather readings"),
            tr(
                "{readings}; highest estimate of evaporation {rate}, {when} (a screening guide: the real "
                "rate can lie 40 % either way)",
                readings=told,
                rate=weather.highest,
                when=when(weather.highest_at),
            ),
        )


def _thickness(told: ThicknessTold, when: When) -> str:
    count = trn("{n} reading", "{n} readings", len(told.readings))
    if told.asked is None or told.average is None or told.thinnest is None or told.planned is None:
        return tr("{readings}, and no thickness planned to judge by", readings=count)
    stands = (
        tr("within the tolerance") if told.meets else tr("out of tolerance: {faults}", faults=told.faults)
    )
    return tr(
        "{stands}. {readings} against {asked}, as planned by {who}: average {average}, thinnest {thinnest} "
        "({source})",
        stands=starting(stands),
        readings=count,
        asked=told.asked.text,
        who=by(told.planned, when),
        average=told.average.text,
        thinnest=told.thinnest.text,
        source=tr(SOURCE),
    )


def depth_table(zone: ZoneTold, called: str, when: When) -> Table:
    """A row a place."""
    read = zone.thickness.readings if zone.thickness else ()
    rows = tuple(
        Row(
            (
                cell(each.depth.text),
                cell(each.where or tr("not said"), each.note),
                cell(who(each.act), at(each.act, when)),
            )
        )
        for each in read
    )
    heads = (tr("Thickness"), tr("Where"), tr("Measured by"))
    return Table(tr("Slab thickness as measured, {zone}", zone=called), heads, (0.8, 2.2, 1.8), rows)
