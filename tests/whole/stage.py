"""A whole site to attack: two projects, everybody who may and may not, and the database put back at will."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import httpx
from fastapi import FastAPI
from pysqlite3 import dbapi2

from service.actions.entrance import accounts, resets
from service.actions.entrance.accounts import Person
from service.actions.evidence import timestamping
from service.actions.frame import reading
from service.actions.frame.desk import Authority, Desk
from service.actions.marks import defects
from service.actions.marks.defects import PhotoIn
from service.actions.office import ready_lists
from service.actions.people import crew_codes, people
from service.actions.placing import calendars
from service.actions.sketches import sketches, zones
from service.domain.nouns.roles import CREW_LEAD, INSPECTOR, PROJECT_MANAGER
from service.settings import Settings
from service.storage.accounts import factors
from service.storage.accounts.factors import PASSKEY, SecondFactor
from service.storage.history import trees
from service.web.serving.guards import PLAIN_COOKIE
from tests import builders
from tests.api.scene import jpeg
from tests.authority import running
from tests.cast import Cast, Clock, assemble, enter
from tests.in_process import ADDRESS, InProcess, quick_app
from tests.web.sketches.plans import plan_png
from tests.whole.logged import logged

# What a refused request may move: failed sign-ins, sign-ins that ended, and keys of requests under way.
MOVING = frozenset(("try", "sign_in", "request"))
SEAM = ((100, 100), (500, 100), (500, 400), (100, 400))
NEXT = ((500, 100), (900, 100), (900, 400), (500, 400))
SEAM_LINE = ((150, 350), (350, 350))
LOW = ((100, 420), (500, 420), (500, 780), (100, 780))


@dataclass(frozen=True)
class Actor:
    """Somebody who asks. `here`: their role on the project, or nothing; `signed`: signed in at all;
    `by_code`: by a crew's code, for pages of the one project."""

    name: str
    person: Person | None
    here: str = ""
    signed: bool = True
    by_code: bool = False

    @property
    def person_id(self) -> str:
        return self.person.id if self.person else ""


@dataclass
class Stage:
    """The app, ids of things on the project and on the other, every actor, `lines` of the log of requests."""

    app: FastAPI
    desk: Desk
    cast: Cast
    file: Path
    ids: dict[str, str]
    other: dict[str, str]
    actors: list[Actor]
    kept: Path
    counting: list[int]
    watch: Any  # a connection that is asked nothing but whether others have written
    lines: list[dict[str, Any]]
    tokens: dict[tuple[str, str], str] = field(default_factory=dict)
    digested: dict[frozenset[str], tuple[int, str]] = field(default_factory=dict)

    def client(self, actor: Actor, program: bool, kind: str | None = None) -> httpx.Client:
        """A browser (or a program) of this actor. `kind`: how the sign-in is carried, if unlike its own."""
        headers = {} if program else {"Sec-Fetch-Site": "same-origin", "Accept": "text/html"}
        inside = InProcess(self.app, raises=False)
        made = httpx.Client(transport=inside, base_url=ADDRESS, headers=headers, trust_env=False)
        token = self.tokens.get((actor.name, kind or (accounts.PROGRAM if program else accounts.PAGE)))
        if token and program:
            made.headers["Authorization"] = f"Bearer {token}"
        elif token:
            made.cookies.set(PLAIN_COOKIE, token)
        return made

    def sign_everybody_in(self) -> None:
        """One sign-in of each kind an actor, kept with the rest, so that putting back ends none of them."""
        # Whose sign-in ended comes last: every new sign-in sweeps out those that had ended before.
        for actor in sorted(self.actors, key=lambda actor: not actor.signed):
            if actor.person is None:
                continue
            if actor.by_code:
                by, project = self.cast.manager.id, self.cast.project_id
                made = crew_codes.make_code(self.desk.fresh(), by, project, actor.person_id)
                secret, _, _ = crew_codes.use_code(self.desk.fresh(), made.token, "10.0.0.9")
                self.tokens[actor.name, accounts.PAGE] = secret
                continue
            then = Clock(self.desk.clock() - timedelta(days=0 if actor.signed else 31))
            for kind in (accounts.PAGE, accounts.PROGRAM):
                desk = replace(self.desk.fresh(), clock=then)
                self.tokens[actor.name, kind], _ = accounts.open_sign_in(desk, actor.person.id, kind)
        lead = self.tokens["the crew lead", accounts.PROGRAM]
        self.ids["sign_in_id"] = accounts.token_sha256(lead)[:20]

    def keep(self) -> None:
        """Remember the database as it is now."""
        with _open(self.file) as source, _open(self.kept) as into:
            source.backup(into)

    def put_back(self) -> None:
        """The database as it was remembered; ids are given out anew from the same number."""
        with _open(self.kept) as source, _open(self.file) as into:
            source.backup(into)
        self.counting[0] = 1_000_000

    def digest(self, leaving_out: Iterable[str] = ()) -> str:
        """Of every row of every table but those that a refusal may move. Read again only when the file was
        written to since: SQLite's data_version says so to every connection but the one that wrote."""
        left_out = MOVING | frozenset(leaving_out)
        written = int(self.watch.execute("PRAGMA data_version").fetchone()[0])
        if self.digested.get(left_out, (None, ""))[0] != written:
            self.digested[left_out] = written, digest_of(self.file, left_out)
        return self.digested[left_out][1]

    def entries(self) -> int:
        with _open(self.file) as connection:
            return int(connection.execute("SELECT count(*) FROM entry").fetchone()[0])


@contextmanager
def _open(file: Path) -> Iterator[Any]:
    """A connection of its own; sqlite's own block ends a transaction and leaves the connection open."""
    connection = dbapi2.connect(str(file), timeout=30)
    try:
        yield connection
    finally:
        connection.close()


def digest_of(file: Path, leaving_out: Iterable[str]) -> str:
    """A hash of every row of a database, table by table, in the order of their keys."""
    whole = hashlib.sha256()
    with _open(file) as connection:
        names = "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name"
        for (name,) in connection.execute(names).fetchall():
            if name in leaving_out:
                continue
            rows = sorted(map(repr, connection.execute(f'SELECT * FROM "{name}"').fetchall()))
            whole.update(f"{name} {len(rows)}\n{rows}\n".encode())
    return whole.hexdigest()


def set_up(data: Path, clock: Clock) -> Iterator[Stage]:
    """The stage on a data directory with a migrated database; closed when the iterator is."""
    counting = [1]

    def new_id() -> str:
        counting[0] += 1
        return hashlib.sha256(f"{counting[0]}".encode()).hexdigest()[:20]

    app = quick_app(Settings.read(data, environ={"LAPTIGHT_LOG": "json"}), clock=clock, new_id=new_id)
    with running(data / "authority") as authority:
        yield from _on_stage(app, data, counting, Authority(authority.url, authority.chain))


def _on_stage(app: FastAPI, data: Path, counting: list[int], authority: Authority) -> Iterator[Stage]:
    desk: Desk = app.state.desk
    desk.authority = authority
    cast = assemble(desk.fresh())
    ids = _furnish(desk.fresh(), cast, data)
    actors = _actors(desk.fresh(), cast)
    other = _furnish_other(desk.fresh(), cast, data, actors)
    file, kept = data / "laptight.sqlite3", data / "kept.sqlite3"
    with _open(file) as watch, logged() as lines:
        made = Stage(app, desk, cast, file, ids, other, actors, kept, counting, watch, lines)
        made.sign_everybody_in()
        made.keep()
        yield made
    desk.database.close()


def _plan(desk: Desk, by: str, project: str, data: Path) -> str:
    """A sketch with its picture, at 10 px to the foot."""
    source = data / "plan.png"
    source.write_bytes(plan_png())
    made = sketches.add_sketch(desk, by, project, source, "Level 1")
    sketches.set_scale(desk, by, made.id, (0, 0), (1000, 0), "100 ft")
    sketches.lay_grid(desk, by, made.id, [("A", (100, 10), (100, 800)), ("B", (500, 10), (500, 800))])
    return made.id


def _furnish(desk: Desk, cast: Cast, data: Path) -> dict[str, str]:
    """Zone B held with two marks and a patch; C walked and clear; D released; one of everything else."""
    by = cast.manager.id
    sketch = _plan(desk, by, cast.project_id, data)
    held = builders.a_zone(desk, cast, sketch, "B", SEAM)
    clear = builders.a_zone(desk, cast, sketch, "C", NEXT)
    released = builders.a_zone(desk, cast, sketch, "D", LOW)
    mark = builders.a_mark(desk, cast, held, (200, 200))
    patched = builders.a_mark(desk, cast, held, (300, 300))
    seen = builders.a_mark(desk, cast, held, (400, 200), by=cast.inspector.id)
    patch = builders.a_patch(desk, cast, patched, builders.sides("5 3/4 in"))
    mended = builders.a_mark(desk, cast, held, (450, 350), "short lap", builders.SLIT)
    repair = builders.a_repair(desk, cast, mended)
    edge = builders.an_edge(desk, cast, held)
    seam = builders.a_seam(desk, cast, held, SEAM_LINE)
    pipe = builders.a_pipe(desk, cast, held)
    material = builders.a_material(desk, cast)
    lot = builders.a_lot(desk, cast, material)
    laying = builders.a_laying(desk, cast, held, lot)
    layout = builders.a_layout(desk, cast, held, lot)
    weather, depth = builders.a_reading(desk, cast, held), builders.a_thickness(desk, cast, held)
    for zone in (held, clear, released):
        builders.a_walk(desk, cast, zone)
    builders.a_release(desk, cast, released)
    given = builders.newest_release(desk, cast, released)
    stamped = timestamping.stamp_checkpoint(desk, by, cast.project_id)
    wall = zones.draw_wall(desk, cast.lead.id, held.id, (100, 100), (500, 100))
    hold = zones.hold_zone(desk, cast.lead.id, held.id, "frost", "White this morning")
    picture = desk.blobs.put(jpeg())
    photo = defects.settle_photo(desk, cast.lead.id, "defect", mark.id, PhotoIn(picture, picture, 64, 48))
    invited = people.invite(desk, by, cast.project_id, "nobody.yet@example.com", CREW_LEAD)
    reset = resets.make_reset_for_email(desk, cast.lead.email)
    ready = ready_lists.open_ready_list(desk, by, cast.project_id, "ready-mix dispatcher")
    code = crew_codes.make_code(desk, by, cast.project_id, cast.lead.id)
    calendar = calendars.make_link(desk, by, cast.project_id)
    digest = reading.zone_view(desk, by, clear.id).standing.digest
    theirs = cast.other_manager.id  # nobody here signs in as them by password
    factor = SecondFactor(desk.new_id(), theirs, PASSKEY, "office computer", "", "no key's", 0, desk.clock())
    with desk.writing() as session:
        factors.add(session, factor, proven=True)
    with desk.reading() as session:
        size, note = trees.kept(session, cast.project_id)[0]  # the release gave it
    return {
        "stamped": str(stamped.size), "size": str(size), "seq": str(size), "old": "3", "note": note,
        "project_id": cast.project_id, "sketch_id": sketch, "zone_id": held.id, "clear_id": clear.id,
        "released_id": released.id,
        "release_id": given.id, "defect_id": mark.id, "patched_id": patched.id, "seen_id": seen.id,
        "patch_id": patch.id, "wall_id": wall.id, "hold_id": hold.id, "photo_id": photo.id,
        "mended_id": mended.id, "repair_id": repair.id,
        "seam_id": seam.id, "termination_id": edge.id, "penetration_id": pipe.id,
        "material_id": material.id, "lot_id": lot.id, "laying_id": laying.id,
        "readings_id": weather.id, "thickness_id": depth.id,
        "layout_id": layout.id, "sheets_id": layout.laid[0].id,
        "invitation_id": invited.id, "token": invited.token or "", "reset": reset, "digest": digest,
        "person_id": cast.lead.id, "link_id": ready.link.id, "ready": ready.token,
        "code_id": code.code.id, "code": code.token,
        "calendar_id": calendar.link.id, "calendar": calendar.token, "factor_id": factor.id,
    }  # fmt: skip


def _actors(desk: Desk, cast: Cast) -> list[Actor]:
    """Everybody: those of the project, those of the other, one taken off, one on neither, and nobody."""
    gone = enter(desk, "Gil Gone")
    people.invite(desk, cast.manager.id, cast.project_id, gone.email, PROJECT_MANAGER)
    people.take_off(desk, cast.manager.id, cast.project_id, gone.id)
    far_lead, far_eye = enter(desk, "Far Lead"), enter(desk, "Far Inspector")
    # Crew lead here by a code, and project manager there: a code must not let them see it.
    coded = enter(desk, "Cora Code")
    people.invite(desk, cast.manager.id, cast.project_id, coded.email, CREW_LEAD)
    for person, role in ((far_lead, CREW_LEAD), (far_eye, INSPECTOR), (coded, PROJECT_MANAGER)):
        people.invite(desk, cast.other_manager.id, cast.other_project_id, person.email, role)
    return [
        Actor("nobody", None, signed=False),
        Actor("a sign-in that ended", cast.manager, signed=False),
        Actor("the crew lead", cast.lead, CREW_LEAD),
        Actor("the project manager", cast.manager, PROJECT_MANAGER),
        Actor("the inspector", cast.inspector, INSPECTOR),
        Actor("a crew by code", coded, CREW_LEAD, by_code=True),
        Actor("another project's crew lead", far_lead),
        Actor("another project's manager", cast.other_manager),
        Actor("another project's inspector", far_eye),
        Actor("a manager taken off", gone),
        Actor("somebody on no project", cast.outsider),
    ]


def _furnish_other(desk: Desk, cast: Cast, data: Path, actors: list[Actor]) -> dict[str, str]:
    """One thing of every kind on the other project, made by its own people."""
    far_lead = next(actor for actor in actors if actor.name.endswith("crew lead") and not actor.here)
    assert far_lead.person is not None
    theirs = replace(cast, manager=cast.other_manager, lead=far_lead.person, project_id=cast.other_project_id)
    sketch = _plan(desk, theirs.manager.id, theirs.project_id, data)
    zone = builders.a_zone(desk, theirs, sketch, "B", SEAM)
    mark = builders.a_mark(desk, theirs, zone, (200, 200))
    patch = builders.a_patch(desk, theirs, mark, builders.sides("5 3/4 in"))
    edge = builders.an_edge(desk, theirs, zone)
    seam = builders.a_seam(desk, theirs, zone, SEAM_LINE)
    pipe = builders.a_pipe(desk, theirs, zone)
    material = builders.a_material(desk, theirs)
    lot = builders.a_lot(desk, theirs, material)
    laying = builders.a_laying(desk, theirs, zone, lot)
    layout = builders.a_layout(desk, theirs, zone, lot)
    weather, depth = builders.a_reading(desk, theirs, zone), builders.a_thickness(desk, theirs, zone)
    wall = zones.draw_wall(desk, far_lead.person.id, zone.id, (100, 100), (500, 100))
    hold = zones.hold_zone(desk, far_lead.person.id, zone.id, "frost", "White this morning")
    invited = people.invite(desk, theirs.manager.id, theirs.project_id, "far.yet@example.com", CREW_LEAD)
    theirs_ready = builders.a_zone(desk, theirs, sketch, "D", LOW)
    builders.a_walk(desk, theirs, theirs_ready)
    builders.a_release(desk, theirs, theirs_ready)
    ready = ready_lists.open_ready_list(desk, theirs.manager.id, theirs.project_id, "concrete sub")
    code = crew_codes.make_code(desk, theirs.manager.id, theirs.project_id, far_lead.person.id)
    calendar = calendars.make_link(desk, theirs.manager.id, theirs.project_id)
    return {
        "project_id": theirs.project_id, "sketch_id": sketch, "zone_id": zone.id, "defect_id": mark.id,
        "patch_id": patch.id, "wall_id": wall.id, "hold_id": hold.id, "invitation_id": invited.id,
        "person_id": far_lead.person.id, "seam_id": seam.id, "termination_id": edge.id,
        "material_id": material.id, "lot_id": lot.id, "laying_id": laying.id, "penetration_id": pipe.id,
        "readings_id": weather.id, "thickness_id": depth.id,
        "layout_id": layout.id, "sheets_id": layout.laid[0].id,
        "link_id": ready.link.id, "released_id": theirs_ready.id, "code_id": code.code.id,
        "calendar_id": calendar.link.id,
        "release_id": builders.newest_release(desk, theirs, theirs_ready).id,
    }  # fmt: skip
