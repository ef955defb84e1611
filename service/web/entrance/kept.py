"""What was typed into a form that was sent after the sign-in had ended, carried through signing in.

Where scripts run, form.js keeps it in the browser and the page is shown again. Without scripts it travels in
the address of the sign-in page, and is offered to be sent once more. Passwords and files never travel.

It is offered in the browser it was typed in alone: else anybody could write such an address and have whoever
signs in by it send a form of theirs. A cookie of that browser is named in what is packed.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
import secrets
import zlib
from dataclasses import dataclass

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from service.web.forms.forms import MOST_FIELDS, MOST_FILES
from service.web.serving import errors, guards
from service.web.serving.bodies import MOST_PHOTO, most_bytes

LONGEST = 6_000  # signs in an address: proxies commonly take a line of 8,000
LARGEST = 65_536  # bytes once unpacked
PLAIN_COOKIE, HOST_COOKIE = "laptight-kept", "__Host-laptight-kept"

Fields = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Kept:
    """Where a form was sent, and its fields in order."""

    path: str
    fields: Fields


def cookie_name(request: Request) -> str:
    return HOST_COOKIE if guards.over_https(request) else PLAIN_COOKIE


def _named(browser: str) -> str:
    return hashlib.sha256(browser.encode("utf-8", "replace")).hexdigest()[:32]


def pack(kept: Kept, browser: str) -> str:
    """As text for an address; nothing where there is nothing to carry or too much. `browser`: its cookie."""
    if not kept.fields:
        return ""
    plain = json.dumps([_named(browser), kept.path, kept.fields], separators=(",", ":")).encode()
    packed = base64.urlsafe_b64encode(zlib.compress(plain, 9)).decode()
    return packed if len(packed) <= LONGEST and len(plain) <= LARGEST else ""


def unpack(text: str, browser: str | None) -> Kept | None:
    """What `pack` made for this browser; None for anything else, and for a path that is not of here."""
    if not text or len(text) > LONGEST or not browser:
        return None
    try:
        plain = zlib.decompressobj().decompress(base64.urlsafe_b64decode(text.encode()), LARGEST + 1)
        named, path, fields = json.loads(plain)
        kept = Kept(path, tuple((name, value) for name, value in fields))
        parts = (path, *(part for field in kept.fields for part in field))
        if not all(isinstance(part, str) for part in parts):
            return None
        "".join(parts).encode()  # no halves of characters: they could not be shown
    except (ValueError, TypeError, RecursionError, binascii.Error, zlib.error):
        return None
    if named != _named(browser) or errors.own_path(path) is None:
        return None
    return kept


async def to_sign_in(request: Request) -> Response:
    """The way to sign in (303), with what was typed."""
    answer = errors.to_sign_in(request)
    browser = request.cookies.get(cookie_name(request)) or secrets.token_urlsafe(16)
    carried = pack(Kept(request.url.path, await typed_in(request)), browser)
    if not carried:
        return answer
    answer = RedirectResponse(f"{answer.headers['location']}&kept={carried}", 303)
    answer.set_cookie(
        cookie_name(request), browser, max_age=86_400, path="/", secure=guards.over_https(request),
        httponly=True, samesite="lax",
    )  # fmt: skip
    return answer


# What a form sends beside what is typed: its own key, where to go on, which facts and pages were looked at.
UNTYPED = frozenset(("request_key", "next", "kept", "digest", "seen", "seen_as"))


def worth_showing(fields: Fields) -> Fields:
    """The fields that somebody typed, by names that can be read."""
    return tuple(
        (name.replace("_", " "), value)
        for name, value in fields
        if value.strip() and name not in UNTYPED and not name.endswith(("_unit", "look"))
    )


async def typed_in(request: Request) -> Fields:
    """The fields of a form as they were sent; nothing where it cannot be read or is a large upload."""
    if most_bytes(request.url.path, request.headers.get("content-type", "")) > MOST_PHOTO:
        return ()  # a sketch is not taken in from somebody unknown only to keep its name
    try:
        async with request.form(max_files=MOST_FILES, max_fields=MOST_FIELDS) as data:
            items = [(name, value) for name, value in data.multi_items() if isinstance(value, str)]
    except HTTPException:  # no form that can be read
        return ()
    return tuple((name, value) for name, value in items if "password" not in name)
