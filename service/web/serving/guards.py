"""Who is asking: the desk of this request, and the person who is signed in, as dependencies of pages."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated
from urllib.parse import urlsplit

from fastapi import Depends
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance import accounts
from service.actions.entrance.accounts import PAGE, Person
from service.actions.entrance.passkeys import Place
from service.actions.frame.desk import Desk
from service.domain.words.refusals import NotSignedIn
from service.domain.words.speech import tr
from service.web.serving import receipts

PLAIN_COOKIE, HOST_COOKIE = "laptight", "__Host-laptight"
LOOKING = "looking"  # of a request's state: a token and whose it is, asked for this request already


async def desk(request: Request) -> Desk:
    """A desk of this request's own. Not in a thread of the pool: it waits for nothing."""
    base: Desk = request.app.state.desk
    return base.fresh(receipts.phone_of(request))


TheDesk = Annotated[Desk, Depends(desk)]


def over_https(request: Request) -> bool:
    return bool(request.app.state.settings.secure_cookies) or request.scope["scheme"] == "https"


def cookie_name(request: Request) -> str:
    """The `__Host-` name wherever the browser takes it: no other host and no plain http can set it."""
    return HOST_COOKIE if over_https(request) else PLAIN_COOKIE


def page_token(request: Request) -> str | None:
    return request.cookies.get(cookie_name(request))


def visitor(request: Request, desk: TheDesk) -> Person | None:
    """The person signed in, or None: for pages that anybody may open. SlowDown past any use of people."""
    token = page_token(request)
    looking: tuple[str, Person] | None = request.scope.get("state", {}).get(LOOKING)
    if looking is not None and looking[0] == token:
        person: Person | None = looking[1]
        desk.only = looking[1].only
    else:
        person = accounts.person_for(desk, token, PAGE) if token else None
    if person is not None:
        request.app.state.counted.person(desk, person.id)
    return person


Visitor = Annotated[Person | None, Depends(visitor)]


def signed(request: Request, person: Visitor) -> Person:
    """The person signed in. NotSignedIn is answered with the way to sign in and back (303). Conflict where
    what waited on a phone is another person's."""
    if person is None:
        raise NotSignedIn(tr("Sign in first."))
    receipts.check_person(request, person.id)
    return person


Signed = Annotated[Person, Depends(signed)]


def keep_sign_in(request: Request, answer: Response, token: str, ends_at: datetime) -> None:
    """Put the sign-in's cookie on an answer: this host only, no script, not on requests from other sites.
    It lasts by the service's clock: a phone's may be wrong."""
    lasts = ends_at - request.app.state.desk.clock()
    answer.set_cookie(
        cookie_name(request),
        token,
        max_age=int(lasts.total_seconds()),
        path="/",
        secure=over_https(request),
        httponly=True,
        samesite="lax",
    )


def drop_sign_in(request: Request, answer: Response) -> None:
    answer.delete_cookie(
        cookie_name(request), path="/", secure=over_https(request), httponly=True, samesite="lax"
    )


def end_old(request: Request, desk: Desk) -> None:
    """A new sign-in takes the place of the one this browser had."""
    if old := page_token(request):
        accounts.sign_out(desk, old)


def device_of(request: Request) -> str:
    """What asks, in a word: `phone` or `computer`, empty where it does not say."""
    told = request.headers.get("user-agent", "")
    return "phone" if "Mobi" in told else "computer" if told else ""


def place_of(request: Request) -> Place:
    """Where passkeys are for: this service, as browsers reach it."""
    parts = urlsplit(request.app.state.settings.base_url or str(request.base_url))
    return Place(parts.hostname or "", f"{parts.scheme}://{parts.netloc}")


def client_address(request: Request) -> str:
    """The network address the request came from, for the throttle."""
    return request.client.host if request.client else "unknown"


def count_address(request: Request, desk: TheDesk) -> None:
    """One more look by a link, which needs no sign-in: counted by where it comes from. SlowDown."""
    request.app.state.counted.address(desk, client_address(request))


BY_LINK = [Depends(count_address)]


def whole_address(request: Request, path: str) -> str:
    """A path of this service as whoever is sent it opens it."""
    base: str = request.app.state.settings.base_url or str(request.base_url)
    return base.rstrip("/") + path
