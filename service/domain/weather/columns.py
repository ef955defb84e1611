"""What each column of a weather station's table is, and in which unit: known by its heading, or asked.

Headings are told apart by whole words of English and Spanish; nothing is taken by its place.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from service.domain.words.speech import later, tr

DATE, TIME = "date", "time"
AIR, CONCRETE, FILM, HUMIDITY, WIND, RAIN = "air", "concrete", "film", "humidity", "wind", "rain"
NEEDED = (AIR, HUMIDITY, WIND)
FIELDS = (AIR, CONCRETE, FILM, HUMIDITY, WIND, RAIN)
FIELD_NAMES = {
    TIME: later("Time"),
    AIR: later("Air temperature"),
    CONCRETE: later("Concrete temperature"),
    FILM: later("Film temperature"),
    HUMIDITY: later("Humidity"),
    WIND: later("Wind"),
    RAIN: later("Rain"),
}
WHICH_COLUMN = {
    TIME: later("Which column is the time?"),
    AIR: later("Which column is the air temperature?"),
    CONCRETE: later("Which column is the concrete temperature?"),
    FILM: later("Which column is the film temperature?"),
    HUMIDITY: later("Which column is the relative humidity?"),
    WIND: later("Which column is the wind?"),
    RAIN: later("Which column is the rain?"),
}

_UNSURE = "source uncert uncertainty code quality flag quantity min max lo low hi high"
_SPOKEN = {
    AIR: (
        "air aire temp temperature temperatura tmpf tmpc tempf tempc tair drybulb bulb ambient",
        "dew dewpoint dewpt rocio wet humedo concrete concreto hormigon slab losa film lamina soil suelo "
        "water agua in indoor interior inside feels chill heat index indice sensacion pressure presion "
        "humidity humedad density",
    ),
    CONCRETE: ("concrete concreto hormigon slab losa", ""),
    FILM: ("film lamina", ""),
    HUMIDITY: (
        "humidity humedad rh hr relh rhum relhum hum",
        "soil suelo in indoor interior inside specific absolute absoluta time hora precip lprecip",
    ),
    WIND: (
        "wind viento wspd windspeed windspd wdsp ws sknt",
        "direction direccion dir wdir drct deg degrees grados gust gusts racha rachas rafaga chill run",
    ),
    RAIN: (
        "rain raining rainfall lluvia llueve precip lprecip precipitation precipitacion",
        "year month storm",
    ),
}
_WORDS = {
    field: (frozenset(wanted.split()), frozenset(f"{banned} {_UNSURE}".split()))
    for field, (wanted, banned) in _SPOKEN.items()
}
_BOTH, _DATE, _TIME = {"datetime", "timestamp", "valid"}, {"date", "fecha", "dia", "day"}, {"time", "hora"}
_NO_TIME = {"zone", "zona", "sunrise", "sunset", "source", "code"}
_PLAIN = str.maketrans("áéíóúüñ_º", "aeiouun °")


@dataclass(frozen=True, slots=True)
class Question:
    """Something the file does not tell: a choice named `key`, each of `choices` a value and its words."""

    key: str
    text: str
    choices: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Columns:
    """Where each thing stands: indices of the columns that tell the time, and of each field found."""

    time: tuple[int, ...]
    at: Mapping[str, int]


def plain(heading: str) -> str:
    """A heading in lower case, without accents and with its words set apart."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", heading).lower().translate(_PLAIN)


def words_of(heading: str) -> frozenset[str]:
    """The whole words of a heading."""
    return frozenset(re.findall(r"[a-z]+", plain(heading)))


def candidates(headings: Sequence[str]) -> dict[str, tuple[int, ...]]:
    """For each field the columns that may be it, and under TIME and DATE those that may tell when."""
    words = [words_of(heading) for heading in headings]
    found = {
        field: tuple(i for i, said in enumerate(words) if said & wanted and not said & banned)
        for field, (wanted, banned) in _WORDS.items()
    }
    when = [(i, said) for i, said in enumerate(words) if not said & _NO_TIME]
    whole = tuple(i for i, said in when if said & _BOTH or (said & _DATE and said & _TIME))
    days = tuple(i for i, said in when if said & _DATE and i not in whole)
    hours = tuple(i for i, said in when if said & _TIME and i not in whole)
    return found | {TIME: whole or hours or days, DATE: days if hours and not whole else ()}


def known(headings: Sequence[str]) -> int:
    """How many of the things needed the headings tell."""
    found = candidates(headings)
    return sum(bool(found[field]) for field in (TIME, *NEEDED))


def columns_of(headings: Sequence[str], answers: Mapping[str, str], asked: list[Question]) -> Columns | None:
    """Where each thing stands; what cannot be told goes to `asked`, and then None."""
    found, before = candidates(headings), len(asked)
    named = [(str(i), heading or tr("column {n}", n=i + 1)) for i, heading in enumerate(headings)]
    at: dict[str, int] = {}
    for field in (TIME, *FIELDS):
        among = found[field] if len(found[field]) > 1 else range(len(headings))
        choices = tuple(named[i] for i in among)
        answer = answers.get(f"{field}-column", "")
        if answer in dict(choices):
            at[field] = int(answer)
        elif len(found[field]) == 1:
            at[field] = found[field][0]
        elif found[field] or field in (TIME, *NEEDED):
            asked.append(Question(f"{field}-column", tr(WHICH_COLUMN[field]), choices))
    if len(asked) > before:
        return None
    when = at.pop(TIME)
    days = found[DATE] if len(found[DATE]) == 1 and when not in found[DATE] else ()
    return Columns((*days, when), at)
