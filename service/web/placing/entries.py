"""Every entry of a placing day's readings in one line: what was read, by whom, and how to take it back."""

from __future__ import annotations

from dataclasses import dataclass

from service.actions.placing.placing_day import PlacingDay
from service.actions.placing.weather_files import PASTED
from service.domain.nouns import roles
from service.domain.nouns.installed import Signed
from service.domain.nouns.placing import Readings, Thickness
from service.domain.words.measures import Units, say_length
from service.domain.words.speech import tr
from service.web.placing.words import measured
from service.web.serving.render import moment


@dataclass(frozen=True, slots=True)
class ReadingsLine:
    """One entry of readings: what, its file where it came in one, by whom and when, and taking it back."""

    words: str
    source: str
    who: str
    withdrawn: str
    href: str


def weather_lines(day_of: PlacingDay, person_id: str) -> tuple[ReadingsLine, ...]:
    """Every entry of weather readings, the newest first."""
    found = reversed(day_of.readings)
    return tuple(
        _line(day_of, of, _weather_words(of, day_of), _source(of), "readings", person_id) for of in found
    )


def _source(of: Readings) -> str:
    return tr(PASTED) if of.source == PASTED else of.source


def _weather_words(of: Readings, day_of: PlacingDay) -> str:
    project = day_of.view.seen.project
    if len(of.readings) == 1:
        (one,) = of.readings
        told = ", ".join(f"{name}: {words}" for name, words in measured(one, project.units)[:5])
        return f"{moment(one.at, project.time_zone)}. {told}"
    first, last = (moment(of.readings[at].at, project.time_zone) for at in (0, -1))
    return tr("{n} readings, {first} to {last}", n=f"{len(of.readings):,}", first=first, last=last)


def thickness_lines(day_of: PlacingDay, person_id: str) -> tuple[ReadingsLine, ...]:
    """Every entry of thickness readings, the newest first."""
    units = day_of.view.seen.project.units
    return tuple(
        _line(day_of, of, _depths(of, units), "", "thickness", person_id)
        for of in reversed(day_of.thicknesses)
    )


def _depths(of: Thickness, units: Units) -> str:
    return "; ".join(
        say_length(each.depth_nm, units) + (f" ({each.where})" if each.where else "") for each in of.readings
    )


def _line(
    day_of: PlacingDay, of: Readings | Thickness, words: str, source: str, path: str, person_id: str
) -> ReadingsLine:
    gone = of.withdrawn is not None
    return ReadingsLine(
        words,
        source,
        _who(day_of, of.signed, of.note),
        tr("Withdrawn: {reason}", reason=of.withdrawn) if gone else "",
        "" if gone or not _may_withdraw(day_of, of.signed, person_id) else f"/{path}/{of.id}/withdraw",
    )


def _may_withdraw(day_of: PlacingDay, signed: Signed, person_id: str) -> bool:
    return roles.may_withdraw(day_of.view.seen.role, person_id, signed.by, signed.role)


def _who(day_of: PlacingDay, signed: Signed, note: str) -> str:
    view = day_of.view
    who = view.names.get(signed.by, tr("a person no longer named"))
    told = tr("{who}, {when}", who=who, when=moment(signed.at, view.seen.project.time_zone))
    return f"{told}: {note}" if note else told
