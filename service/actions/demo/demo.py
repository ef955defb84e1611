"""Fills a data directory with an invented site: a workshop slab in five zones, from laying to placed."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import NamedTuple

from service.actions.demo import film, order, placing
from service.actions.demo import zones as demo_zones
from service.actions.demo.film import Lots
from service.actions.demo.story import Story, Ticking
from service.actions.entrance import accounts
from service.actions.frame.desk import Desk
from service.actions.office import projects, ready_lists
from service.actions.people import people
from service.actions.sketches import sketches, zones
from service.domain.nouns import roles
from service.domain.nouns.rules import REPLACE, SHEET_PATCH
from service.domain.nouns.site import Zone
from service.media.demo_plan import at, draw_plan, grid_lines

PASSWORD = "tape every edge"  # noqa: S105 - printed at every start: the people of the demo are invented
PEOPLE = (
    ("rosa@example.com", "Rosa Amaya", roles.CREW_LEAD),
    ("priya@example.com", "Priya Novak", roles.PROJECT_MANAGER),
    ("sam@example.com", "Sam Okafor", roles.INSPECTOR),
)
DAYS = 6  # the story ends the day before today
BY_CONTRACT = "the contract's film section, 3.2"

Telling = Callable[[Story, Zone, Lots], None]
# Letter, name, west, north, east and south edge in feet, and on which day of the story it is to be placed:
# the day after the last told one is today.
ZONES: tuple[tuple[str, str, tuple[float, float, float, float], int], ...] = (
    ("A", "North-west bay", (0, 0, 80, 60), 4),
    ("B", "North-east bay", (80, 0, 200, 60), 8),
    ("C", "South-west bay", (0, 60, 80, 120), 9),
    ("D", "South middle bay", (80, 60, 140, 120), 10),
    ("E", "South-east bay", (140, 60, 200, 120), 12),
)
# In the order in which they were worked on.
TOLD: tuple[tuple[str, Telling], ...] = (
    ("A", demo_zones.placed),
    ("B", demo_zones.ready),
    ("D", demo_zones.clear),
    ("C", demo_zones.held),
    ("E", demo_zones.laying),
)


class Filled(NamedTuple):
    """The demo people as email, password and role. `ready`: the secret of the ready list's link, where it was
    opened just now: only its hash is kept."""

    people: list[tuple[str, str, str]]
    ready: str


def fill(desk: Desk) -> Filled:
    """The invented site. Does nothing to a directory that has people already."""
    told = [(email, PASSWORD, role) for email, _, role in PEOPLE]
    if not accounts.nobody_yet(desk):
        return Filled(told, "")
    at_work = desk.fresh()
    first = (desk.clock() - timedelta(days=DAYS)).replace(
        hour=13, minute=0, second=0, microsecond=0
    )  # 7 am on the site
    clock = Ticking(first, timedelta(minutes=2))
    at_work.clock = clock
    lead, manager, inspector = (
        accounts.make_person(at_work, email, name, PASSWORD) for email, name, _ in PEOPLE
    )
    return Filled(told, _tell(Story(at_work, clock, lead, manager, inspector, first)))


def _tell(story: Story) -> str:
    """The story from the first day to the last; the secret of its ready list."""
    project = projects.start_project(
        story.desk, story.manager.id, "Alder Road workshop", "us", "America/Chicago"
    )
    for email, _, role in PEOPLE:
        if email != story.manager.email:
            people.invite(story.desk, story.manager.id, project.id, email, role)
    _ask_more(story, project.id)
    materials = film.submit(story, project.id)
    sketch = _sketch(story, project.id)
    outlined = {
        letter: _zone(story, sketch, letter, name, box, story.at(day, 1.5))
        for letter, name, box, day in ZONES
    }
    story.day(1, 6)
    lots = film.receive(story, materials)
    for letter, telling in TOLD:
        telling(story, outlined[letter], lots)
    placing.station(story, outlined["A"])
    order.plan(story, project.id, materials, outlined["E"])
    opened = ready_lists.open_ready_list(story.desk, story.manager.id, project.id, "ready-mix dispatcher")
    return opened.token


def _ask_more(story: Story, project_id: str) -> None:
    """This site asks for a second look, and lets a whole sheet be replaced."""
    methods = {"value": [SHEET_PATCH, REPLACE], "source": BY_CONTRACT}
    asked = {"second_look": {"value": True, "source": BY_CONTRACT}, "repair_methods": methods}
    projects.change_rule_sheet(story.desk, story.manager.id, project_id, asked)


def _sketch(story: Story, project_id: str) -> str:
    desk, manager = story.desk, story.manager.id
    with desk.blobs.coming() as folder:
        source = Path(folder) / "plan.png"
        draw_plan(source)
        made = sketches.add_sketch(desk, manager, project_id, source, "Ground floor slab")
    sketches.set_scale(desk, manager, made.id, at(0, 0), at(200, 0), "200 ft")
    sketches.lay_grid(desk, manager, made.id, grid_lines())
    return made.id


def _zone(
    story: Story, sketch: str, letter: str, name: str, box: tuple[float, float, float, float], when: datetime
) -> Zone:
    west, north, east, south = box
    outline = [at(west, north), at(east, north), at(east, south), at(west, south)]
    zone = zones.outline_zone(story.desk, story.manager.id, sketch, letter, name, outline, when)
    edge = north if north == 0 else south
    zones.draw_wall(story.desk, story.manager.id, zone.id, at(west, edge), at(east, edge))
    return zone
