"""One cell of the permission matrix: what the table of rights says of it, and whether the answer fits."""

from __future__ import annotations

from dataclasses import dataclass

import httpx

from service.domain.nouns import roles
from tests.whole.routes import OPEN, SIGNED, Row
from tests.whole.stage import Actor, Stage

RANDOM = "0123456789abcdef0123"  # an id of nothing, of the length of an id
PICTURED = {"level": "0", "x": "0", "y": "0"}
CALENDAR_LINKS = "/projects/{project_id}/calendar-links"
PASSWORD_ONLY = frozenset(
    ("/projects/new", CALENDAR_LINKS, CALENDAR_LINKS + "/{calendar_id}/end")
)  # about more than the project of a crew's code, as is everything below /account
COUNTED = frozenset(("seq", "size", "old"))  # places in a history, which are no things by themselves


# --- what is expected ------------------------------------------------------------------------------------

ALLOWED, SIGN_IN, NOT_YOURS, TOO_LOW = "allowed", "sign in", "nothing here", "role too low"


def expected(row: Row, actor: Actor) -> str:
    """What the one table of rights says of this cell."""
    if row.action == OPEN:
        return ALLOWED
    if not actor.signed or (actor.by_code and row.program):
        return SIGN_IN
    if actor.by_code and (row.path in PASSWORD_ONLY or row.path.startswith("/account")):
        return TOO_LOW
    if row.own:
        return ALLOWED if actor.name == row.own else NOT_YOURS
    if row.action == SIGNED:
        return ALLOWED
    if not actor.here:
        return NOT_YOURS
    may = roles.may(actor.here, row.action)
    if may and row.made:
        maker = {roles.CREW_LEAD: "the crew lead", roles.INSPECTOR: "the inspector"}[row.made]
        own = actor.person_id if actor.name == maker else "somebody else"
        if row.action == "take a second look":
            may = roles.may_look(actor.here, actor.person_id, own)
        else:
            may = roles.may_withdraw(actor.here, actor.person_id, own, row.made)
    return ALLOWED if may else TOO_LOW


# --- one cell --------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Cell:
    row: Row
    actor: Actor
    expected: str


def faults(stage: Stage, cell: Cell) -> list[str]:
    """What is wrong with the answer to one request; the database is put back where it was allowed."""
    row = cell.row
    ids = stage.ids | PICTURED
    before, logged = stage.digest(), len(stage.lines)
    with stage.client(cell.actor, row.program) as client:
        answer = row.send(client, ids)
        lines = stage.lines[logged:]
        found = judge(cell, answer)
        if cell.expected == NOT_YOURS:
            found += told_apart(row, client, ids, answer)
    if cell.expected != ALLOWED and stage.digest() != before:
        found.append("a refused request changed the database")
    if [(line["method"], line["status"]) for line in lines] != [(row.method, answer.status_code)]:
        found.append(f"the request is not one line of the log: {lines}")
    if cell.expected == ALLOWED or found:
        stage.put_back()
    return [f"{row} by {cell.actor.name}: {fault}" for fault in found]


def judge(cell: Cell, answer: httpx.Response) -> list[str]:
    status, row = answer.status_code, cell.row
    blob = row.path.startswith("/blobs/")  # asked by a script alone; of others' photos it tells nothing
    to_sign_in = status == 303 and answer.headers["location"].startswith("/sign-in?")
    match cell.expected:
        case "sign in":
            right = status == 401 if row.program or blob else to_sign_in
        case "nothing here":
            right = status == 404
        case "role too low":
            right = status == 403
        case _:
            strict = row.action not in (OPEN, SIGNED)
            fine = (200, 201, 303, 401, 422, *((404,) if blob else ()))
            right = (status < 400 and not to_sign_in) if strict else status in fine
    return [] if right else [f"{status} where {cell.expected} was due: {answer.text[:200]}"]


def told_apart(row: Row, client: httpx.Client, ids: dict[str, str], answer: httpx.Response) -> list[str]:
    """The answer must have the bytes that a thing nobody has would get."""
    things = [name for name in row.names if name not in PICTURED and name not in COUNTED]
    nothing = ids | {row.ids.get(name, name): RANDOM for name in things}
    other = row.send(client, ids, row.address(nothing))
    same = (other.status_code, other.content) == (answer.status_code, answer.content)
    return [] if same else ["a thing that is not theirs is told apart from one that is not there"]
