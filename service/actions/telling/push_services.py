"""Phones that take messages by web push (RFC 8030), and the one request that sends one.

A push service is an address that a browser told us, so it is anybody's: only https, only machines of the open
net, no redirects, a time limit, and of the answer nothing but its status is read.
"""

from __future__ import annotations

import ipaddress
import socket
from datetime import datetime
from urllib.parse import urlsplit

import httpx

from service.actions.frame.desk import Desk
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import tr
from service.storage.accounts import telling
from service.storage.accounts.telling import Phone
from service.storage.doors.push_keys import PushKey, read_keys, sealed

WAIT_S = 10
MOST_PHONES = 10  # of one person
LONGEST = 1000
LASTS_S = 12 * 3600  # a phone that is off hears it when it is on again, within half a day


def keep_phone(desk: Desk, by: str, endpoint: str, p256dh: str, auth: str, *, anywhere: bool = False) -> None:
    """Take messages on this phone. BadInput on `endpoint`; Conflict with too many phones."""
    try:
        read_keys(p256dh, auth)
        _read_endpoint(endpoint, anywhere)
    except ValueError:
        told = tr("This phone did not say where it takes messages.")
        raise BadInput(told, fields={"endpoint": told}) from None
    phone = Phone(desk.new_id(), by, endpoint, p256dh, auth)
    with desk.writing() as session:
        if not telling.keep_phone(session, phone, desk.clock(), MOST_PHONES):
            raise Conflict(tr("You take messages on as many phones as can be kept. Stop one of them first."))


def forget_phone(desk: Desk, by: str, endpoint: str) -> None:
    """No more messages on this phone; nothing happens where it took none."""
    with desk.writing() as session:
        telling.drop_endpoint(session, endpoint, by)


def phones(desk: Desk, by: str) -> int:
    """On how many phones somebody takes messages."""
    with desk.reading() as session:
        return len(telling.phones_of(session, by))


def push(
    key: PushKey, contact: str, phone: Phone, plain: bytes, now: datetime, *, anywhere: bool = False
) -> str:
    """Send one message: `sent`, `gone` (the phone takes none any more), `refused`, or `later`."""
    try:
        origin, host, port, rest = _read_endpoint(phone.endpoint, anywhere)
        address = _address(host, port, anywhere)
        body = sealed(plain, phone.p256dh, phone.auth)
    except ValueError:
        return "refused"
    except OSError:
        return "later"
    headers = {
        "Host": origin.partition("://")[2],
        "Authorization": key.authorization(origin, contact, now),
        "Content-Type": "application/octet-stream",
        "Content-Encoding": "aes128gcm",
        "TTL": str(LASTS_S),
        "Urgency": "high",
    }
    # To the very machine that was looked at, under the name that its certificate is held to.
    url = f"{origin.partition('://')[0]}://{f'[{address}]' if ':' in address else address}:{port}{rest}"
    try:
        with (
            httpx.Client(timeout=WAIT_S, follow_redirects=False, trust_env=False) as client,
            client.stream(
                "POST", url, content=body, headers=headers, extensions={"sni_hostname": host}
            ) as answer,
        ):
            return _came(answer.status_code)
    except (httpx.HTTPError, httpx.InvalidURL, OSError):
        return "later"


def _came(status: int) -> str:
    """RFC 8030 section 5 and 7.3: 201 is taken, 404 and 410 are gone; 429 a service's own trouble pass."""
    if 200 <= status < 300:
        return "sent"
    if status in (404, 410):
        return "gone"
    return "later" if status == 429 or status >= 500 else "refused"


def _read_endpoint(endpoint: str, anywhere: bool) -> tuple[str, str, int, str]:
    """Origin, host, port, and path with query. ValueError for what is no https address of a push service."""
    if len(endpoint) > LONGEST or not endpoint.isascii() or not endpoint.isprintable() or " " in endpoint:
        raise ValueError("no address")
    told = urlsplit(endpoint)
    port = told.port or 443
    if not told.hostname or told.username or told.password or told.fragment:
        raise ValueError("no plain address")
    if not anywhere and (told.scheme != "https" or port != 443):
        raise ValueError("not https")
    if not anywhere and _is_private(told.hostname):
        raise ValueError("a machine of a private net")
    rest = (told.path or "/") + (f"?{told.query}" if told.query else "")
    return f"{told.scheme}://{told.netloc}", told.hostname, port, rest


def _is_private(host: str) -> bool:
    """A literal address that is not of the open net, or this machine by name."""
    try:
        return not _of_the_open_net(host)
    except ValueError:
        return host == "localhost" or host.endswith((".localhost", ".local", ".internal")) or "." not in host


def _of_the_open_net(address: str) -> bool:
    told = ipaddress.ip_address(address)
    inner = getattr(told, "ipv4_mapped", None) or getattr(told, "sixtofour", None)
    return told.is_global and not told.is_multicast and (inner is None or inner.is_global)


def _address(host: str, port: int, anywhere: bool) -> str:
    """The address that the host has now. ValueError when any is not of the open net; OSError without any."""
    found = [str(row[4][0]) for row in socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)]
    if not anywhere and not all(_of_the_open_net(address) for address in found):
        raise ValueError("a machine of a private net")
    return found[0]
