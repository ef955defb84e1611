"""The ground that races are run on: a project that asks for everything, and zones that are clear under it.

Each plot has a sketch of its own, so that a scale set or a picture aligned anew moves one zone and no other.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from service.actions.film import film
from service.actions.frame.desk import Desk
from service.actions.installed import hold_points, seams, terminations
from service.actions.people import people
from service.domain.nouns.installed import TO_WALL
from service.domain.nouns.roles import PROJECT_MANAGER
from service.domain.nouns.rules import GATE_DEMANDS, LOOK_STEP, STEPS, WALK_STEP
from service.domain.nouns.site import Site, Zone
from service.history.replay.replay import replay
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database
from service.storage.doors.keys import Keyring
from service.storage.history import books
from tests import postgres
from tests.builders import (
    SLIT,
    a_mark,
    a_material,
    a_patch,
    a_pipe,
    a_release,
    a_repair,
    a_sketch,
    a_walk,
    a_zone,
    sides,
)
from tests.cast import Cast, Clock, assemble, enter

HERE = ((100, 100), (500, 100), (500, 500), (100, 500))
BESIDE = ((500, 100), (900, 100), (900, 500), (500, 500))
WORK = {"cleaned": True, "dry": True, "tape_width": "4 in"}
WALKED = {
    "stations": [{"at": f"{at} ft", "lap": "6 in"} for at in (5, 15, 25)], "taped": True, "bonded": True,
    **WORK,
}  # fmt: skip


@dataclass(frozen=True)
class Plot:
    """A zone that is clear, its neighbour, and one of everything in it, by id."""

    zone: Zone
    beside: Zone
    sketch: str
    mark: str
    patch: str
    mended: str
    repair: str
    pipe: str
    seam: str
    edge: str
    lot: str
    laying: str


@dataclass(frozen=True)
class Ground:
    """A data directory, closed, to copy. `second`: another manager. `site`: the project as it is there."""

    folder: Path
    cast: Cast
    second: str
    plots: tuple[Plot, ...]
    site: Site
    head: int


@dataclass(frozen=True)
class Copies:
    """Copies of a ground on one kind of database: in `room` on SQLite, or on a server from a template."""

    ground: Ground
    room: Path
    server: postgres.Server | None = None
    template: str = ""

    @contextmanager
    def copy(self, kind: type[Database] = Database) -> Iterator[tuple[Desk, Desk]]:
        """Two desks on a new copy, each with a database of its own, as two programs have them."""
        keys = Keyring(self.ground.folder / "keys")
        if self.server is None:
            file = self.room / "copy.sqlite3"
            shutil.copy(self.ground.folder / "laptight.sqlite3", file)
            url, name = f"sqlite:///{file}", ""
        else:
            name = self.server.create(self.template)
            url = self.server.url(name)
        both = kind(url, keys), kind(url, keys)
        clock = Clock()
        try:
            yield Desk(both[0], Blobs(self.room), clock), Desk(both[1], Blobs(self.room), clock)
        finally:
            for database in both:
                database.close()
            if self.server is not None:
                self.server.drop(name)
            for left in self.room.glob("copy.sqlite3*"):
                left.unlink()


def lay_out(folder: Path, count: int, *, released: bool = False) -> Ground:
    """So many plots in a migrated SQLite file; `released`: their zones are ready to place."""
    database = Database.at(folder / "laptight.sqlite3")
    desk = Desk(database, Blobs(folder), Clock())
    cast = assemble(desk, demands=GATE_DEMANDS)
    second = enter(desk, "Mia Manager")
    people.invite(desk, cast.manager.id, cast.project_id, second.email, PROJECT_MANAGER)
    material = a_material(desk, cast).id
    plots = tuple(_plot(desk, cast, number, material) for number in range(count))
    if released:
        for plot in plots:
            a_release(desk, cast, plot.zone)
    with desk.reading() as session:
        entries = books.entries(session, cast.project_id)
    database.close()
    return Ground(folder, cast, second.id, plots, replay(entries), len(entries))


def _plot(desk: Desk, cast: Cast, number: int, material: str) -> Plot:
    lead, sketch = cast.lead.id, a_sketch(desk, cast)
    zone = a_zone(desk, cast, sketch, _letter(2 * number), HERE)
    beside = a_zone(desk, cast, sketch, _letter(2 * number + 1), BESIDE)
    mark = a_mark(desk, cast, zone, (200, 200))
    lot = film.receive_lot(desk, lead, material, f"F-{number}", 1)
    patch = a_patch(desk, cast, mark, sides() | {"lot": lot.number})
    mended = a_mark(desk, cast, zone, (200, 430), "short lap", SLIT)
    repair = a_repair(desk, cast, mended)
    pipe = a_pipe(desk, cast, zone, (350, 200))
    (seam,) = seams.draw_seams(desk, lead, zone.id, {"path": [[150, 320], [450, 320]]})
    seams.walk_seam(desk, lead, seam.id, WALKED)
    edges = terminations.describe_edge(desk, lead, zone.id, {"kind": TO_WALL, "edges": [1, 2, 3, 4]})
    sealed = {"sealed": True, **WORK, "also": [edge.id for edge in edges[1:]]}
    terminations.seal_edge(desk, lead, edges[0].id, sealed)
    laying = film.lay_lot(desk, lead, zone.id, lot.id)
    for step in STEPS[: STEPS.index(WALK_STEP)]:
        hold_points.sign_hold_point(desk, lead, zone.id, step, True)
    a_walk(desk, cast, zone)
    hold_points.sign_hold_point(desk, cast.inspector.id, zone.id, LOOK_STEP, True)
    return Plot(
        zone, beside, sketch, mark.id, patch.id, mended.id, repair.id, pipe.id, seam.id, edges[0].id, lot.id,
        laying.id,
    )  # fmt: skip


def _letter(number: int) -> str:
    return chr(65 + number // 26) + chr(65 + number % 26)
