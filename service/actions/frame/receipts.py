"""What a request recorded, told to the phone that sent it: the page it led to, the entry and its hash."""

from __future__ import annotations

import json
from dataclasses import dataclass

from service.actions.frame.desk import Desk
from service.domain.words.refusals import Conflict
from service.history.sentences.sentences import sentence
from service.storage.history import books
from service.storage.history.seen import names_in, project_seen_by


@dataclass(frozen=True, slots=True)
class Kept:
    """The reply kept of a form that landed. `href`: the page it led to; `project`, `seq` and `leaf` (hex) of
    the last entry it appended: empty, 0 and empty where it appended none, or an earlier program kept it."""

    href: str
    project: str = ""
    seq: int = 0
    leaf: str = ""

    def text(self) -> str:
        return json.dumps([self.href, self.project, self.seq, self.leaf], separators=(",", ":"))

    @classmethod
    def read(cls, text: str) -> Kept:
        """From `text()`, or from the bare address that an earlier program kept."""
        return cls(*json.loads(text)) if text.startswith("[") else cls(text)


def kept(desk: Desk, href: str) -> Kept:
    """What the transaction that is open on this desk has recorded so far."""
    with desk.writing() as session:
        last = books.appended(session)
    if last is None:
        return Kept(href)
    project, seq, leaf = last
    return Kept(href, project, seq, leaf.hex())


def words_of(desk: Desk, by: str, landed: Kept) -> str:
    """The sentence of the entry, for one of the project's people. Conflict where nothing was recorded."""
    if not landed.seq:
        raise Conflict("Nothing was recorded by this: it stands like that already.", code="nothing-recorded")
    with desk.reading() as session:
        seen = project_seen_by(session, by, landed.project)
        (entry,) = books.entries(session, landed.project, after=landed.seq - 1, limit=1)
        names = names_in(session, landed.project)
    return sentence(entry, names, seen.project.units)
