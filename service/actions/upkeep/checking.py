"""Hold the tables against the history: a replay of every entry must give exactly what the tables say, and the
tree and its checkpoints must be those of the entries."""

from __future__ import annotations

from dataclasses import dataclass

from sqlmodel import Session

from service.actions.frame.desk import Desk
from service.actions.upkeep.checking_signed import signed_faults
from service.domain.nouns.site import SHELVES, Site
from service.history.facts.entries import leaf_hash
from service.history.replay.replay import replay
from service.storage.history import books, ledger, slices
from service.storage.history.filing import misfiled


@dataclass(frozen=True, slots=True)
class Checked:
    """`faults`: one sentence for everything that does not fit; none when all is well."""

    projects: int
    entries: int
    faults: tuple[str, ...]


def check_histories(desk: Desk) -> Checked:
    """Every project, each in one consistent view of the database."""
    with desk.reading() as session:
        ids = ledger.project_ids(session)
    entries, faults = 0, []
    for project_id in ids:
        with desk.reading() as session:
            count, found = _check(session, project_id)
        entries += count
        faults += [f"Project {project_id}: {words}" for words in found]
    return Checked(len(ids), entries, tuple(faults))


def _check(session: Session, project_id: str) -> tuple[int, list[str]]:
    faults = _leaves_and_order(session, project_id)
    try:
        history = books.entries(session, project_id)
        replayed = replay(history)
    except (ValueError, TypeError, KeyError, AttributeError, AssertionError) as trouble:
        return 0, [*faults, f"its history cannot be replayed ({type(trouble).__name__}: {trouble})."]
    if len(history) != books.head(session, project_id):
        faults.append(
            f"its head says {books.head(session, project_id)} entries, and there are {len(history)}."
        )
    faults += signed_faults(session, project_id, history)
    faults += differences(replayed, slices.whole_site(session, project_id))
    for kind, noun_id in misfiled(session, project_id):
        faults.append(f"{kind} {noun_id} is filed where its history does not put it.")
    return len(history), faults


def _leaves_and_order(session: Session, project_id: str) -> list[str]:
    faults: list[str] = []
    for place, (seq, content, leaf) in enumerate(ledger.leaves(session, project_id), start=1):
        if seq != place:
            return [*faults, f"entry {place} is missing: the next is {seq}."]
        if leaf_hash(content) != leaf:
            faults.append(f"entry {seq} is not what was recorded: its hash differs.")
    return faults


def differences(replayed: Site, kept: Site) -> list[str]:
    """A sentence for every noun that the history and the tables do not agree on."""
    faults = []
    if replayed.project != kept.project:
        faults.append("its own row differs from its history.")
    for kind, shelf in SHELVES.items():
        told, there = getattr(replayed, shelf), getattr(kept, shelf)
        for noun_id in sorted(told.keys() | there.keys()):
            if told.get(noun_id) != there.get(noun_id):
                faults.append(f"{kind.__name__.lower()} {noun_id} {_how(noun_id in told, noun_id in there)}.")
    return faults


def _how(told: bool, there: bool) -> str:
    if told and there:
        return "differs from its history"
    return "is in the history and not in the tables" if told else "is in the tables and not in the history"
