"""Two people at once: what races a release, how a race is run, and what must be found afterwards."""

from __future__ import annotations

import copy
import random
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, fields
from functools import partial
from typing import cast
from unittest import mock

from pysqlite3 import dbapi2
from sqlalchemy import create_engine
from sqlmodel import Session

from service.actions.film import film
from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.installed import hold_points, penetrations, seams, terminations
from service.actions.marks import defects, looks, patches, repairs
from service.actions.office import numbers, projects, release
from service.actions.people import people
from service.actions.sketches import sketches, zones
from service.domain.nouns.roles import CREW_LEAD, PROJECT_MANAGER
from service.domain.nouns.rules import STEPS
from service.domain.nouns.site import Site
from service.domain.words.refusals import Refusal
from service.history.facts.entries import Entry
from service.history.facts.facts import ZoneReleased
from service.history.replay.replay import apply
from service.history.replay.standing import GATES, READY, digest_of, standing_of
from service.media.picture import Picture
from service.storage.doors.database import Database
from service.storage.doors.keys import Keyring
from service.storage.history import books, slices
from service.storage.history.heads import Head
from service.storage.tables.tables import ProjectRow
from tests.builders import COLLAR, HOLE, WIDTH_PX, a_mark, a_patch, sides
from tests.whole.race_ground import WALKED, WORK, Ground, Plot

FULL, HALF = (0, 0), (1000, 0)
Act = Callable[[], object]
Change = Callable[[Desk, Ground, Plot], object]


def _align(desk: Desk, ground: Ground, plot: Plot) -> object:
    """A newer picture, half a pixel to the side."""
    picture = Picture(WIDTH_PX, 2000, 5, 256, "png", 256, 171)
    old, new = ((0, 0), (1000, 0)), ((0, 0), (1000, 1))
    return sketches.settle_revision(
        desk, ground.cast.manager.id, plot.sketch, "1" * 64, None, old, new, picture
    )


def _redraw(desk: Desk, ground: Ground, plot: Plot) -> object:
    outline = [(x / 1000, y / 1000 + (1 if y > 400_000 else 0)) for x, y in plot.zone.outline]
    return zones.change_zone(desk, ground.cast.manager.id, plot.zone.id, outline=outline)


def _place_a_pipe(zone: str, at: tuple[float, float]) -> Change:
    def place(desk: Desk, ground: Ground, plot: Plot) -> object:
        given = {"kind": "steel pipe", "size": "4", "at": list(at)}
        where = getattr(plot, zone).id
        return penetrations.place_penetrations(desk, ground.cast.lead.id, where, given)

    return place


def _raise_the_sheet(desk: Desk, ground: Ground, plot: Plot) -> object:
    by, project = ground.cast.manager.id, ground.cast.project_id
    return projects.change_rule_sheet(desk, by, project, {"patch_overlap": "12 in"})


def _take_off(desk: Desk, ground: Ground, plot: Plot) -> None:
    """The one who releases is taken off the project by another manager."""
    people.take_off(desk, ground.second, ground.cast.project_id, ground.cast.manager.id)


def _make_a_lead(desk: Desk, ground: Ground, plot: Plot) -> None:
    """The one who releases may do so no more."""
    cast = ground.cast
    people.change_role(desk, ground.second, cast.project_id, cast.manager.id, CREW_LEAD)


# Whatever moves a clear zone's facts, or takes away who may release it. `cast.manager` releases.
CHANGES: dict[str, Change] = {
    "a mark": lambda d, g, p: a_mark(d, g.cast, p.zone, (400, 400), "hole", HOLE),
    "a mark across the joint": lambda d, g, p: a_mark(d, g.cast, p.beside, (500.5, 400)),
    "a mark withdrawn": lambda d, g, p: defects.withdraw_defect(d, g.cast.manager.id, p.mended, "twice"),
    "a patch withdrawn": lambda d, g, p: patches.withdraw_patch(d, g.cast.manager.id, p.patch, "came off"),
    "a second patch": lambda d, g, p: a_patch(
        d, g.cast, g.site.defects[p.mark], sides() | {"lot": g.site.lots[p.lot].number}
    ),
    "a patch refused": lambda d, g, p: looks.look_at_patch(
        d, g.cast.inspector.id, p.patch, False, "a corner stands up"
    ),
    "a repair withdrawn": lambda d, g, p: repairs.withdraw_repair(
        d, g.cast.manager.id, p.mended, p.repair, "came undone"
    ),
    "a repair refused": lambda d, g, p: looks.look_at_repair(
        d, g.cast.inspector.id, p.mended, p.repair, False, "not bonded"
    ),
    "a hold": lambda d, g, p: zones.hold_zone(d, g.cast.inspector.id, p.zone.id, "storm", "hail"),
    "a hold point refused": lambda d, g, p: hold_points.sign_hold_point(
        d, g.cast.inspector.id, p.zone.id, STEPS[0], False, "soft by the door"
    ),
    "numbers raised": lambda d, g, p: numbers.raise_numbers(
        d, g.cast.manager.id, p.zone.id, {"tape_width": {"value": "5 in", "source": "S-101"}}
    ),
    "a new outline": _redraw,
    "a zone withdrawn": lambda d, g, p: zones.withdraw_zone(d, g.cast.manager.id, p.zone.id, "drawn twice"),
    "a scale": lambda d, g, p: sketches.set_scale(d, g.cast.manager.id, p.sketch, FULL, HALF, "101 ft"),
    "a newer picture": _align,
    "a pipe": _place_a_pipe("zone", (250, 400)),
    "a pipe across the joint": _place_a_pipe("beside", (501, 450)),
    "a pipe withdrawn": lambda d, g, p: penetrations.withdraw_penetration(
        d, g.cast.manager.id, p.pipe, "not there"
    ),
    "a pipe's seal withdrawn": lambda d, g, p: penetrations.withdraw_seal(
        d, g.cast.manager.id, p.pipe, "torn off"
    ),
    "a pipe sealed badly": lambda d, g, p: penetrations.log_seal(
        d, g.cast.lead.id, p.pipe, COLLAR | {"dry": False}
    ),
    "a seam drawn": lambda d, g, p: seams.draw_seams(
        d, g.cast.lead.id, p.zone.id, {"path": [[150, 400], [450, 400]]}
    ),
    "a seam walked badly": lambda d, g, p: seams.walk_seam(
        d, g.cast.lead.id, p.seam, WALKED | {"taped": False}
    ),
    "a seam withdrawn": lambda d, g, p: seams.withdraw_seam(d, g.cast.manager.id, p.seam, "drawn twice"),
    "an edge sealed badly": lambda d, g, p: terminations.seal_edge(
        d, g.cast.lead.id, p.edge, {"sealed": False, **WORK}
    ),
    "an edge's seal withdrawn": lambda d, g, p: terminations.unseal_edge(
        d, g.cast.manager.id, p.edge, "came loose"
    ),
    "an edge withdrawn": lambda d, g, p: terminations.withdraw_edge(
        d, g.cast.manager.id, p.edge, "wrong side"
    ),
    "a lot withdrawn": lambda d, g, p: film.withdraw_lot(d, g.cast.manager.id, p.lot, "wrong number"),
    "film taken up": lambda d, g, p: film.withdraw_laying(
        d, g.cast.manager.id, p.zone.id, p.laying, "next door"
    ),
    # These reach past the plot they are raced on, and are put back after the race: they come last.
    "a higher rule sheet": _raise_the_sheet,
    "the releaser taken off": _take_off,
    "the releaser made a crew lead": _make_a_lead,
}


def put_back(desk: Desk, ground: Ground, name: str) -> None:
    """Undo what a change did past its plot, so that the next race starts as this one did."""
    cast, project = ground.cast, ground.cast.project_id
    with suppress(Refusal):  # it lost its race, and there is nothing to undo
        if name == "a higher rule sheet":
            projects.change_rule_sheet(desk, cast.manager.id, project, {"patch_overlap": "6 in"})
        elif name == "the releaser taken off":
            people.invite(desk, ground.second, project, cast.manager.email, PROJECT_MANAGER)
        elif name == "the releaser made a crew lead":
            people.change_role(desk, ground.second, project, cast.manager.id, PROJECT_MANAGER)


# --- one race --------------------------------------------------------------------------------------------


def at_once(acts: Sequence[Act], draw: random.Random) -> list[object]:
    """All from one barrier, each with a drawn head start: what each gave, or the refusal it met.

    Whoever reaches a barrier last leaves it first: without head starts one side wins every race. Anything
    that is no refusal is trouble, and raised.
    """
    start, gave = threading.Barrier(len(acts)), list[object]([None] * len(acts))

    def run(number: int, head_start: float) -> None:
        start.wait()
        time.sleep(head_start)
        try:
            gave[number] = acts[number]()
        except Refusal as refused:
            gave[number] = refused
        except BaseException as trouble:
            gave[number] = Trouble(trouble)

    threads = [
        threading.Thread(target=run, args=(number, draw.uniform(0, 0.006))) for number in range(len(acts))
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return gave


@dataclass(frozen=True)
class Trouble:
    """What an act met that is no refusal."""

    what: BaseException


def releasing(desk: Desk, ground: Ground, plot: Plot) -> Act:
    """The release of the plot's zone as it stands now."""
    by = ground.cast.manager.id
    digest = zone_view(desk, by, plot.zone.id).standing.digest
    return lambda: release.release_zone(desk, by, plot.zone.id, digest, "seen")


@dataclass
class Tally:
    """How the races of one change went."""

    rounds: int = 0
    released: int = 0
    changed: int = 0


def race_all(one: Desk, other: Desk, ground: Ground, seed: int, tallies: dict[str, Tally]) -> list[Trouble]:
    """Each change against the release of a plot of its own; the two sides are two programs' databases."""
    met: list[Trouble] = []
    for (name, change), plot in zip(CHANGES.items(), ground.plots, strict=False):
        draw, tally = random.Random(f"{name} {seed}"), tallies.setdefault(name, Tally())
        release_it = releasing(one.fresh(), ground, plot)
        change_it = partial(change, other.fresh(), ground, plot)
        gave = at_once((release_it, change_it), draw)
        met += [each for each in gave if isinstance(each, Trouble)]
        tally.rounds += 1
        tally.released += not isinstance(gave[0], Refusal | Trouble)
        tally.changed += not isinstance(gave[1], Refusal | Trouble)
        put_back(other.fresh(), ground, name)
    return met


# --- what must be found afterwards -----------------------------------------------------------------------


def after(desk: Desk, ground: Ground) -> list[Entry]:
    """The entries since the ground was laid out."""
    with desk.reading() as session:
        return books.entries(session, ground.cast.project_id, after=ground.head)


def site_of(ground: Ground) -> Site:
    """The ground's site, to be moved on: its shelves are copied, what stands on them is frozen."""
    return Site(**{f.name: copy.copy(getattr(ground.site, f.name)) for f in fields(Site)})


def wrong_in(ground: Ground, entries: Sequence[Entry]) -> list[str]:
    """Every release that names facts which were not the zone's just before it, that the gate held, that is of
    a zone off the sketch, or that was given by somebody who may not; and every gap in the numbers."""
    site, found = site_of(ground), list[str]()
    for place, entry in enumerate(entries, ground.head + 1):
        if entry.seq != place:
            found.append(f"{entry.seq} where {place} was due")
        if isinstance(entry.fact, ZoneReleased):
            found += [f"{entry.seq} zone {entry.fact.letter}: {fault}" for fault in _faults(site, entry)]
        apply(site, entry)
    return found


def _faults(site: Site, entry: Entry) -> Iterator[str]:
    fact = entry.fact
    assert isinstance(fact, ZoneReleased)
    facts = GATES[fact.version].gather(site, fact.zone)
    if digest_of(facts, fact.version) != fact.digest:
        yield "its facts had moved"
    if GATES[fact.version].decide(facts)[0]:
        yield "the gate held it"
    if site.zones[fact.zone].withdrawn is not None:
        yield "it was off the sketch"
    if site.members[entry.by].role != PROJECT_MANAGER:
        yield "who released it may not"


def ready_though_held(desk: Desk, ground: Ground) -> list[str]:
    """Letters of zones that the tables call ready to place while the gate finds something."""
    with desk.reading() as session:
        site = slices.whole_site(session, ground.cast.project_id)
    stands = (standing_of(site, plot.zone.id) for plot in ground.plots)
    return [each.zone.letter for each in stands if each.state == READY and each.blockers]


def tables_differ(desk: Desk, ground: Ground, entries: Sequence[Entry]) -> bool:
    """Whether the tables are anything else than a replay of the history gives."""
    site = site_of(ground)
    for entry in entries:
        apply(site, entry)
    with desk.reading() as session:
        return site != slices.whole_site(session, ground.cast.project_id)


# --- the protection taken away ---------------------------------------------------------------------------


class Unprotected(Database):
    """A database whose writes begin where they write, not where they read: the sqlite3 module's own way, and
    no lock before the look (`late_lock`). What it lets through is what the tests must see."""

    def __init__(self, url: str, keys: Keyring) -> None:
        super().__init__(url, keys)
        if self.is_sqlite:
            self.close()
            arguments = {"timeout": 30, "check_same_thread": False}
            self.engine = create_engine(url, module=dbapi2, connect_args=arguments)
            # The lock within the process is passed by: each holder gets one of its own.
            self._writer = cast(threading.Lock, _NoLock())


class _NoLock:
    def acquire(self, timeout: float = -1) -> bool:
        return True

    def release(self) -> None: ...


_lock_head = books.lock_head


def late_lock(session: Session, project_id: str) -> Head:
    """The head is locked and read when something is appended, and not before what it rests on is read."""
    if session.info.setdefault("looked", False):
        session.expire_all()
        raw = session.connection().connection.dbapi_connection
        if isinstance(raw, dbapi2.Connection) and not raw.in_transaction:
            raw.execute("BEGIN IMMEDIATE")
        return _lock_head(session, project_id)
    session.info["looked"] = True
    time.sleep(0.005)  # as on a machine with other work to do
    found = session.get(ProjectRow, project_id)
    assert found is not None
    return Head(found.id, found.seq, found.last_at, found.peaks, found.note, found.key)


@contextmanager
def no_protection() -> Iterator[None]:
    with mock.patch.object(books, "lock_head", late_lock):
        yield
