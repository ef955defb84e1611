"""A patch as somebody gives it, read from the contract's forms: readings or size, and how it was made."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from service.actions.frame.doing import chosen_id, length, temperature, words
from service.domain.nouns.rules import REPLACE, SHEET_PATCH, TAPE_ONLY
from service.domain.shapes.outline_texts import BadOutline, read_angle, read_offset, read_outline
from service.domain.shapes.outlines import Outline
from service.domain.shapes.sides import SIDE_WORDS, Sides, side_angle, sides_that_fit
from service.domain.words.measures import Units
from service.domain.words.refusals import BadInput
from service.domain.words.speech import later, tr, trn

WALL = later("wall")
ASKED = {
    "cleaned": later("Was the film cleaned? Answer yes or no."),
    "dry": later("Was it dry? Answer yes or no."),
    "edges_taped": later("Are all edges taped? Answer yes or no."),
}
_READ = {
    "left": later("Read the tape on the left side, or write wall."),
    "right": later("Read the tape on the right side, or write wall."),
    "near": later("Read the tape on the near side, or write wall."),
    "far": later("Read the tape on the far side, or write wall."),
}
MOST_ALSO = 50
PATCH_METHODS = (SHEET_PATCH, TAPE_ONLY)


@dataclass(frozen=True, slots=True)
class PatchEntry:
    """What a person gives to log a patch: by `sides` or by `outline` and `offset`, never both.

    `new_id`: the id that a phone chose for it, or empty.
    """

    sides: Sides | None
    outline: Outline | None
    offset: tuple[int, int]
    cut: tuple[int, int] | None
    cleaned: bool
    dry: bool
    edges_taped: bool
    tape_width_nm: int
    method: str = SHEET_PATCH
    lot: str = ""
    film_temperature: str = ""
    note: str = ""
    also: tuple[str, ...] = ()
    new_id: str = ""


def read_shape(damage: Outline, given: Mapping[str, Any], units: Units = "us") -> PatchEntry:
    """`sides` (with `cut` and `angle_deg` if given) or `outline` (with `offset`) in the contract's forms.

    The workmanship of the entry that comes back is blank; `read_patch` fills it. BadInput names the field.
    """
    by_sides, by_outline = given.get("sides") is not None, given.get("outline") is not None
    if by_sides == by_outline:
        told = tr("Give the four sides the tape measure reads, or the patch's size and offset.")
        raise BadInput(told, fields={"sides": told})
    blank = PatchEntry(None, None, (0, 0), None, False, False, False, 0)
    if by_sides:
        sides = _sides(damage, given["sides"])
        return replace(blank, sides=sides, cut=_cut(damage, sides, given.get("cut"), units))
    try:
        outline = read_outline(given["outline"])
        inside = given["outline"].get("offset") if isinstance(given["outline"], Mapping) else None
        offset = given.get("offset", inside)
        return replace(blank, outline=outline, offset=(0, 0) if offset is None else read_offset(offset))
    except BadOutline as bad:
        raise BadInput(str(bad), fields={bad.field or "outline": str(bad)}, code=bad.code) from None


def _sides(damage: Outline, given: object) -> Sides:
    if not isinstance(given, Mapping):
        raise BadInput(
            tr("Sides are left, right, near and far."), fields={"sides": tr("Four sides are needed.")}
        )
    read = {word: _reading(word, given.get(word)) for word in SIDE_WORDS}
    if all(reading is None for reading in read.values()):
        told = tr("A patch cannot be sealed to a wall on all four sides.")
        raise BadInput(told, fields={"sides": told})
    try:
        angle = read_angle(given["angle_deg"]) if given.get("angle_deg") is not None else None
    except BadOutline as bad:
        raise BadInput(str(bad), fields={"angle_deg": str(bad)}, code=bad.code) from None
    return Sides(read["left"], read["right"], read["near"], read["far"], side_angle(damage, angle))


def _reading(word: str, given: object) -> int | None:
    if not isinstance(given, str) or not given.strip():
        told = tr(_READ[word])
        raise BadInput(told, fields={word: told})
    return None if given.strip().lower() in (WALL, tr(WALL)) else length(given, word, zero_ok=True)


def _cut(damage: Outline, sides: Sides, given: object, units: Units) -> tuple[int, int] | None:
    if given is None:
        return None
    if not isinstance(given, Mapping) or not all(isinstance(given.get(k), str) for k in ("length", "width")):
        raise BadInput(
            tr("A cut size is a length and a width."), fields={"cut": tr("Length and width are needed.")}
        )
    cut = length(given["length"], "cut"), length(given["width"], "cut")
    mismatch = sides_that_fit(damage, sides, *cut, units)
    if mismatch is not None:
        raise BadInput(
            tr("These numbers cannot all be true. {why}", why=mismatch),
            fields={"cut": mismatch},
            code="cannot-be",
        )
    return cut


def read_patch(damage: Outline, given: Mapping[str, Any], units: Units = "us") -> PatchEntry:
    """A whole patch in the contract's forms: cleaned, dry, edges taped and tape width must be answered."""
    faults: dict[str, str] = {}
    for name, asked in ASKED.items():
        if not isinstance(given.get(name), bool):
            faults[name] = tr(asked)
    if not isinstance(given.get("tape_width"), str):
        faults["tape_width"] = tr("Give the tape's width with its unit.")
    if faults:
        raise BadInput(" ".join(faults.values()), fields=faults)
    method = given.get("method") or SHEET_PATCH
    if method not in PATCH_METHODS:
        told = tr("A patch is one of: {methods}.", methods=", ".join(map(tr, PATCH_METHODS)))
        if method == REPLACE:
            told = tr("A sheet that was replaced is logged as a repair of the mark, not as a patch.")
        raise BadInput(told, fields={"method": told})
    return replace(
        read_shape(damage, given, units),
        cleaned=given["cleaned"],
        dry=given["dry"],
        edges_taped=given["edges_taped"],
        tape_width_nm=length(given["tape_width"], "tape_width"),
        method=method,
        lot=_text(given, "lot", 80),
        film_temperature=_film_temperature(given),
        note=_text(given, "note", 2000),
        also=_also(given.get("also")),
        new_id=chosen_id(_text(given, "new_id", 40)),
    )


def _text(given: Mapping[str, Any], name: str, most: int) -> str:
    value = given.get(name)
    if value is not None and not isinstance(value, str):
        raise BadInput(tr("Write text."), fields={name: tr("Write text.")})
    return words(value or "", name, most=most)


def _film_temperature(given: Mapping[str, Any]) -> str:
    """As it was read, once it is sure that it is one."""
    text = _text(given, "film_temperature", 40)
    temperature(text, "film_temperature")
    return text


def _also(given: object) -> tuple[str, ...]:
    if given is None:
        return ()
    if not isinstance(given, list | tuple) or not all(isinstance(item, str) for item in given):
        raise BadInput(tr("The other marks are a list of ids."), fields={"also": tr("A list of ids.")})
    if len(given) > MOST_ALSO:
        raise BadInput(
            trn(
                "One patch lies on at most {n} other mark.",
                "One patch lies on at most {n} other marks.",
                MOST_ALSO,
            ),
            fields={"also": tr("Too many marks.")},
        )
    return tuple(dict.fromkeys(given))
