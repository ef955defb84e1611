"""The demo's film, tape and mastic: what was submitted, what came to the site, and which lot went where."""

from __future__ import annotations

from dataclasses import dataclass

from service.actions.demo.story import FILM_LOT, MASTIC_LOT, TAPE_LOT, Story
from service.actions.film import film
from service.domain.nouns.installed import Lot
from service.domain.nouns.site import Zone

OLD_LOT = "R-0319"
FILM = {
    "kind": "film", "name": "Slab film, 15 mil", "claimed_class": "A", "permeance": "0.01 perm",
    "thickness": "15 mil", "tensile": "52 lbf/in", "puncture": "2400 g", "roll_width": "15 ft",
    "roll_length": "200 ft",
}  # fmt: skip
# Rolls left from another site, which the sheet does not allow.
OLD_FILM = {
    "kind": "film", "name": "Plain film, 6 mil", "permeance": "0.2 perm", "thickness": "6 mil",
    "roll_width": "12 ft", "roll_length": "100 ft", "note": "rolls left over from another site",
}  # fmt: skip
TAPE = {"kind": "tape", "name": "Seam tape, 4 in", "roll_width": "4 in", "least_temperature": "40 F"}
MASTIC = {"kind": "mastic", "name": "Trowel mastic"}


@dataclass(frozen=True)
class Lots:
    """The lots that came: the film that the sheet asks for, and what was left over from another site."""

    film: Lot
    old: Lot


def submit(story: Story, project_id: str) -> dict[str, str]:
    """The project manager's submittals: id of each material by its name."""
    made = [
        film.submit_material(story.desk, story.manager.id, project_id, given)
        for given in (FILM, TAPE, MASTIC, OLD_FILM)
    ]
    return {material.name: material.id for material in made}


def receive(story: Story, materials: dict[str, str]) -> Lots:
    """The crew lead writes down what the truck brought."""
    desk, lead = story.desk, story.lead.id
    came = film.receive_lot(desk, lead, materials[FILM["name"]], FILM_LOT, 12)
    film.receive_lot(desk, lead, materials[TAPE["name"]], TAPE_LOT, 48)
    film.receive_lot(desk, lead, materials[MASTIC["name"]], MASTIC_LOT, 6)
    old = film.receive_lot(desk, lead, materials[OLD_FILM["name"]], OLD_LOT, 2, "stored outdoors")
    return Lots(came, old)


def lay(story: Story, zone: Zone, lot: Lot, note: str = "") -> None:
    """The lot was laid in the zone."""
    film.lay_lot(story.desk, story.lead.id, zone.id, lot.id, note)
