"""Send what people asked to be told by mail and push: claimed by one server, tried five times, then let go.

Nothing of it runs in a request. What is logged names neither people nor addresses.
"""

from __future__ import annotations

import json
import logging
import smtplib
import ssl
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime, parseaddr
from urllib.parse import unquote, urlsplit

from sqlmodel import Session

from service.actions.frame.desk import Desk
from service.actions.frame.languages import speech_for
from service.actions.telling.push_services import push
from service.actions.telling.telling import Said, look, look_ahead, said
from service.domain.nouns.site import Project, Zone
from service.domain.words.speech import speaking, tr
from service.history.replay.turns import BY_MAIL
from service.storage.accounts import people, telling
from service.storage.accounts.people import Person
from service.storage.accounts.telling import GIVEN_UP, SENT, Due
from service.storage.doors.locks import first_come
from service.storage.doors.push_keys import PushKey
from service.storage.history import slices

logger = logging.getLogger("laptight")

LOOKING = "looking for turns"
MOST_AT_ONCE, MOST_TRIES = 20, 5
WAIT_S = 20
# After each try; every one longer than a try can take, so that nobody else takes it up meanwhile.
WAITS = tuple(timedelta(minutes=minutes) for minutes in (2, 10, 30, 120, 120))
AT_HOME = ("127.0.0.1", "::1", "localhost")


@dataclass(frozen=True)
class Outside:
    """What there is to reach people by. `smtp_url`, `mail_from`: empty without mail; `address`: the service's
    own, for links, empty where nobody told it; `push_key`: who it is at push services; `anywhere`: pushes
    may go to this machine and without https, for tests alone."""

    smtp_url: str = ""
    mail_from: str = ""
    address: str = ""
    push_key: Callable[[], PushKey] | None = None
    anywhere: bool = False

    @property
    def mails(self) -> bool:
        return bool(self.smtp_url and self.mail_from)

    @property
    def contact(self) -> str:
        """Whom a push service may write to (RFC 8292 section 2.1)."""
        if self.mail_from:
            return f"mailto:{parseaddr(self.mail_from)[1]}"
        return self.address if self.address.startswith("https://") else ""


@dataclass(frozen=True, slots=True)
class Letter:
    """What one person is told, in their language; `path` is the zone's page."""

    said: Said
    project: str
    path: str
    stop: str
    open: str


def tick(desk: Desk, outside: Outside, go_on: Callable[[], bool] = lambda: True) -> tuple[int, int]:
    """Look for turns and send what is due: how many turns, and how many sent. Safe at any time, on any number
    of servers. `go_on`: asked before each sending."""
    turned = 0
    # Every process of every server comes here every few seconds, and a look judges each zone of what moved.
    # Two at once would both judge all of it, for one of them to throw it away (`telling.look`): so one looks,
    # and who comes meanwhile leaves it at that. On SQLite the processes share one machine's few cores and one
    # writer, and there is nothing to try a lock of.
    with first_come(desk.database.engine, LOOKING) as alone:
        if alone:
            turned = look(desk) + look_ahead(desk)
    return turned, send_due(desk, outside, go_on)


def send_due(desk: Desk, outside: Outside, go_on: Callable[[], bool] = lambda: True) -> int:
    """Send what is due by now; how many were sent."""
    with desk.reading() as session:
        waiting = telling.due(session, desk.clock(), MOST_AT_ONCE)
    return sum(_send(desk, outside, due) for due in waiting if go_on())


def _send(desk: Desk, outside: Outside, due: Due) -> bool:
    with desk.writing() as session:
        if not telling.claim(session, due, desk.clock() + WAITS[min(due.tries, len(WAITS) - 1)]):
            return False
        person = people.by_id(session, due.person_id)
        letter = _letter(session, due, person)
        if person is None or letter is None:  # off the project, or erased, meanwhile
            telling.settle(session, due.id, GIVEN_UP)
            return False
    outcome = (
        _mail(outside, desk, due, person, letter) if due.way == BY_MAIL else _push(desk, outside, due, letter)
    )
    if outcome is None and due.tries + 1 >= MOST_TRIES:
        outcome = GIVEN_UP
    if outcome is not None:
        with desk.writing() as session:
            telling.settle(session, due.id, outcome)
    return outcome == SENT


def _letter(session: Session, due: Due, person: Person | None) -> Letter | None:
    """What this person is told, if they are on the project still."""
    seen = due.turn
    if person is None or not person.name or seen.project_id not in people.roles_of(session, person.id):
        return None
    site = slices.project_site(session, seen.project_id)
    project, zone = site.project, site.zones.get(seen.zone_id)
    if project is None or zone is None:
        return None
    with speaking(speech_for(person.language)):
        return _in_words(due, project, zone)


def _in_words(due: Due, project: Project, zone: Zone) -> Letter:
    return Letter(
        said=said(due.turn, zone.letter),
        project=" ".join(project.name.split()),
        path=f"/zones/{zone.id}",
        stop=tr(
            "You asked to be told of this. Ask for less, or for nothing, under Told on the project's pages."
        ),
        open=tr("The zone as it stands now:"),
    )


# --- mail ------------------------------------------------------------------------------------------------


def _mail(outside: Outside, desk: Desk, due: Due, person: Person, letter: Letter) -> str | None:
    """SENT, GIVEN_UP, or None where it is worth trying again."""
    if not outside.mails:
        return GIVEN_UP
    try:
        _hand_over(outside.smtp_url, _message(outside, desk, due, person, letter))
    except smtplib.SMTPRecipientsRefused as refused:
        codes = [code for code, _ in refused.recipients.values()]
        logger.warning("telling %s: the mail server refused the recipient (%s)", due.id, codes)
        return GIVEN_UP if all(code >= 500 for code in codes) else None
    except (OSError, smtplib.SMTPException, ValueError) as trouble:
        logger.warning("telling %s: no mail was sent (%s)", due.id, type(trouble).__name__)
        return None
    return SENT


def _message(outside: Outside, desk: Desk, due: Due, person: Person, letter: Letter) -> EmailMessage:
    """The mail. Its id is the telling's own: sent twice after a lost answer, a mailbox can know it again."""
    made = EmailMessage(policy=SMTP)
    sender = parseaddr(outside.mail_from)[1]
    made["From"], made["To"] = outside.mail_from, person.email
    made["Subject"] = f"{letter.said.title} · {letter.project}"
    made["Date"] = format_datetime(desk.clock())
    made["Message-ID"] = f"<{due.id}@{sender.rpartition('@')[2]}>"
    made["Auto-Submitted"] = "auto-generated"  # RFC 3834 section 5
    link = [f"{letter.open}\n{outside.address}{letter.path}"] if outside.address else []
    made.set_content("\n\n".join([letter.said.title, letter.said.words, *link, letter.stop]) + "\n")
    return made


def _hand_over(url: str, message: EmailMessage) -> None:
    """Give a mail to the server, in the clear to this machine alone. ValueError for a bad address."""
    told = urlsplit(url)
    host, context = told.hostname or "", ssl.create_default_context()
    if told.scheme not in ("smtp", "smtps") or not host:
        raise ValueError("LAPTIGHT_SMTP_URL is smtps://host or smtp://host")
    server: smtplib.SMTP
    if told.scheme == "smtps":
        server = smtplib.SMTP_SSL(host, told.port or 465, timeout=WAIT_S, context=context)
    else:
        server = smtplib.SMTP(host, told.port or 587, timeout=WAIT_S)
    with server:
        if told.scheme == "smtp" and host not in AT_HOME:
            server.starttls(context=context)
        if told.username:
            server.login(unquote(told.username), unquote(told.password or ""))
        server.send_message(message)


# --- push ------------------------------------------------------------------------------------------------


def _push(desk: Desk, outside: Outside, due: Due, letter: Letter) -> str | None:
    if due.phone is None or outside.push_key is None:
        return GIVEN_UP  # the phone is gone
    body = {
        "title": letter.said.title,
        "body": f"{letter.project}. {letter.said.words}",
        "href": letter.path,
        "tag": due.turn.id,
    }
    plain = json.dumps(body, ensure_ascii=False).encode()
    came = push(
        outside.push_key(), outside.contact, due.phone, plain, desk.clock(), anywhere=outside.anywhere
    )
    if came == "gone":
        with desk.writing() as session:
            telling.drop_phone(session, due.phone.id)
    if came != "sent":
        logger.warning("telling %s: no push was sent (%s)", due.id, came)
    return {"sent": SENT, "gone": GIVEN_UP, "refused": GIVEN_UP}.get(came)
