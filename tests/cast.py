"""The people every test knows, and the project they are on. The outsider has an account and no project."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from functools import cache

from service.actions.entrance import passwords
from service.actions.frame.desk import Desk
from service.domain.nouns.roles import CREW_LEAD, INSPECTOR, PROJECT_MANAGER
from service.domain.nouns.rules import ready_made
from service.domain.nouns.site import Site
from service.domain.words.measures import Units
from service.history.facts.facts import PersonJoined, ProjectStarted
from service.storage.accounts import people
from service.storage.accounts.people import Person
from service.storage.history import books

PASSWORD = "seven lazy floats"
NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
TIME_ZONE = "America/Chicago"


@dataclass
class Clock:
    """A clock that stands still until a test moves it."""

    now: datetime = NOON

    def __call__(self) -> datetime:
        return self.now

    def go_on(self, **span: float) -> None:
        """`clock.go_on(minutes=5)`: as for timedelta."""
        self.now += timedelta(**span)


@dataclass(frozen=True)
class Cast:
    """`lead`, `manager` and `inspector` are on `project_id`; the outsider and the other manager are not.
    The other manager runs `other_project_id` alone. Everybody's password is `PASSWORD`."""

    lead: Person
    manager: Person
    inspector: Person
    outsider: Person
    other_manager: Person
    project_id: str
    other_project_id: str

    @property
    def roles(self) -> dict[str, Person]:
        return {CREW_LEAD: self.lead, PROJECT_MANAGER: self.manager, INSPECTOR: self.inspector}


@cache
def _password_hash() -> str:
    """Worked out once a run: argon2 is slow by design."""
    return passwords.hashed(PASSWORD)


def enter(desk: Desk, name: str) -> Person:
    """One more person with an account, by name: `enter(desk, "Second Lead")`."""
    person = Person(desk.new_id(), f"{name.lower().replace(' ', '.')}@example.com", name)
    with desk.writing() as session:
        people.add(session, person, _password_hash(), desk.clock())
    return person


def start(
    desk: Desk,
    name: str,
    members: dict[Person, str],
    *,
    units: Units = "us",
    demands: tuple[str, ...] = (),
) -> str:
    """A project with these people in these roles; the first project manager starts it. Its id.

    `demands`: what its gate asks for besides marks and the walk. Nothing, unless a test is about that.
    """
    project_id, site = desk.new_id(), Site()
    starter = next(person for person, role in members.items() if role == PROJECT_MANAGER)
    with desk.writing() as session:
        books.start(session, project_id, desk.clock())

        def append(fact: ProjectStarted | PersonJoined, by: Person, role: str) -> None:
            books.append(session, site, project_id, desk.clock(), by.id, role, fact)

        sheet = replace(ready_made(units), gate_demands=demands)
        append(ProjectStarted(name, units, TIME_ZONE, sheet), starter, PROJECT_MANAGER)
        append(PersonJoined(starter.id, PROJECT_MANAGER), starter, PROJECT_MANAGER)
        for person, role in members.items():
            if person is not starter:
                append(PersonJoined(person.id, role), person, role)
    return project_id


def assemble(desk: Desk, *, units: Units = "us", demands: tuple[str, ...] = ()) -> Cast:
    """The whole cast with its two projects; `demands` are the cast's own project's."""
    lead, manager, inspector, outsider, other = (
        enter(desk, name)
        for name in ("Lou Lead", "Max Manager", "Ina Inspector", "Otto Outsider", "Olga Other")
    )
    members = {manager: PROJECT_MANAGER, lead: CREW_LEAD, inspector: INSPECTOR}
    return Cast(
        lead=lead,
        manager=manager,
        inspector=inspector,
        outsider=outsider,
        other_manager=other,
        project_id=start(desk, "North warehouse slab", members, units=units, demands=demands),
        other_project_id=start(desk, "Another site", {other: PROJECT_MANAGER}, units=units),
    )
