"""The doors that guided fuzzing knocks on: what is fed to each, what it may answer, and what it starts from.

A door gets any bytes. It may refuse in its own way, and what it accepts must hold: what was read is said and
read again, what is decoded is told whole. Anything else that leaves it is a fault.
"""

from __future__ import annotations

import gc
import json
import shutil
import tempfile
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

from service.api.shared.calls import read_json
from service.domain.shapes.outline_texts import (
    BadOutline,
    read_angle,
    read_offset,
    read_outline,
    read_sides,
    say_outline,
    say_outline_json,
)
from service.domain.shapes.outlines import Circle
from service.domain.sketch import typed_sides
from service.domain.weather.table import read_station, text_of
from service.domain.words.measures import (
    LONGEST_NM,
    BadLength,
    Units,
    parse_factor,
    parse_length,
    say_length,
)
from service.domain.words.refusals import BadInput
from service.domain.words.temperatures import parse_temperature
from service.domain.words.volume import cubic_metres
from service.media import child, decode, heic, pages, pyramid
from service.media.headers import read_header, what_is
from service.media.limits import PHOTO, SKETCH, check_header
from service.media.refusals import BadPicture
from tests.media.hostile import REFUSED
from tests.media.making import drawing, encoded, exif_with_place, pdf
from tests.media.test_heic import heic as heic_of

# The decoding process loads these as it needs them; here they are loaded first, to be watched.
LOADED = (decode, heic, pages, pyramid)
UNITS: tuple[Units, Units] = ("us", "metric")
# Larger pictures are as easy to refuse and take longer to decode: the limits are another test's.
MOST_PX, LONGEST_PICTURE = 400_000, 24_000


@dataclass(frozen=True)
class Door:
    """`knock` takes any bytes and raises on a fault alone. `words`: what a fuzzer may put together."""

    knock: Callable[[bytes], None]
    seeds: Callable[[], Iterable[bytes]]
    longest: int
    words: tuple[str, ...] = ()


# --- lengths ---------------------------------------------------------------------------------------------


def knock_length(data: bytes) -> None:
    """Every reader of one short text: a length, a bare factor, a temperature, a volume."""
    text = data.decode(errors="surrogateescape")
    for reader in (parse_factor, parse_temperature, cubic_metres):
        try:
            reader(text)
        except (BadLength, BadInput, ValueError) as refused:
            _says_why(refused)
    try:
        nm = parse_length(text, zero_ok=True)
    except BadLength as refused:
        _says_why(refused)
        return
    assert 0 <= nm <= LONGEST_NM, nm
    for units in UNITS:
        # What is said is rounded to a sixteenth or a millimetre, and reads as what was said.
        said = say_length(nm, units)
        assert abs(parse_length(said.replace(",", ""), zero_ok=True) - nm) <= 800_000, said


def _says_why(refused: Exception) -> None:
    """A refusal is one of ours and has words. A ValueError of Python's own is no refusal."""
    assert type(refused).__module__.startswith("service."), repr(refused)
    assert str(refused).strip(), repr(refused)


LENGTHS = (
    "6 1/2 in", "1'-3 1/2\"", "20 ft", "150 mm", "0,15 m", "6", "½ in", "3 ½″", "1 ft 3 in",
    "2 pies 3 pulgadas",
    "1/0 in", "-3 in", "1e9 ft", "1,500 mm", "72 F", "22.5 °C", "60 cu yd", "45 m3", ".5 in", "12′-6″",
)  # fmt: skip
LENGTH_WORDS = (
    "in", "ft", "mm", "cm", "inches", "feet", "pulgadas", "pies", "'", "''", "/", "-", " ", ".", ",", "½",
    "⅞", "′",
    "″", "⁄", "°", "F", "C", "cu yd", "m3", "1", "9", "0",
)  # fmt: skip


# --- outlines --------------------------------------------------------------------------------------------

ROUND = Circle(25_400_000)


def knock_outline(data: bytes) -> None:
    """A body of the API as bytes, as JSON is read there, and then an outline, an offset and sides in it."""
    try:
        given = read_json(data)
    except json.JSONDecodeError:
        return
    for reader in (read_angle, read_offset):
        try:
            reader(given)
        except BadOutline as refused:
            _says_why(refused)
    try:
        read_sides(given, ROUND)
    except BadOutline as refused:
        _says_why(refused)
    try:
        outline = read_outline(given)
    except BadOutline as refused:
        _says_why(refused)
        return
    for units in UNITS:
        assert say_outline(outline, units).strip()
        json.dumps(say_outline_json(outline, units), allow_nan=False)


OUTLINES: tuple[object, ...] = (
    {"shape": "circle", "diameter": "1/2 in"},
    {"shape": "rectangle", "length": "4 in", "width": "2 in", "angle_deg": 20},
    {"shape": "slit", "length": "12 in", "opening": "0 in", "angle_deg": -45.5},
    {"shape": "slit", "length": "30 cm"},
    {"shape": "polygon", "points": [["0 in", "0 in"], ["6 in", "0 in"], ["6 in", "-4 in"]], "angle_deg": 90},
    {"shape": "polygon", "points": [["0 in", "0 in"], ["6 in", "6 in"], ["6 in", "0 in"], ["0 in", "6 in"]]},
    {"left": "6 in", "right": "6 1/2 in", "near": "wall", "far": "7 in", "angle_deg": 30},
    ["1/2 in", "-1 in"],
    30.25,
)
OUTLINE_WORDS = (
    '"shape"', '"circle"', '"rectangle"', '"slit"', '"polygon"', '"points"', '"angle_deg"', '"length"',
    '"width"',
    '"diameter"', '"opening"', '"left"', '"right"', '"near"', '"far"', '"wall"', '"0 in"', '"-1 in"',
    '"6 in"',
    '["1 in","2 in"]', "null", "true", "1e308", "-0.0", "\\u2033", "200 m", "[", "]", "{", "}", ",", ":",
)  # fmt: skip


def knock_sides(data: bytes) -> None:
    """A zone's sides as typed, one a line."""
    try:
        away = typed_sides.read_sides(data.decode(errors="replace"))
    except BadInput as refused:
        _says_why(refused)
        assert set(refused.fields) == {"sides"}
        return
    for nm_per_px in (30_480_000.0, 0.5):
        run = typed_sides.run_of((100_000, 100_000), away, nm_per_px)
        assert len(run.corners) in (len(away), len(away) + 1)
        assert run.gap_nm >= 0


SIDES = (
    "right 20 ft\ndown 12'-6\"\nleft 20 ft\nup 12 ft 6 in", "30° 8 ft; 120 deg 3 m, down 2 ft",
    "right 6 ft down 2 ft\nleft 3 ft and up 1 ft", "derecha 4 pies\nabajo 30 cm", "at -45.5° 9 in",
    "left 0 in",
)  # fmt: skip
SIDE_WORDS = (
    "right ", "left ", "up ", "down ", "derecha ", "abajo ", "izquierda ", "arriba ", "°", " deg", " degrees",
    " grados", " at ", " and ", "\n", ";", "-", "20 ft", "6 in", ",", "359.999999",
)  # fmt: skip


# --- weather stations ------------------------------------------------------------------------------------

ZONE = ZoneInfo("America/Chicago")


def knock_station(data: bytes) -> None:
    """A station's file, every question it leaves answered with its first choice, as often as it asks."""
    answers: dict[str, str] = {}
    for _ in range(8):
        station = read_station(text_of(data), ZONE, answers)
        assert not (station.questions and station.readings)
        assert all(told.text.strip() for told in (*station.faults, *station.notes))
        fresh = {each.key: each.choices[0][0] for each in station.questions if each.choices}
        if not fresh.keys() - answers.keys():
            break
        answers |= fresh
    times = [reading.at for reading in station.readings]
    assert times == sorted(times)
    assert len(times) <= station.rows


STATIONS = (
    "Time,Temp (F),RH %,Wind (mph)\n2026-11-25 06:00,72,45,8\n2026-11-25 06:10,72.5,44,9\n",
    "Date;Time;Temp;Hum;Wind;Rain\n25/11/2026;06:00;22,5;45;3,2;0\n25/11/2026;18:05;23,0;44;2,9;0\n",
    "Station 5\nlat 41\nTimestamp\tAir °C\tHumidity\tWind km/h\n11/25/26 6:00 PM\t22.5\t45%\t12 km/h\n",
    '2026-11-25T06:00:00Z,72,45,8\n"2026-11-25T06:10:00+01:00","71","","calm"\n',
)
STATION_WORDS = (
    "Time", "Date", "Temp", "RH", "Wind", "Rain", "Concrete", "UTC", " AM", " PM", "°F", "°C", "%", "mph",
    "km/h",
    "m/s", "knots", "2026-11-25", "25/11/2026", "02:30", "24:00", ",", ";", "\t", "|", '"', "\n", "NaN",
    "---",
)  # fmt: skip


# --- pictures --------------------------------------------------------------------------------------------


@cache
def _room() -> Path:
    """A folder for the one upload. What was loaded until now is not looked through again."""
    gc.collect()
    gc.freeze()
    return Path(tempfile.mkdtemp(prefix="laptight-door-"))


def knock_picture(data: bytes) -> None:
    """What the decoding process does with an upload, in this process: its header, then the whole of it.

    A native crash ends the fuzzer and is kept like any other; in the service it ends the decoding process
    alone. The last byte chooses between a photo and a sketch. Pictures are let go of between two knocks and
    never within one: a decoder that is closed while another one's warning is told ends the process, and in
    the service a process opens one picture.
    """
    gc.disable()
    gc.collect()
    source, into = _room() / "upload", _room() / "out"
    source.write_bytes(data)
    job = "sketch" if data[-1:] > b"\x80" else "photo"
    try:
        kind = what_is(source)
        if kind == "pdf":
            job = "pages"
        elif kind != "heic":
            header = read_header(source)
            check_header(header, SKETCH if job == "sketch" else PHOTO)
            if header.width_px * header.height_px > MOST_PX:
                return
        elif job == "sketch":
            read_header(source)
        shutil.rmtree(into, ignore_errors=True)
        into.mkdir()
        told = child._do({"job": job, "kind": kind, "source": str(source), "into": str(into)})
    except BadPicture as refused:
        _says_why(refused)
        return
    json.dumps(told, allow_nan=False)
    if job == "photo":
        assert read_header(into / "full").width_px == told["width_px"]


def _pictures() -> Iterator[bytes]:
    """Small ones of every kind and depth, and those of the hostile set that are small."""
    small = drawing(96, 80)
    for form in ("PNG", "JPEG", "WEBP"):
        yield encoded(small, form)
        yield encoded(small.convert("L"), form) + b"\xff"
    yield encoded(small, "JPEG", progressive=True, exif=exif_with_place(6))
    yield encoded(small.convert("CMYK"), "JPEG") + b"\xff"
    yield encoded(small.convert("P"), "PNG", transparency=0)
    yield encoded(small.convert("RGBA"), "WEBP", lossless=True, exif=exif_with_place(3))
    yield encoded(small.convert("I;16"), "PNG")
    yield heic_of(small)
    yield heic_of(small.convert("RGBA"))
    yield pdf([(200, 150, "0 0 9 9 re f")])
    too_large = ("too-many-pixels", "too-narrow")
    hostile = (make() for code, make in REFUSED.values() if code not in too_large)
    yield from (data for data in hostile if 0 < len(data) < LONGEST_PICTURE)


PICTURE_WORDS = (
    "IHDR", "IDAT", "IEND", "acTL", "iCCP", "eXIf", "PLTE", "tRNS", "RIFF", "WEBP", "VP8 ", "VP8L", "VP8X",
    "EXIF",
    "ICCP", "ALPH", "ANIM", "ftypheic", "mif1", "meta", "iprp", "iloc", "ispe", "hvcC", "irot", "%PDF-1.7",
    "/Page",
    "/MediaBox", "endobj", "Exif", "\x00\x01", "JFIF", "Adobe", "ICC_PROFILE",
)  # fmt: skip


DOORS: dict[str, Door] = {
    "length": Door(knock_length, lambda: map(str.encode, LENGTHS), 80, LENGTH_WORDS),
    "outline": Door(
        knock_outline,
        lambda: (json.dumps(each).encode() for each in OUTLINES),
        1_500,
        OUTLINE_WORDS,
    ),
    "sides": Door(knock_sides, lambda: map(str.encode, SIDES), 600, SIDE_WORDS),
    "station": Door(knock_station, lambda: map(str.encode, STATIONS), 3_000, STATION_WORDS),
    "picture": Door(knock_picture, _pictures, LONGEST_PICTURE, PICTURE_WORDS),
}
