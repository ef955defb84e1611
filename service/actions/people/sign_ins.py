"""One's own open sign-ins: what stands open and since when, ended one by one or all but this one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from service.actions.entrance import accounts
from service.actions.entrance.accounts import token_sha256
from service.actions.frame.desk import Desk
from service.actions.office.projects import my_projects
from service.domain.words.refusals import NotFound
from service.storage.accounts import people


@dataclass(frozen=True, slots=True)
class OpenSignIn:
    """`kind`: `page`, `api` or `code`; `here`: the one that asks; `last_at`: to the minute."""

    id: str
    kind: str
    device: str
    made_at: datetime
    last_at: datetime
    here: bool


def my_sign_ins(desk: Desk, by: str, token: str) -> list[OpenSignIn]:
    """The newest first. Not for who is signed in by a code: others may be, by the same name."""
    accounts.not_by_code(desk)
    here = token_sha256(token)
    with desk.reading() as session:
        return [
            OpenSignIn(
                _id(row.token_sha256),
                row.kind,
                row.device,
                row.made_at,
                row.last_at or row.made_at,
                row.token_sha256 == here,
            )
            for row in people.sign_ins_of(session, by, desk.clock())
        ]


def end_one(desk: Desk, by: str, sign_in_id: str) -> None:
    """End one. NotFound where no such one of theirs is open."""
    accounts.not_by_code(desk)
    with desk.writing() as session:
        for row in people.sign_ins_of(session, by, desk.clock()):
            if _id(row.token_sha256) == sign_in_id:
                people.close_sign_in(session, row.token_sha256)
                return
    raise NotFound


def end_others(desk: Desk, by: str, token: str) -> None:
    """End all of theirs but the one that asks."""
    accounts.not_by_code(desk)
    with desk.writing() as session:
        people.close_sign_ins(session, by, but=token_sha256(token))


def time_zone_of(desk: Desk, by: str) -> str:
    """The time zone that times are told in where they are about no project: of the first one."""
    return next((seen.project.time_zone for seen in my_projects(desk, by)), "UTC")


def _id(sha256: str) -> str:
    """What a sign-in is called on pages. The token cannot be told from half of its hash."""
    return sha256[:20]
