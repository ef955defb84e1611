"""What was typed into a form that was sent after the sign-in had ended, carried through signing in.

Where scripts run, form.js keeps it in the browser and the page is shown again. Without scripts it travels in
the address of the sign-in page, and is offered to be sent once more. Passwords and files never travel.
"""

from __future__ import annotations

import base64
import binascii
import json
import zlib
from dataclasses import dataclass

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from service.web import errors
from service.web.forms import MOST_FIELDS, MOST_FILES
from service.web.middleware import MOST_PHOTO, most_bytes

LONGEST = 6_000  # signs in an address: proxies commonly take a line of 8,000
LARGEST = 65_536  # bytes once unpacked

Fields = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Kept:
    """Where a form was sent, and its fields in order."""

    path: str
    fields: Fields


def pack(kept: Kept) -> str:
    """As text for an address, or nothing when there is nothing to carry or too much."""
    if not kept.fields:
        return ""
    plain = json.dumps([kept.path, kept.fields], separators=(",", ":")).encode()
    packed = base64.urlsafe_b64encode(zlib.compress(plain, 9)).decode()
    return packed if len(packed) <= LONGEST and len(plain) <= LARGEST else ""


def unpack(text: str) -> Kept | None:
    """What `pack` made; None for anything else, and for a path that is not this service's."""
    if not text or len(text) > LONGEST:
        return None
    try:
        plain = zlib.decompressobj().decompress(base64.urlsafe_b64decode(text.encode()), LARGEST + 1)
        path, fields = json.loads(plain)
        kept = Kept(path, tuple((name, value) for name, value in fields))
    except (ValueError, TypeError, binascii.Error, zlib.error):
        return None
    parts = (path, *(part for field in kept.fields for part in field))
    if not all(isinstance(part, str) for part in parts) or errors.own_path(path) is None:
        return None
    return kept


async def to_sign_in(request: Request) -> Response:
    """The way to sign in (303), with what was typed."""
    answer = errors.to_sign_in(request)
    carried = pack(Kept(request.url.path, await _typed(request)))
    if carried:
        return RedirectResponse(f"{answer.headers['location']}&kept={carried}", 303)
    return answer


async def _typed(request: Request) -> Fields:
    if most_bytes(request.url.path, request.headers.get("content-type", "")) > MOST_PHOTO:
        return ()  # a sketch is not taken in from somebody unknown only to keep its name
    try:
        async with request.form(max_files=MOST_FILES, max_fields=MOST_FIELDS) as data:
            items = [(name, value) for name, value in data.multi_items() if isinstance(value, str)]
    except HTTPException:  # no form that can be read
        return ()
    return tuple((name, value) for name, value in items if "password" not in name)
