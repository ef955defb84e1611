"""People, their open sign-ins, reset links and failed tries, as rows."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import and_, bindparam, delete, exists, func, not_, or_, update
from sqlalchemy import select as columns
from sqlmodel import Session, col, select

from service.domain.nouns.roles import CREW_LEAD, INSPECTOR, PROJECT_MANAGER
from service.history.replay.replay import GONE
from service.storage.tables.tables import EntryRow, MemberRow, PersonRow, ResetRow, SignInRow, TryRow
from service.storage.tables.told import CrewCodeRow, TellingRow

_ERASED = "erased:"  # no address: it holds what no address may hold
_NO_EMAIL = "none:"  # in the same way: somebody who signs in by code alone
NO_HASH = "!"  # nothing fits it
CODE = "code"  # the kind of a sign-in by a crew's code: good for pages, on one project
# NIST SP 800-63B-4 sections 2.1.3 and 2.2.3: 30 days at assurance level 1; at level 2 24 hours, and an hour
# without use. Level 2 is for whoever is project manager or inspector anywhere.
LASTS, STRICT_LASTS, STRICT_IDLE = timedelta(days=30), timedelta(hours=24), timedelta(hours=1)
NOTED_EVERY = timedelta(minutes=1)  # a sign-in's last use is written down no oftener


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody with an account. `email` is in lower case; the id is what the history names; `language` is
    what they chose to be spoken to in, or empty. Of somebody signed in, `only` is the one project that a
    crew's code lets them see, empty with a password; `unread` counts what they were told and did not read."""

    id: str
    email: str
    name: str
    language: str = ""
    only: str = field(default="", compare=False)
    unread: int = field(default=0, compare=False)


def _person(row: PersonRow) -> Person:
    return Person(row.id, shown_email(row.email), row.name, row.language)


def shown_email(kept: str) -> str:
    """The address as people know it: nothing where somebody has none."""
    return "" if kept.startswith((_ERASED, _NO_EMAIL)) else kept


def add(session: Session, person: Person, password_hash: str, now: datetime) -> None:
    row = PersonRow(
        id=person.id, email=person.email, name=person.name, password_hash=password_hash, made_at=now
    )
    session.add(row)
    session.flush()


def add_without_email(session: Session, person_id: str, name: str, now: datetime) -> Person:
    """Somebody who signs in by code alone: no address and no password."""
    row = PersonRow(
        id=person_id, email=f"{_NO_EMAIL}{person_id}", name=name, password_hash=NO_HASH, made_at=now
    )
    session.add(row)
    session.flush()
    return _person(row)


def choose_language(session: Session, person_id: str, code: str) -> None:
    session.execute(update(PersonRow).where(col(PersonRow.id) == person_id).values(language=code))


def anyone(session: Session) -> bool:
    return session.exec(select(PersonRow.id).limit(1)).first() is not None


def by_id(session: Session, person_id: str) -> Person | None:
    row = session.get(PersonRow, person_id)
    return None if row is None else _person(row)


def by_email(session: Session, email: str) -> tuple[Person, str] | None:
    """The person with this address, and their password's hash. Nobody answers to what stands for an erased
    one, or for none."""
    if email.startswith((_ERASED, _NO_EMAIL)):
        return None
    row = session.exec(select(PersonRow).where(PersonRow.email == email)).first()
    return None if row is None else (_person(row), row.password_hash)


def erase(session: Session, person_id: str) -> None:
    """All that is left of a person is the id that histories name: no name, no address, no way to sign in."""
    row = session.get_one(PersonRow, person_id)
    session.execute(delete(TryRow).where(col(TryRow.subject) == f"email:{row.email}"))
    session.execute(delete(ResetRow).where(col(ResetRow.person_id) == person_id))
    close_sign_ins(session, person_id)
    row.name, row.email, row.password_hash = "", f"{_ERASED}{person_id}", NO_HASH
    session.add(row)
    session.flush()


def set_password(session: Session, person_id: str, password_hash: str) -> None:
    row = session.get_one(PersonRow, person_id)
    row.password_hash = password_hash
    session.add(row)
    session.flush()


def roles_of(session: Session, person_id: str) -> dict[str, str]:
    """Project id to role, for every project the person is on now."""
    wanted = select(MemberRow.project_id, MemberRow.role).where(
        MemberRow.id == person_id, col(MemberRow.role) != GONE
    )
    return dict(session.exec(wanted).all())


def ever_on(session: Session, person_id: str) -> list[str]:
    """Every project this person is or was on."""
    return list(session.exec(select(MemberRow.project_id).where(MemberRow.id == person_id)))


def has_acted(session: Session, person_id: str, project_ids: Iterable[str]) -> bool:
    """True when the history of one of these projects has an entry by this person."""
    wanted = select(EntryRow.seq).where(
        col(EntryRow.project_id).in_(list(project_ids)), EntryRow.by == person_id
    )
    return session.exec(wanted.limit(1)).first() is not None


# --- sign-ins --------------------------------------------------------------------------------------------


def open_sign_in(
    session: Session,
    token_sha256: str,
    person_id: str,
    kind: str,
    now: datetime,
    ends_at: datetime,
    device: str = "",
) -> None:
    row = SignInRow(
        token_sha256=token_sha256, person_id=person_id, kind=kind, made_at=now, ends_at=ends_at,
        last_at=now, device=device,
    )  # fmt: skip
    session.add(row)
    session.flush()


def is_strict(session: Session, person_id: str) -> bool:
    """True for whoever is project manager or inspector of any project."""
    return any(role in (PROJECT_MANAGER, INSPECTOR) for role in roles_of(session, person_id).values())


# Built once, columns and no row objects: it is asked with every request.
SIGNED_IN = (
    columns(  # type: ignore[call-overload]  # columns, not rows
        PersonRow.id,
        PersonRow.email,
        PersonRow.name,
        PersonRow.language,
        SignInRow.last_at,
        func.coalesce(CrewCodeRow.project_id, ""),
        columns(func.count())
        .select_from(TellingRow)
        .where(
            col(TellingRow.person_id) == PersonRow.id,
            col(TellingRow.way) == "page",
            col(TellingRow.state) == "new",
        )
        .scalar_subquery(),
    )
    .join(SignInRow, col(SignInRow.person_id) == PersonRow.id)
    .outerjoin(CrewCodeRow, col(CrewCodeRow.sign_in_sha256) == SignInRow.token_sha256)
    .where(
        SignInRow.token_sha256 == bindparam("token"),
        col(SignInRow.ends_at) > bindparam("now"),
        or_(
            col(SignInRow.kind) == CODE,
            and_(
                col(SignInRow.made_at) > bindparam("strict_since"),
                func.coalesce(SignInRow.last_at, SignInRow.made_at) > bindparam("used_since"),
            ),
            not_(
                exists().where(
                    col(MemberRow.id) == PersonRow.id,
                    or_(col(MemberRow.role) == PROJECT_MANAGER, col(MemberRow.role) == INSPECTOR),
                )
            ),
        ),
        or_(
            col(SignInRow.kind) == bindparam("kind"),
            # By code: as long as its person is crew lead of its project.
            and_(
                bindparam("kind") == "page",
                col(SignInRow.kind) == CODE,
                exists().where(
                    col(MemberRow.project_id) == CrewCodeRow.project_id,
                    col(MemberRow.id) == PersonRow.id,
                    col(MemberRow.role) == CREW_LEAD,
                ),
            ),
        ),
    )
)


def signed_in(session: Session, token_sha256: str, kind: str, now: datetime) -> tuple[Person, bool] | None:
    """Whose sign-in this is, while it lasts, and whether its use is to be noted again. One statement. A page
    takes sign-ins by code, too."""
    found = session.connection().execute(SIGNED_IN, asked_of(token_sha256, kind, now)).first()
    if found is None:
        return None
    return person_of(found, now)


def asked_of(token_sha256: str, kind: str, now: datetime) -> dict[str, Any]:
    """The parameters of SIGNED_IN."""
    return {
        "token": token_sha256, "kind": kind, "now": now,
        "strict_since": now - STRICT_LASTS, "used_since": now - STRICT_IDLE,
    }  # fmt: skip


def person_of(found: Sequence[Any], now: datetime) -> tuple[Person, bool]:
    """A row of SIGNED_IN: the person, and whether their use of it is to be written down again."""
    person_id, email, name, language, last_at, only, unread = found
    person = Person(person_id, shown_email(email), name, language, only, unread)
    return person, last_at is None or last_at <= now - NOTED_EVERY


def note_use(session: Session, token_sha256: str, now: datetime) -> None:
    session.execute(update(SignInRow).where(col(SignInRow.token_sha256) == token_sha256).values(last_at=now))


def sign_ins_of(session: Session, person_id: str, now: datetime) -> list[SignInRow]:
    """A person's sign-ins that can still be used, the newest first; not those that are half done."""
    wanted = select(SignInRow).where(
        SignInRow.person_id == person_id,
        col(SignInRow.ends_at) > now,
        col(SignInRow.kind).in_(("page", "api", CODE)),
    )
    rows = session.exec(wanted.order_by(col(SignInRow.made_at).desc(), col(SignInRow.token_sha256)))
    strict = is_strict(session, person_id)

    def lasts(row: SignInRow) -> bool:
        idle = now - (row.last_at or row.made_at)
        return row.kind == CODE or (now - row.made_at < STRICT_LASTS and idle < STRICT_IDLE)

    return [row for row in rows if not strict or lasts(row)]


def close_sign_in(session: Session, token_sha256: str) -> bool:
    """End one. False where it had ended."""
    ended = session.execute(delete(SignInRow).where(col(SignInRow.token_sha256) == token_sha256))
    return bool(ended.rowcount == 1)  # type: ignore[attr-defined]  # a DELETE counts its rows


def close_sign_ins(session: Session, person_id: str, but: str | None = None) -> None:
    """End every sign-in of a person, but the one whose token has this SHA-256."""
    ended = delete(SignInRow).where(col(SignInRow.person_id) == person_id)
    session.execute(ended if but is None else ended.where(col(SignInRow.token_sha256) != but))


def forget_ended(session: Session, now: datetime) -> None:
    """Sign-ins and reset links whose time is over leave the tables."""
    session.execute(delete(SignInRow).where(col(SignInRow.ends_at) <= now))
    session.execute(delete(ResetRow).where(col(ResetRow.ends_at) <= now))


# --- failed tries ----------------------------------------------------------------------------------------


def tries(session: Session, subject: str, since: datetime) -> tuple[int, datetime | None]:
    """How many tries failed since a moment, and when the first of them was."""
    wanted = select(func.count(), func.min(TryRow.at)).where(
        TryRow.subject == subject, col(TryRow.at) > since
    )
    count, first = session.exec(wanted).one()
    return count, first


def note_try(session: Session, subject: str, now: datetime) -> int:
    """Count a try as failed until it is taken back; its id."""
    row = TryRow(subject=subject, at=now)
    session.add(row)
    session.flush()
    assert row.id is not None
    return row.id


def take_back_tries(session: Session, ids: Iterable[int]) -> None:
    session.execute(delete(TryRow).where(col(TryRow.id).in_(list(ids))))


def forget_tries(session: Session, before: datetime) -> None:
    session.execute(delete(TryRow).where(col(TryRow.at) <= before))


# --- reset links -----------------------------------------------------------------------------------------


def add_reset(session: Session, token_sha256: str, person_id: str, now: datetime, ends_at: datetime) -> None:
    session.add(ResetRow(token_sha256=token_sha256, person_id=person_id, made_at=now, ends_at=ends_at))
    session.flush()


def reset_of(session: Session, token_sha256: str, now: datetime) -> Person | None:
    """Whom a reset link is for, while it can still be used."""
    wanted = (
        select(PersonRow)
        .join(ResetRow, col(ResetRow.person_id) == PersonRow.id)
        .where(
            ResetRow.token_sha256 == token_sha256,
            col(ResetRow.used_at).is_(None),
            col(ResetRow.ends_at) > now,
        )
    )
    row = session.exec(wanted).first()
    return None if row is None else _person(row)


def spend_resets(session: Session, token_sha256: str, person_id: str, now: datetime) -> bool:
    """Use a link, and the person's other open links with it. False when it was used already."""
    open_link = (col(ResetRow.token_sha256) == token_sha256, col(ResetRow.used_at).is_(None))
    spent = session.execute(update(ResetRow).where(*open_link).values(used_at=now))
    if spent.rowcount != 1:  # type: ignore[attr-defined]  # an UPDATE's result always counts its rows
        return False
    others = update(ResetRow).where(col(ResetRow.person_id) == person_id, col(ResetRow.used_at).is_(None))
    session.execute(others.values(used_at=now))
    return True
