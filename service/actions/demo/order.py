"""The demo's order: what the project manager chose for the film that is still to come."""

from __future__ import annotations

from collections.abc import Mapping

from service.actions.demo.film import FILM, TAPE
from service.actions.demo.story import Story
from service.actions.office.orders import plan_order
from service.domain.nouns.site import Zone


def plan(story: Story, project_id: str, materials: Mapping[str, str], last: Zone) -> None:
    """What is left to lay comes with one truck more; what lies on site is counted."""
    film, tape = materials[FILM["name"]], materials[TAPE["name"]]
    given = {
        "material": film,
        "film_allowance": "5",
        "tape_allowance": "10",
        "repairs": "1",
        "stock": [{"material": film, "whole_rolls": 1}, {"material": tape, "whole_rolls": 9}],
        "deliveries": [{"label": "Last truck", "at": story.at(8, 1), "zones": [last.id]}],
    }
    plan_order(story.desk, story.manager.id, project_id, given)
