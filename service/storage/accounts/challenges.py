"""What is given out once and is to come back once, and soon: kept as its SHA-256, gone when it is used."""

from datetime import datetime

from sqlalchemy import delete
from sqlmodel import Session, col, select

from service.storage.tables.factors import ChallengeRow


def give(session: Session, sha256: str, purpose: str, about: str, now: datetime, ends_at: datetime) -> None:
    """Keep one. Those whose time is over leave the table."""
    session.execute(delete(ChallengeRow).where(col(ChallengeRow.ends_at) <= now))
    session.add(ChallengeRow(sha256=sha256, purpose=purpose, about=about, ends_at=ends_at))
    session.flush()


def spend(session: Session, sha256: str, purpose: str, now: datetime) -> str | None:
    """What it was given out for, and it is gone. None where it was used, is too old, or none of ours."""
    row = session.exec(select(ChallengeRow).where(ChallengeRow.sha256 == sha256)).first()
    if row is None or row.purpose != purpose or row.ends_at <= now:
        return None
    about = row.about
    gone = session.execute(delete(ChallengeRow).where(col(ChallengeRow.sha256) == sha256))
    return about if gone.rowcount == 1 else None  # type: ignore[attr-defined]  # a DELETE counts its rows
