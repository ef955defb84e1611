"""Second factors and recovery codes as rows, one person's each."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete, func, update
from sqlmodel import Session, col, select

from service.storage.tables.factors import CompanySignInRow, RecoveryCodeRow, SecondFactorRow

CODES, PASSKEY = "codes", "passkey"


@dataclass(frozen=True, slots=True)
class SecondFactor:
    """See `SecondFactorRow`. `used_at` None: never asked for yet."""

    id: str
    person_id: str
    kind: str
    name: str
    secret: str
    credential: str | None
    counter: int
    made_at: datetime
    used_at: datetime | None = None


def of(session: Session, person_id: str, *, proven: bool = True) -> list[SecondFactor]:
    """A person's, the oldest first; or, not `proven`, what they are setting up."""
    wanted = select(SecondFactorRow).where(
        SecondFactorRow.person_id == person_id, col(SecondFactorRow.proven).is_(proven)
    )
    rows = session.exec(wanted.order_by(col(SecondFactorRow.made_at), col(SecondFactorRow.id)))
    return [
        SecondFactor(
            r.id, r.person_id, r.kind, r.name, r.secret, r.credential, r.counter, r.made_at, r.used_at
        )
        for r in rows
    ]


def has(session: Session, person_id: str) -> bool:
    wanted = select(SecondFactorRow.id).where(
        SecondFactorRow.person_id == person_id, col(SecondFactorRow.proven).is_(True)
    )
    return session.exec(wanted.limit(1)).first() is not None


def known_credential(session: Session, credential: str) -> bool:
    """True for a passkey that is somebody's already."""
    wanted = select(SecondFactorRow.id).where(SecondFactorRow.credential == credential)
    return session.exec(wanted).first() is not None


def add(session: Session, factor: SecondFactor, *, proven: bool) -> None:
    row = SecondFactorRow(
        id=factor.id, person_id=factor.person_id, kind=factor.kind, name=factor.name, secret=factor.secret,
        credential=factor.credential, counter=factor.counter, proven=proven, made_at=factor.made_at,
    )  # fmt: skip
    session.add(row)
    session.flush()


def drop_unproven(session: Session, person_id: str) -> None:
    mine = (col(SecondFactorRow.person_id) == person_id, col(SecondFactorRow.proven).is_(False))
    session.execute(delete(SecondFactorRow).where(*mine))


def prove(session: Session, factor_id: str, name: str) -> None:
    """It counts from now on, by this name."""
    now_so = update(SecondFactorRow).where(col(SecondFactorRow.id) == factor_id)
    session.execute(now_so.values(proven=True, name=name))


def move_on(session: Session, factor: SecondFactor, counter: int, now: datetime) -> bool:
    """Count it as used up to `counter`. False where it was used meanwhile: this use then counts not."""
    still = (col(SecondFactorRow.id) == factor.id, col(SecondFactorRow.counter) == factor.counter)
    moved = session.execute(update(SecondFactorRow).where(*still).values(counter=counter, used_at=now))
    return bool(moved.rowcount == 1)  # type: ignore[attr-defined]  # an UPDATE counts its rows


def remove(session: Session, factor_id: str) -> None:
    session.execute(delete(SecondFactorRow).where(col(SecondFactorRow.id) == factor_id))


def forget_factors(session: Session, person_id: str) -> None:
    """Every factor of theirs and every recovery code."""
    session.execute(delete(SecondFactorRow).where(col(SecondFactorRow.person_id) == person_id))
    session.execute(delete(RecoveryCodeRow).where(col(RecoveryCodeRow.person_id) == person_id))


def forget_person(session: Session, person_id: str) -> None:
    """These, and who they are at a company's provider."""
    forget_factors(session, person_id)
    session.execute(delete(CompanySignInRow).where(col(CompanySignInRow.person_id) == person_id))


# --- recovery codes --------------------------------------------------------------------------------------


def set_recovery(session: Session, person_id: str, sha256s: Iterable[str]) -> None:
    """These take the place of all there were."""
    session.execute(delete(RecoveryCodeRow).where(col(RecoveryCodeRow.person_id) == person_id))
    session.add_all(RecoveryCodeRow(code_sha256=sha256, person_id=person_id) for sha256 in sha256s)
    session.flush()


def recovery_left(session: Session, person_id: str) -> int:
    wanted = select(func.count()).where(RecoveryCodeRow.person_id == person_id)
    return session.exec(wanted).one()


def spend_recovery(session: Session, person_id: str, sha256: str) -> bool:
    """Use one up. False where it is none of theirs, or was used."""
    mine = (col(RecoveryCodeRow.person_id) == person_id, col(RecoveryCodeRow.code_sha256) == sha256)
    gone = session.execute(delete(RecoveryCodeRow).where(*mine))
    return bool(gone.rowcount == 1)  # type: ignore[attr-defined]  # a DELETE counts its rows


# --- who somebody of a company's provider is -------------------------------------------------------------


def person_of(session: Session, issuer: str, subject: str) -> str | None:
    row = session.get(CompanySignInRow, (issuer, subject))
    return None if row is None else row.person_id


def link(session: Session, issuer: str, subject: str, person_id: str, now: datetime) -> None:
    session.add(CompanySignInRow(issuer=issuer, subject=subject, person_id=person_id, made_at=now))
    session.flush()
