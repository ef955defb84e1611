"""What a page of a project is made from, read in one statement: while it stands, the page stays as it is."""

from __future__ import annotations

from service.actions.entrance import accounts
from service.actions.frame.desk import Desk
from service.storage.accounts.glances import KINDS, Glance, glance_at

__all__ = ["KINDS", "Glance", "glance", "waits"]


def waits(desk: Desk) -> bool:
    """Whether a glance has to wait for another machine, and belongs in a thread."""
    return not desk.database.is_sqlite


def glance(desk: Desk, token: str, subject: str, id: str) -> Glance | None:
    """Who looks by this token of a browser, in which role, and how far the history of the project has come
    that a thing (`subject`: a key of KINDS) belongs to. None for whoever may not see it."""
    at = desk.clock()
    return glance_at(desk.database, accounts.token_sha256(token), accounts.PAGE, at, subject, id)
