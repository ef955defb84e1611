"""A month of a contractor's sites, written through the history as the service writes it, only many at once.

40 sites of 10 zones with 50 marks each and 3 photos a mark: 400 zones, 20,000 marks, 60,000 photos. Three
zones in ten are sealed, walked and released, one of them placed; five are walked and half mended; two are
still walked over. Zones, walks, releases and placings are the service's own actions. Marks, patches and
photos are entries in one transaction a zone: the same facts, tree, signed heads and rows as `books.append`
makes one by one (`check_histories` holds it), at a twentieth of the time.

Pictures: the photos of a month are three small ones over and over, and all sites have one plan. What is
many are the facts that a photo was added, and its row.
"""

from __future__ import annotations

import io
import random
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from PIL import Image
from sqlmodel import Session, SQLModel

from service.actions.entrance import accounts
from service.actions.frame.desk import Desk, utc_now
from service.actions.frame.doing import project_to_change, record, zone_to_change
from service.actions.frame.reading import zone_view
from service.actions.office import release
from service.actions.sketches import zones
from service.domain.nouns.roles import CREW_LEAD, INSPECTOR, PROJECT_MANAGER
from service.domain.nouns.rules import ready_made
from service.domain.nouns.site import SHELVES, Noun, Patch, Px, Scale, Site, Zone
from service.history.facts.entries import Entry, leaf_hash
from service.history.facts.every_fact import Fact
from service.history.facts.facts import (
    DefectMarked,
    PersonJoined,
    PhotoAdded,
    ProjectStarted,
    ScaleSet,
    SketchAdded,
)
from service.history.replay.replay import apply
from service.storage.accounts import people
from service.storage.accounts.people import Person
from service.storage.history import books, heads, rows, trees
from service.storage.tables.tables import EntryRow, PatchMarkRow
from tests.bench.filling import marks_and_patches
from tests.web.sketches.plans import plan_png

FOOT_NM = 304_800_000
WIDTH_PX, HEIGHT_PX = 3000, 2000
ACROSS, WIDE, HIGH = 5, 550, 450  # zones in a row of the sketch, and a zone's place on it, in px
SEALED, MENDING = 3, 5  # of ten zones: all marks sealed; walked, and half mended
DAYS = 30
ONCE = timedelta(minutes=10)  # between two entries of one site


@dataclass(frozen=True)
class Size:
    """How much: `zones` a site, `marks` a zone, `photos` a mark, `leads` a site, zones `per_sketch`."""

    sites: int = 40
    zones: int = 10
    marks: int = 50
    photos: int = 3
    leads: int = 5
    per_sketch: int = 10


@dataclass
class Office:
    """Somebody at a desk: the token of a program, the cookie of a browser, and what there is to look at."""

    token: str
    cookie: str
    project: str
    zones: list[str]


@dataclass
class Phone:
    """A crew lead's phone: its token, the zone it stands in, and a place there in px."""

    token: str
    zone: str
    at: tuple[float, float]


@dataclass
class Month:
    """What was filled. `projects`: ids in the order of the sites; `managers`: theirs, in the same order."""

    projects: list[str] = field(default_factory=list)
    managers: list[Person] = field(default_factory=list)
    leads: list[list[Person]] = field(default_factory=list)
    zones: list[list[Zone]] = field(default_factory=list)

    def phones(self, desk: Desk, count: int) -> list[Phone]:
        """So many phones, over sites and zones in turn; none stands in a zone that is placed."""
        made = []
        for number in range(count):
            site, turn = number % len(self.projects), number // len(self.projects)
            free = self.zones[site][1:] or self.zones[site]
            zone, lead = free[turn % len(free)], self.leads[site][turn % len(self.leads[site])]
            token, _ = accounts.open_sign_in(desk.fresh(), lead.id, accounts.PROGRAM)
            x, y = zone.outline[0]
            made.append(Phone(token, zone.id, (x / 1000 + 20 + 17 * (turn // len(free)), y / 1000 + 20)))
        return made

    def offices(self, desk: Desk, count: int) -> list[Office]:
        """So many project managers at their desks, over the sites in turn."""
        made = []
        for number in range(count):
            site = number % len(self.projects)
            who = self.managers[site].id
            token, _ = accounts.open_sign_in(desk.fresh(), who, accounts.PROGRAM)
            cookie, _ = accounts.open_sign_in(desk.fresh(), who, accounts.PAGE)
            made.append(Office(token, cookie, self.projects[site], [zone.id for zone in self.zones[site]]))
        return made


class Passing:
    """The clock of one site: every reading is a while after the one before."""

    def __init__(self, start: datetime) -> None:
        self.now = start

    def __call__(self) -> datetime:
        self.now += ONCE
        return self.now


def fill(desk: Desk, size: Size, seed: int = 7) -> Month:
    """The whole month into an empty database, site by site, ending about now."""
    month, pictures = Month(), Pictures(desk)
    for number in range(size.sites):
        fill_site(desk, month, size, pictures, seed * 10_000 + number)
    return month


def fill_site(desk: Desk, month: Month, size: Size, pictures: Pictures, seed: int) -> None:
    """One more site."""
    number = len(month.projects)
    start = utc_now() - max(timedelta(days=DAYS), 2 * ONCE * size.zones * size.marks * (2 + size.photos))
    at_site = replace(desk.fresh(), clock=Passing(start))
    manager, *rest = _people(at_site, number, size.leads)
    project = _start(at_site, number, manager, rest)
    made, sketch = [], ""
    for place in range(size.zones):
        if place % size.per_sketch == 0:
            sketch = _sketch(at_site, manager, project, pictures, size.per_sketch)
        zone = _zone(at_site, manager, sketch, place, place % size.per_sketch)
        facts = _work(at_site, zone, place, size, pictures, seed * 1000 + place)
        with at_site.writing() as session:
            seen, site = zone_to_change(session, rest[0].id, zone.id, "mark a defect")
            append_many(session, site, at_site, rest[0].id, seen.role, facts)
        _bring_on(at_site, manager, rest[0], zone, place)
        made.append(zone)
    month.projects.append(project)
    month.managers.append(manager)
    month.leads.append(rest[:-1])
    month.zones.append(made)


class Pictures:
    """Three photos with their small ones, and a plan, kept once and named many times."""

    def __init__(self, desk: Desk) -> None:
        self.plan = desk.blobs.put(plan_png(WIDTH_PX, HEIGHT_PX))
        self.photos = [
            (desk.blobs.put(_photo(shade, 640)), desk.blobs.put(_photo(shade, 160)))
            for shade in (60, 120, 180)
        ]


def _photo(shade: int, width: int) -> bytes:
    out = io.BytesIO()
    Image.linear_gradient("L").point(lambda tone: (tone + shade) % 256).resize(
        (width, width * 3 // 4)
    ).convert("RGB").save(out, "JPEG")
    return out.getvalue()


# --- a site -----------------------------------------------------------------------------------------------


def _people(desk: Desk, site: int, leads: int) -> list[Person]:
    """The manager, the crew leads, and an inspector last."""
    made = []
    with desk.writing() as session:
        for name in ("manager", *(f"lead-{number}" for number in range(leads)), "inspector"):
            person = Person(desk.new_id(), f"{name}@site-{site}.example.com", f"{name} {site}")
            people.add(session, person, "!", desk.clock())
            made.append(person)
    return made


def _start(desk: Desk, number: int, manager: Person, rest: list[Person]) -> str:
    """A project held to marks and walks, with its people; its id."""
    project, site = desk.new_id(), Site()
    sheet = replace(ready_made("us"), gate_demands=())
    roles = [CREW_LEAD] * (len(rest) - 1) + [INSPECTOR]
    facts: list[Fact] = [
        ProjectStarted(f"Site {number}", "us", "UTC", sheet),
        PersonJoined(manager.id, PROJECT_MANAGER),
        *(PersonJoined(person.id, role) for person, role in zip(rest, roles, strict=True)),
    ]
    with desk.writing() as session:
        books.start(session, project, desk.clock())
        for fact in facts:
            books.append(session, site, project, desk.clock(), manager.id, PROJECT_MANAGER, fact)
    return project


def _sketch(desk: Desk, manager: Person, project: str, pictures: Pictures, room: int) -> str:
    """A sketch at 10 px to the foot with room for so many zones; its id."""
    sketch, high = desk.new_id(), max(HEIGHT_PX, 50 + -(-room // ACROSS) * HIGH)
    with desk.writing() as session:
        seen, site = project_to_change(session, manager.id, project, "add a sketch")
        added = SketchAdded(sketch, "Slab", pictures.plan, None, WIDTH_PX, high, 5)
        for fact in (added, ScaleSet(sketch, Scale((0, 0), (1_000_000, 0), 100 * FOOT_NM))):
            record(desk, session, site, manager.id, seen.role, fact)
    return sketch


def _zone(desk: Desk, manager: Person, sketch: str, number: int, place: int) -> Zone:
    """50 by 40 ft with a strip of 5 ft to the next."""
    x, y = 50 + place % ACROSS * WIDE, 50 + place // ACROSS * HIGH
    ring = [(x, y), (x + WIDE - 50, y), (x + WIDE - 50, y + HIGH - 50), (x, y + HIGH - 50)]
    return zones.outline_zone(desk.fresh(), manager.id, sketch, _letter(number), f"Bay {number + 1}", ring)


def _letter(place: int) -> str:
    """A to Z, then AA, AB and on."""
    return (chr(64 + place // 26) if place >= 26 else "") + chr(65 + place % 26)


def _work(desk: Desk, zone: Zone, place: int, size: Size, pictures: Pictures, seed: int) -> Iterator[Fact]:
    """What was marked, patched and photographed in one zone."""
    draw = random.Random(seed)
    places = _places(zone, size.marks, draw)
    at: Px = (0, 0)
    for fact in marks_and_patches(desk, zone, size.marks, seed, all_sealed=place % 10 < SEALED):
        if isinstance(fact, DefectMarked):
            at = next(places)
            yield replace(fact, at=at)
            for _ in range(size.photos):
                sha256, small = draw.choice(pictures.photos)
                yield PhotoAdded(desk.new_id(), fact.defect, zone.id, fact.tag, sha256, small, 640, 480)
        else:
            yield replace(fact, at=at)


def _places(zone: Zone, count: int, draw: random.Random) -> Iterator[Px]:
    """As far apart as the zone lets so many be, a little off a grid, so that no tape crosses other damage
    while there are up to 60 or so."""
    xs, ys = [x for x, _ in zone.outline], [y for _, y in zone.outline]
    left, top, wide, high = min(xs) + 20_000, min(ys) + 20_000, max(xs) - min(xs), max(ys) - min(ys)
    wide, high = wide - 40_000, high - 40_000
    across = max(1, round((count * wide / high) ** 0.5))
    down = -(-count // across)
    for number in range(count):
        x = left + (number % across * 2 + 1) * wide // (2 * across)
        y = top + (number // across * 2 + 1) * high // (2 * down)
        yield x + draw.randint(-4_000, 4_000), y + draw.randint(-4_000, 4_000)


def _bring_on(desk: Desk, manager: Person, lead: Person, zone: Zone, place: int) -> None:
    """Walked, released and placed, as far as this zone has come."""
    turn = place % 10
    if turn >= SEALED + MENDING:
        return
    zones.finish_walk(desk.fresh(), lead.id, zone.id)
    if turn >= SEALED:
        return
    digest = zone_view(desk.fresh(), manager.id, zone.id).standing.digest
    release.release_zone(desk.fresh(), manager.id, zone.id, digest, "I have seen this zone.")
    if turn == 0:
        release.mark_placed(desk.fresh(), manager.id, zone.id)


# --- many entries at once ---------------------------------------------------------------------------------


def append_many(session: Session, site: Site, desk: Desk, by: str, role: str, facts: Iterable[Fact]) -> None:
    """As `books.append`, fact by fact, with the rows written together at the end."""
    assert site.project is not None
    project = site.project.id
    head, signer = books.lock_head(session, project), session.info["keys"].current()
    changed: dict[str, Noun] = {}
    known = {noun_id for shelf in SHELVES.values() for noun_id in getattr(site, shelf)}
    for fact in facts:
        entry = Entry(project, head.seq + 1, max(desk.clock(), head.last_at), by, role, fact)
        content = entry.content()
        kind, subject = entry.subject
        leaf = leaf_hash(content)
        session.add(
            EntryRow(
                project_id=project, seq=entry.seq, type=entry.type, at=entry.at, by=by, zone_id=entry.zone,
                tag=entry.tag, subject_kind=kind, subject_id=subject, content=content, leaf=leaf,
            )
        )  # fmt: skip
        trees.grow(session, head, leaf, [signer])
        head.last_at = entry.at
        for noun in apply(site, entry):
            changed[noun.id] = noun
    session.flush()
    heads.write(session, head)
    rows.write(session, project, (noun for noun_id, noun in changed.items() if noun_id in known))
    _write_new(session, project, (noun for noun_id, noun in changed.items() if noun_id not in known))


def _write_new(session: Session, project: str, nouns: Iterable[Noun]) -> None:
    by_kind: dict[type[SQLModel], list[SQLModel]] = {}
    for noun in nouns:
        keys = {name: read(noun) for name, read in rows.KEYS[type(noun)].items()}
        row = rows.ROW_OF[type(noun)](id=noun.id, project_id=project, body=rows.body_of(noun), **keys)
        by_kind.setdefault(type(row), []).append(row)
        if isinstance(noun, Patch):
            by_kind.setdefault(PatchMarkRow, []).append(
                PatchMarkRow(patch_id=noun.id, defect_id=noun.defect_id)
            )
    for made in by_kind.values():  # marks come before what lies on them
        session.add_all(made)
        session.flush()
