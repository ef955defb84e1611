"""The unit of the bare numbers of a weather station's column: read off its heading or cells, or asked."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from fractions import Fraction
from functools import lru_cache

from service.domain.weather.columns import FIELD_NAMES, HUMIDITY, WIND, Question, plain, words_of
from service.domain.weather.texts import NUMBER, WIND_NAMES, number_of
from service.domain.words.speech import tr, trc

SHARE = "share"
_ANY_WIND = "|".join(sorted(map(re.escape, WIND_NAMES), key=len, reverse=True))
_WIND_UNIT = re.compile(rf"(?<![a-z])({_ANY_WIND})(?![a-z/])")
_DEGREES = re.compile(r"(?<![a-z])(f|c|fahrenheit|celsius|centigrados?)(?![a-z])")
_GLUED = {"tmpf": "F", "tempf": "F", "tmpc": "C", "tempc": "C"}
CELL = re.compile(rf"(?P<number>{NUMBER.pattern})\s*(?:°|º|deg)?\s*(?P<unit>[a-z/%]*)\.?")


def heading_unit(field: str, heading: str) -> str:
    """The unit a heading tells: of WIND_NAMES' values, `F`, `C` or `%`; empty where it tells none, or two."""
    said, words = plain(heading), words_of(heading)
    if field == HUMIDITY:
        return "%" if "%" in said else ""
    if field == WIND:
        units = {WIND_NAMES[unit] for unit in _WIND_UNIT.findall(said)}
        units |= {"knots"} if "sknt" in words else set()
    else:
        units = {"F" if unit.startswith("f") else "C" for unit in _DEGREES.findall(said)}
        units |= {_GLUED[word] for word in words & set(_GLUED)}
    return units.pop() if len(units) == 1 else ""


@lru_cache(maxsize=1 << 16)  # a column says the same few things again and again
def parts(field: str, cell: str) -> tuple[Fraction | None, str]:
    """A cell's number and the unit written behind it, if any; None where it is no number in such a unit."""
    found = CELL.fullmatch(cell.lower().replace("−", "-"))
    if found is None:
        return None, ""
    unit = found["unit"]
    if field == WIND:
        known = WIND_NAMES.get(unit, "")
    elif field == HUMIDITY:
        known = "%" if unit in ("%", "rh", "%rh") else ""
    else:
        known = unit.upper() if unit in ("f", "c") else ""
    return (number_of(found["number"]), known) if known or not unit else (None, "")


def unit_of(
    field: str, heading: str, cells: Sequence[str], answers: Mapping[str, str], asked: list[Question]
) -> str:
    """The unit of a column's bare numbers; empty where it has to be asked, which then stands in `asked`.

    A person who says otherwise than the heading or the cells is asked once more: that last word holds.
    """
    told = ({heading_unit(field, heading)} | {parts(field, cell)[1] for cell in cells}) - {""}
    choices = dict(_choices(field))
    said, sure = answers.get(f"{field}-unit", ""), answers.get(f"{field}-sure", "")
    if sure in choices:
        return sure
    if said in choices and told <= {said}:
        return said
    if said in choices:
        asked.append(_sure(field, said, sorted(told)))
        return ""
    if len(told) == 1:
        return told.pop()
    if told:
        asked.append(_mixed(field, sorted(told)))
        return ""
    if field == HUMIDITY and not _may_be_share(cells):
        return "%"
    asked.append(Question(f"{field}-unit", _which_unit(field), tuple(choices.items())))
    return ""


def _may_be_share(cells: Sequence[str]) -> bool:
    numbers = [number for number, _ in (parts(HUMIDITY, cell) for cell in cells) if number is not None]
    return bool(numbers) and max(numbers) <= 1


def _choices(field: str) -> tuple[tuple[str, str], ...]:
    if field == WIND:
        return (("mph", trc("unit", "mph")), ("km/h", "km/h"), ("m/s", "m/s"), ("knots", tr("knots")))
    if field == HUMIDITY:
        return (("%", tr("percent")), (SHARE, tr("a share from 0 to 1")))
    return (("F", "°F"), ("C", "°C"))


def _which_unit(field: str) -> str:
    if field == WIND:
        return tr("Is the wind in mph, km/h, m/s or knots? The file does not say.")
    if field == HUMIDITY:
        return tr("Is the humidity in percent, or a share from 0 to 1? The file does not say.")
    return tr("{field}: is it in °F or °C? The file does not say.", field=tr(FIELD_NAMES[field]))


def _mixed(field: str, told: Sequence[str]) -> Question:
    names = dict(_choices(field))
    text = tr(
        "{field}: the file says {told}. In which are the numbers without a unit?",
        field=tr(FIELD_NAMES[field]),
        told=", ".join(names[unit] for unit in told),
    )
    return Question(f"{field}-sure", text, tuple(names.items()))


def _sure(field: str, said: str, told: Sequence[str]) -> Question:
    names = dict(_choices(field))
    text = tr(
        "{field}: you said {said}, and the file says {told}. Which is it?",
        field=tr(FIELD_NAMES[field]),
        said=names[said],
        told=", ".join(names[unit] for unit in told),
    )
    return Question(f"{field}-sure", text, tuple(names.items()))
