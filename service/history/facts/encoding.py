"""Facts and nouns to plain JSON values and back, and the canonical bytes of an entry (RFC 8785)."""

from __future__ import annotations

import json
import re
import types
import typing
from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields, is_dataclass
from datetime import UTC, datetime
from functools import cache
from operator import attrgetter, itemgetter
from typing import Any, TypeVar, cast

import rfc8785

from service.domain.shapes.outlines import Outline, outline_from_json, outline_to_json

T = TypeVar("T")
Reader = Callable[[Any], Any]
Taking = Callable[[Any], tuple[Any, ...]]

_PLAIN = (str, int, bool, types.NoneType)
_OUTLINES: tuple[type, ...] = typing.get_args(Outline)


def time_text(moment: datetime) -> str:
    """RFC 3339, UTC, microseconds always written so that one moment has one text."""
    # Not strftime: it writes the year 26 in two digits, which nothing can read back.
    return moment.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


def read_time(text: str) -> datetime:
    """The reverse of `time_text`; also any RFC 3339 text with an offset. ValueError when it has none."""
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        raise ValueError("a time needs its offset from UTC")
    return moment.astimezone(UTC)


def to_json(value: Any) -> Any:
    """A dataclass, tuple, datetime or plain value as JSON values (dict, list, str, int, bool, None)."""
    if isinstance(value, _PLAIN):
        return value
    if isinstance(value, list | tuple):
        return [item if type(item) in _PLAIN else to_json(item) for item in value]
    if isinstance(value, datetime):
        return time_text(value)
    if isinstance(value, _OUTLINES):
        return outline_to_json(cast(Outline, value))
    if is_dataclass(value):
        names, values_of = _fields(cast(Any, type(value)))
        told = zip(names, values_of(value), strict=True)
        # Most values are plain: they cost no call each.
        return {name: item if type(item) in _PLAIN else to_json(item) for name, item in told}
    raise TypeError(f"{type(value).__name__} has no place in an entry")


@cache
def _fields(kind: type) -> tuple[tuple[str, ...], Callable[[Any], tuple[Any, ...]]]:
    """The names of a dataclass's fields, and what takes their values out of one."""
    names = tuple(f.name for f in fields(kind))
    if len(names) > 1:
        return names, attrgetter(*names)
    return names, lambda value: tuple(getattr(value, name) for name in names)


def from_json(kind: type[T], data: Mapping[str, Any]) -> T:
    """The reverse of `to_json` for one dataclass. KeyError or ValueError on foreign data.

    Fields that came to a noun later have a default, and what was written before them is read with it.
    """
    values_of, readers = _readers(cast(Any, kind))
    try:
        values = list(values_of(data))
    except KeyError:
        data = {**_defaults(cast(Any, kind)), **data}
        values = list(values_of(data))
    for place, read in readers:
        values[place] = read(values[place])
    return kind(*values)


@cache
def _readers(kind: type) -> tuple[Taking, tuple[tuple[int, Reader], ...]]:
    """What takes a dataclass's values out in field order, and the readers of those that are not plain.

    Every row of every page comes through here: the plain values, most of them, cost no call each.
    """
    hints = typing.get_type_hints(kind)
    names = [f.name for f in fields(kind)]
    readers = ((place, _reader(hints[name])) for place, name in enumerate(names))
    return _taking(names), tuple((place, read) for place, read in readers if read is not _as_it_is)


@cache
def _defaults(kind: type) -> dict[str, Any]:
    """What stands for a field that was not there when the data was written, as JSON."""
    return {f.name: to_json(f.default) for f in fields(kind) if f.default is not MISSING}


def _taking(names: list[str]) -> Taking:
    if len(names) > 1:
        return cast(Taking, itemgetter(*names))
    return lambda data: tuple(data[name] for name in names)


def _as_it_is(data: Any) -> Any:
    return data


@cache
def _reader(hint: Any) -> Reader:
    if hint is datetime:
        return read_time
    if hint in _OUTLINES or hint == Outline:
        return outline_from_json
    if is_dataclass(hint):
        return lambda data: from_json(cast(type, hint), data)
    origin, args = typing.get_origin(hint), typing.get_args(hint)
    if origin in (types.UnionType, typing.Union) and type(None) in args:
        rest = [arg for arg in args if arg is not type(None)]
        inner = outline_from_json if len(rest) > 1 else _reader(rest[0])
        return inner if inner is _as_it_is else lambda data: None if data is None else inner(data)
    return _tuple_reader(args) if origin is tuple else _as_it_is


def _tuple_reader(args: tuple[Any, ...]) -> Reader:
    items = [_reader(arg) for arg in args if arg is not Ellipsis]
    plain = all(read is _as_it_is for read in items)
    if Ellipsis in args:
        return tuple if plain else lambda data: tuple(items[0](item) for item in data)
    if plain:
        return lambda data: _of_length(tuple(data), len(items))
    return lambda data: tuple(read(item) for read, item in zip(items, data, strict=True))


def _of_length(values: tuple[Any, ...], length: int) -> tuple[Any, ...]:
    if len(values) != length:
        raise ValueError(f"{len(values)} values where {length} belong")
    return values


def canonical(value: Any) -> bytes:
    """The one byte form of a JSON value (RFC 8785). Floats never reach it: every measure is an integer."""
    return rfc8785.dumps(value)


_encode = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode


def canonical_of(noun: Any) -> bytes:
    """`canonical(to_json(noun))` several times faster: a noun has no float, its keys are names of fields in
    ASCII, and its numbers were held below 2**53 when they were written. There the two forms are one."""
    return _encode(to_json(noun)).encode()


_MAY_BE_TOO_LONG = re.compile(r"[0-9]{16}")


def canonical_told(value: Any) -> bytes:
    """`canonical` several times faster, of what `to_json` gives and of objects of it under ASCII names: no
    float is in it, and the two forms are one. What RFC 8785 refuses, a number past 2**53 or half a character,
    is refused as by `canonical`."""
    text = _encode(value)
    if _MAY_BE_TOO_LONG.search(text):
        return canonical(value)
    try:
        return text.encode()
    except UnicodeEncodeError:
        return canonical(value)
