"""Refusals as pages: one table from refusal to status, and one designed page for every kind of trouble."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import quote, urlsplit

from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from service.domain.words import refusals as r
from service.domain.words.speech import later, tr
from service.web.serving.render import render

STATUS: dict[type[r.Refusal], int] = {
    r.NotSignedIn: 401,
    r.NotAllowed: 403,
    r.NotFound: 404,
    r.Conflict: 409,
    r.TooLarge: 413,
    r.BadInput: 422,
    r.SlowDown: 429,
}


def status_of(refusal: r.Refusal) -> int:
    """The status of a refusal, by the nearest of its classes in the table."""
    return next((STATUS[kind] for kind in type(refusal).__mro__ if kind in STATUS), 409)


@dataclass(frozen=True, slots=True)
class Trouble:
    """`templates/entrance/trouble.html`. `typed`: what the form that led here held, to copy from.
    `request_id` is shown where somebody has to look into it."""

    status: int
    title: str
    words: str
    details: tuple[str, ...]
    typed: tuple[tuple[str, str], ...]
    request_id: str
    back: str
    back_words: str


TITLES = {
    400: later("This request cannot be read"),
    401: later("Sign in first"),
    403: later("Not yours to do"),
    404: later("Nothing here"),
    405: later("Not done this way"),
    408: later("Too slow"),
    409: later("Not as things stand"),
    413: later("Too large"),
    422: later("Something cannot be read"),
    429: later("Slow down"),
    500: later("Something broke here"),
    503: later("Busy just now"),
}
WORDS = {
    400: later("The request came in a form that cannot be read. Nothing was recorded."),
    403: later(
        "This request came from another site's page, so it was not carried out. Open the page "
        "here and send it again."
    ),
    404: later("Nothing here, or nothing that is yours to see."),
    405: later("This address does not take that kind of request. Nothing was recorded."),
    408: later(
        "What was sent came too slowly and was given up. Nothing was recorded. Send it again where the "
        "signal is better."
    ),
    413: later("What was sent is larger than is taken here. Nothing was recorded."),
    422: later("What was sent is in letters other than UTF-8 and cannot be read. Nothing was recorded."),
    500: later(
        "The fault is ours, not yours. Nothing was recorded by this request. Go back and try "
        "once more; if it happens again, tell whoever runs the service this number:"
    ),
    503: later(
        "The service is busy and could not get to this in time. Nothing was recorded. Go back "
        "and send it again in a moment."
    ),
}


def trouble_page(
    request: Request,
    status: int,
    words: str = "",
    *,
    details: tuple[str, ...] = (),
    typed: tuple[tuple[str, str], ...] = (),
    headers: Mapping[str, str] | None = None,
) -> Response:
    """The page for one kind of trouble."""
    back = back_path(request) or "/"
    page = Trouble(
        status=status,
        title=tr(TITLES.get(status, "")) or tr("That did not work"),
        words=words or tr(WORDS.get(status, "")) or tr("That did not work. Nothing was recorded."),
        details=details,
        typed=typed,
        request_id=request.scope.get("state", {}).get("request_id", "") if status >= 500 else "",
        back=back,
        back_words=tr("My projects") if back == "/" else tr("Back to the page before"),
    )
    kept = {"Cache-Control": "no-store", **(headers or {})}
    return HTMLResponse(render("entrance/trouble.html", page), status, headers=kept)


def refusal_page(request: Request, refusal: r.Refusal, typed: tuple[tuple[str, str], ...] = ()) -> Response:
    """A refusal that no page has caught: its own page, or the way to sign in."""
    if isinstance(refusal, r.NotSignedIn):
        return to_sign_in(request)
    headers = {"Retry-After": str(refusal.after_s)} if isinstance(refusal, r.SlowDown) else {}
    details = tuple(words for words in refusal.fields.values() if words != refusal.message)
    return trouble_page(
        request, status_of(refusal), refusal.message, details=details, typed=typed, headers=headers
    )


def to_sign_in(request: Request) -> Response:
    """The way to sign in and back: to the page asked for, or to the page whose form was sent."""
    wanted = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    if request.method not in ("GET", "HEAD"):
        wanted = back_path(request) or "/"
    return RedirectResponse(f"/sign-in?next={quote(wanted, safe='/')}", 303)


def back_path(request: Request) -> str | None:
    """The path of the page of this service that the request came from, or None."""
    came = urlsplit(request.headers.get("referer", ""))
    if came.netloc != request.headers.get("host") or came.scheme not in ("http", "https"):
        return None
    return own_path(came.path + (f"?{came.query}" if came.query else ""))


def own_path(text: str) -> str | None:
    """The text when it is a path of this service and nothing that a browser would read as another site."""
    plain = text.isprintable() and "\\" not in text and " " not in text
    return text if plain and text.startswith("/") and not text.startswith("//") else None
