"""Refusals as JSON in the contract's one shape, with a table of their statuses of their own."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, Field
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from service.domain.words import refusals as r

STATUS: dict[type[r.Refusal], int] = {
    r.NotSignedIn: 401,
    r.NotAllowed: 403,
    r.NotFound: 404,
    r.Conflict: 409,
    r.TooLarge: 413,
    r.BadInput: 422,
    r.SlowDown: 429,
}


class ErrorBody(BaseModel):
    """`code` is stable, for programs; `message` is for people; `fields` says what is wrong with each field
    by its place in the body, such as `outline.diameter`."""

    code: str = Field(examples=["bad-input"])
    message: str = Field(examples=["The request cannot be read."])
    fields: dict[str, str] = Field(examples=[{"outline.diameter": "6 of what? Add the unit, like 6 in."}])


class Error(BaseModel):
    """Every answer that is not a success has this shape."""

    error: ErrorBody


_MEANS = {
    401: "Not signed in.",
    403: "Yours to see, not yours to do; or sent by another site's page with the sign-in of a page here.",
    404: "Not there, or not yours: the same bytes for both.",
    408: "The body came too slowly and was given up. Nothing was recorded; send it again.",
    409: "The rules say no as things stand, or the same Idempotency-Key is still being worked on.",
    413: "Larger than is taken here.",
    422: "What was sent cannot be read or cannot be true; `fields` names what is wrong.",
    429: "Too many tries, or requests. Retry-After says how many seconds to wait.",
    503: "Busy just now. Nothing was recorded; send it again.",
}

READS = (401, 404, 422, 503)
WRITES = (401, 403, 404, 408, 409, 413, 422, 503)


def told(statuses: Iterable[int], **more: str) -> dict[int | str, dict[str, Any]]:
    """The `responses` of a route, 429 always with them. `more`: other words for a status, as `_409=`."""
    return {
        status: {"model": Error, "description": more.get(f"_{status}", _MEANS[status])}
        for status in sorted({*statuses, 429})
    }


def status_of(refusal: r.Refusal) -> int:
    """The status of a refusal, by the nearest of its classes in the table."""
    return next((STATUS[kind] for kind in type(refusal).__mro__ if kind in STATUS), 409)


def error(
    status: int, code: str, message: str, fields: Mapping[str, str] | None = None, **more: Any
) -> JSONResponse:
    """An answer in the contract's shape. `more` stands beside code, message and fields."""
    body = {"code": code, "message": message, "fields": dict(fields or {}), **more}
    return JSONResponse({"error": body}, status)


def refused(request: Request, refusal: r.Refusal) -> Response:
    """Any refusal of the rules."""
    answer = error(status_of(refusal), refusal.code, refusal.message, refusal.fields)
    if isinstance(refusal, r.SlowDown):
        answer.headers["Retry-After"] = str(refusal.after_s)
    if isinstance(refusal, r.NotSignedIn):
        answer.headers["WWW-Authenticate"] = "Bearer"
    return answer


def unreadable(request: Request, bad: RequestValidationError) -> Response:
    """A body or parameter of the wrong form: 422, each field told once in plain words."""
    fields: dict[str, str] = {}
    whole = ""
    for fault in bad.errors():
        name, words = place(fault["loc"]), say(fault)
        if name:
            fields.setdefault(name, words)
        else:
            whole = whole or words
    told_all = " ".join(f"{name}: {words}" for name, words in list(fields.items())[:3])
    return error(422, "bad-input", whole or told_all or "The request cannot be read.", fields)


# Pydantic puts the branch of a union into a place; these are no fields of the body.
_BRANCHES = {
    "circle", "rectangle", "slit", "polygon", "str", "float", "int", "bool", "Sourced", "SourcedWords",
    "SourcedFlag", "list[constrained-str]",
}  # fmt: skip


def place(loc: tuple[int | str, ...]) -> str:
    """`outline.diameter` from where pydantic found the fault; nothing for the body itself."""
    if loc[:1] == ("body",) and all(isinstance(step, int) for step in loc[1:]):
        return ""
    return ".".join(str(step) for step in loc[1:] if step not in _BRANCHES)


_PLAIN = {
    "missing": "This is needed.",
    "extra_forbidden": "There is no such field here.",
    "string_type": 'Write this as text in quotes; a length with its unit, like "6 in".',
    "string_unicode": "This holds a character that cannot be kept.",
    "string_pattern_mismatch": "This holds a character that no such text has.",
    "bool_type": "Write true or false.",
    "float_type": "Write a number.",
    "int_type": "Write a whole number.",
    "int_parsing": "Write a whole number.",
    "int_from_float": "Write a whole number.",
    "bool_parsing": "Write true or false.",
    "finite_number": "Write a number that has an end.",
    "list_type": "Write a list.",
    "dict_type": "Write an object with its fields.",
    "model_type": "Write an object with its fields.",
    "model_attributes_type": "Write a JSON object, with Content-Type: application/json.",
    "union_tag_invalid": "A shape is a circle, a rectangle, a slit or a polygon.",
    "union_tag_not_found": "Name the shape: circle, rectangle, slit or polygon.",
}  # fmt: skip


def say(fault: Mapping[str, Any]) -> str:
    """One of pydantic's faults in plain words."""
    kind, limits = fault["type"], fault.get("ctx", {})
    if kind == "json_invalid":
        return f"The body is no JSON that can be read: {limits.get('error', 'it breaks off')}."
    if kind == "literal_error":
        return f"Write one of: {limits['expected']}."
    if kind in ("string_too_long", "too_long"):
        return f"At most {limits['max_length']:,} {'characters' if kind == 'string_too_long' else 'of them'}."
    if kind in ("string_too_short", "too_short"):
        return f"At least {limits['min_length']}."
    if kind == "greater_than_equal":
        return f"Write a number of at least {limits['ge']:g}."
    if kind == "less_than_equal":
        return f"Write a number of at most {limits['le']:g}."
    return _PLAIN.get(kind, "This cannot be read.")
