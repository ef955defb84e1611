"""Who is told what, as rows: what people asked for, turns already told, what is still to be sent."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete, func, or_, update
from sqlmodel import Session, col, select

from service.storage.doors.locks import alone
from service.storage.tables.tables import ProjectRow, ZoneRow
from service.storage.tables.told import PushPhoneRow, TellingRow, ToldHeadRow, ToldRow, ToldStateRow, WishRow

NEW, READ = "new", "read"  # on the page
WAITING, SENT, GIVEN_UP = "waiting", "sent", "given up"  # of what is sent


@dataclass(frozen=True, slots=True)
class Wish:
    """What somebody asked to be told of a project. `zones`: ids; empty: all of them."""

    zones: frozenset[str]
    events: frozenset[str]
    ways: frozenset[str]

    def wants(self, zone_id: str, event: str) -> bool:
        return event in self.events and (not self.zones or zone_id in self.zones)


@dataclass(frozen=True, slots=True)
class Turn:
    """A turn of a zone. `turn`: what tells it from another of its kind: an entry's number, or a day as
    20261126; `seq`: the entry it is told from; `reasons`: how many the gate gave."""

    id: str
    project_id: str
    zone_id: str
    event: str
    turn: int
    seq: int
    reasons: int
    at: datetime


@dataclass(frozen=True, slots=True)
class Phone:
    """A phone that takes messages (RFC 8291); keys in base64url."""

    id: str
    person_id: str
    endpoint: str
    p256dh: str
    auth: str


@dataclass(frozen=True, slots=True)
class Due:
    """Something to be sent: by which way, for the how-manieth time, and the phone of a push."""

    id: str
    person_id: str
    way: str
    tries: int
    turn: Turn
    phone: Phone | None


@dataclass(frozen=True, slots=True)
class Message:
    """A turn as it stands on somebody's page, with the bodies of its zone and project as they are today."""

    turn: Turn
    new: bool
    zone: str
    project: str


# --- wishes ----------------------------------------------------------------------------------------------


def wishes(session: Session, project_id: str) -> dict[str, Wish]:
    """What people asked for, by person; who never asked is not there."""
    rows = session.exec(select(WishRow).where(WishRow.project_id == project_id))
    return {row.person_id: _wish(row) for row in rows}


def _wish(row: WishRow) -> Wish:
    return Wish(frozenset(row.zones.split()), frozenset(row.events.split()), frozenset(row.ways.split()))


def keep_wish(session: Session, project_id: str, person_id: str, wish: Wish) -> None:
    alone(session, f"wish of {person_id}")
    row = session.get(WishRow, (project_id, person_id)) or WishRow(
        project_id=project_id, person_id=person_id, zones="", events="", ways=""
    )
    row.zones, row.events, row.ways = (" ".join(sorted(x)) for x in (wish.zones, wish.events, wish.ways))
    session.add(row)
    session.flush()


# --- how zones stood when they were last looked at -------------------------------------------------------


def moved(session: Session) -> list[str]:
    """Projects with entries that nobody has looked through for turns yet."""
    wanted = (
        select(ProjectRow.id)
        .outerjoin(ToldHeadRow, col(ToldHeadRow.project_id) == ProjectRow.id)
        .where(or_(col(ToldHeadRow.seq).is_(None), col(ToldHeadRow.seq) < ProjectRow.seq))
        .order_by(col(ProjectRow.id))
    )
    return list(session.exec(wanted))


def looked_up_to(session: Session, project_id: str) -> int:
    row = session.get(ToldHeadRow, project_id)
    return row.seq if row else 0


def states(session: Session, project_id: str) -> dict[str, str]:
    """How each zone stood at the last look, by zone."""
    rows = session.exec(select(ToldStateRow).where(ToldStateRow.project_id == project_id))
    return {row.zone_id: row.state for row in rows}


def keep_states(session: Session, project_id: str, seq: int, now: Mapping[str, str]) -> None:
    """How each zone stands at this entry, for the next look."""
    alone(session, f"look at {project_id}")
    for zone_id, state in now.items():
        row = session.get(ToldStateRow, zone_id) or ToldStateRow(
            zone_id=zone_id, project_id=project_id, seq=seq, state=""
        )
        row.seq, row.state = seq, state
        session.add(row)
    head = session.get(ToldHeadRow, project_id) or ToldHeadRow(project_id=project_id, seq=0)
    head.seq = seq
    session.add(head)
    session.flush()


def zones_of_all(session: Session) -> list[tuple[str, str]]:
    """The bodies of every zone and its project, for those that may have a day of placing."""
    wanted = select(ProjectRow.body, ZoneRow.body).join(ProjectRow, col(ProjectRow.id) == ZoneRow.project_id)
    return [(project, zone) for project, zone in session.exec(wanted) if '"place_at":null' not in zone]


# --- turns and whom they are told ------------------------------------------------------------------------


def is_told(session: Session, zone_id: str, event: str, turn: int) -> bool:
    key = (ToldRow.zone_id == zone_id, ToldRow.event == event, ToldRow.turn == turn)
    return session.exec(select(ToldRow.id).where(*key)).first() is not None


def add_turn(session: Session, turn: Turn) -> bool:
    """Keep a turn. False where it was told already. Under the project's head lock."""
    if is_told(session, turn.zone_id, turn.event, turn.turn):
        return False
    session.add(
        ToldRow(
            id=turn.id,
            project_id=turn.project_id,
            zone_id=turn.zone_id,
            event=turn.event,
            turn=turn.turn,
            seq=turn.seq,
            reasons=turn.reasons,
            at=turn.at,
        )
    )
    session.flush()
    return True


def add_telling(
    session: Session, telling_id: str, turn: Turn, person_id: str, way: str, state: str, phone_id: str = ""
) -> None:
    session.add(
        TellingRow(
            id=telling_id,
            told_id=turn.id,
            person_id=person_id,
            way=way,
            phone_id=phone_id,
            state=state,
            next_at=turn.at,
        )
    )
    session.flush()


def due(session: Session, now: datetime, most: int) -> list[Due]:
    """What is to be sent by now, the longest due first."""
    wanted = (
        select(TellingRow, ToldRow, PushPhoneRow)
        .join(ToldRow, col(ToldRow.id) == TellingRow.told_id)
        .outerjoin(PushPhoneRow, col(PushPhoneRow.id) == TellingRow.phone_id)
        .where(TellingRow.state == WAITING, TellingRow.next_at <= now)
        .order_by(col(TellingRow.next_at), col(TellingRow.id))
        .limit(most)
    )
    return [
        Due(row.id, row.person_id, row.way, row.tries, _turn(told), _phone(phone) if phone else None)
        for row, told, phone in session.exec(wanted)
    ]


def claim(session: Session, due: Due, next_at: datetime) -> bool:
    """Take the turn to send something; if nothing comes of it, it is due again then. False: somebody else has
    it."""
    mine = (
        col(TellingRow.id) == due.id,
        col(TellingRow.state) == WAITING,
        col(TellingRow.tries) == due.tries,
    )
    taken = session.execute(update(TellingRow).where(*mine).values(tries=due.tries + 1, next_at=next_at))
    return bool(taken.rowcount == 1)  # type: ignore[attr-defined]  # an UPDATE's result counts its rows


def settle(session: Session, telling_id: str, state: str) -> None:
    session.execute(update(TellingRow).where(col(TellingRow.id) == telling_id).values(state=state))


# --- on the page -----------------------------------------------------------------------------------------


def messages(session: Session, person_id: str, only: str, most: int) -> list[Message]:
    """What somebody was told on the page, the newest first. `only`: of this project; empty: of all."""
    wanted = (
        select(TellingRow.state, ToldRow, ZoneRow.body, ProjectRow.body)
        .join(ToldRow, col(ToldRow.id) == TellingRow.told_id)
        .join(ZoneRow, col(ZoneRow.id) == ToldRow.zone_id)
        .join(ProjectRow, col(ProjectRow.id) == ToldRow.project_id)
        .where(TellingRow.person_id == person_id, TellingRow.way == "page")
        .order_by(col(ToldRow.at).desc(), col(ToldRow.id))
        .limit(most)
    )
    if only:
        wanted = wanted.where(ToldRow.project_id == only)
    return [
        Message(_turn(told), state == NEW, zone, project)
        for state, told, zone, project in session.exec(wanted)
    ]


def mark_read(session: Session, person_id: str, only: str) -> None:
    mine = [
        col(TellingRow.person_id) == person_id, col(TellingRow.way) == "page", col(TellingRow.state) == NEW,
    ]  # fmt: skip
    if only:
        mine.append(col(TellingRow.told_id).in_(select(ToldRow.id).where(ToldRow.project_id == only)))
    session.execute(update(TellingRow).where(*mine).values(state=READ))


# --- phones ----------------------------------------------------------------------------------------------


def phones_of(session: Session, person_id: str) -> list[Phone]:
    rows = session.exec(select(PushPhoneRow).where(PushPhoneRow.person_id == person_id))
    return sorted((_phone(row) for row in rows), key=lambda phone: phone.id)


def keep_phone(session: Session, phone: Phone, now: datetime, most: int) -> bool:
    """Keep a phone: it is whoever's asked last. False where this person has as many as they may."""
    alone(session, f"endpoint {phone.endpoint}", f"phones of {phone.person_id}")
    drop_endpoint(session, phone.endpoint)
    count = session.exec(select(func.count()).where(PushPhoneRow.person_id == phone.person_id)).one()
    if count >= most:
        return False
    session.add(
        PushPhoneRow(
            id=phone.id,
            person_id=phone.person_id,
            endpoint=phone.endpoint,
            p256dh=phone.p256dh,
            auth=phone.auth,
            made_at=now,
        )
    )
    session.flush()
    return True


def drop_endpoint(session: Session, endpoint: str, person_id: str | None = None) -> None:
    gone = delete(PushPhoneRow).where(col(PushPhoneRow.endpoint) == endpoint)
    session.execute(gone if person_id is None else gone.where(col(PushPhoneRow.person_id) == person_id))


def drop_phone(session: Session, phone_id: str) -> None:
    session.execute(delete(PushPhoneRow).where(col(PushPhoneRow.id) == phone_id))


def forget_person(session: Session, person_id: str) -> None:
    """What somebody asked for, was told, and the phones they were told on."""
    for table in (WishRow, TellingRow, PushPhoneRow):
        session.execute(delete(table).where(col(table.person_id) == person_id))


def forget_old(session: Session, before: datetime) -> None:
    """What was told longer ago leaves every page. The turns stay: they are what keeps a telling single."""
    old = select(ToldRow.id).where(ToldRow.at < before)
    session.execute(delete(TellingRow).where(col(TellingRow.told_id).in_(old)))


def _turn(row: ToldRow) -> Turn:
    return Turn(row.id, row.project_id, row.zone_id, row.event, row.turn, row.seq, row.reasons, row.at)


def _phone(row: PushPhoneRow) -> Phone:
    return Phone(row.id, row.person_id, row.endpoint, row.p256dh, row.auth)
