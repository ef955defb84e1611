"""Which entries can move a zone at all: told by the things that they change."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime

from service.domain.gate.zone_facts import BESIDE_NM, may_reach, nm_per_px
from service.domain.nouns.installed import Lot, Material, Penetration, Seam, Termination
from service.domain.nouns.kept import Photo, ReadyLink
from service.domain.nouns.placing import Layout, OrderPlan, PlacingPlan, Readings, Thickness
from service.domain.nouns.site import (
    Defect,
    Hold,
    Member,
    Noun,
    Patch,
    Project,
    Release,
    Site,
    Sketch,
    Wall,
    Zone,
)
from service.history.facts.entries import Entry
from service.history.replay.replay import changes

# A noun as it was before an entry, None where it is new, and as it is after it.
Move = tuple[Noun | None, Noun]
_SOME_TIME = datetime(2000, 1, 1, tzinfo=UTC)


def step(site: Site, entry: Entry) -> tuple[Move, ...]:
    """Put what the entry changes into the site, and tell each thing as it was and as it is."""
    changed = changes(site, entry)
    moves = tuple((_as_it_was(site, noun), noun) for noun in changed)
    for noun in changed:
        site.put(noun)
    return moves


def _as_it_was(site: Site, noun: Noun) -> Noun | None:
    return site.project if isinstance(noun, Project) else site.shelf(type(noun)).get(noun.id)


def touching(site: Site, zone_id: str, moves: Iterable[Move]) -> list[Move]:
    """Those of the moves that how this zone stands may hang on. KeyError where the site does not hold it.

    A thing of another zone counts where it could reach in; when in doubt it counts.
    """
    zone = site.zones[zone_id]
    return [move for move in moves if _touches(site, zone, *move)]


def _touches(site: Site, zone: Zone, old: Noun | None, new: Noun) -> bool:
    match new:
        case Member() | Photo() | ReadyLink():
            return False
        case Layout() | OrderPlan() | PlacingPlan() | Readings() | Thickness():
            return False  # they plan and warn: no rule of the gate reads them
        case Project() | Material():
            return _read(old) != _read(new)
        case Lot():
            return True
        case Sketch(id=name) | Zone(id=name):
            return name == _named(zone, new) and _read(old) != _read(new)
        case Hold() | Release():
            return new.zone_id == zone.id
        case Defect():
            return _mark_touches(site, zone, new)
        case Patch():
            under = (site.defects.get(mark) for mark in (new.defect_id, *new.also))
            return new.zone_id == zone.id or any(m and _mark_touches(site, zone, m) for m in under)
        case Wall() | Penetration() | Seam() | Termination():
            return zone.sketch_id == new.sketch_id or new.zone_id == zone.id
    return True


def _named(zone: Zone, noun: Sketch | Zone) -> str:
    return zone.sketch_id if isinstance(noun, Sketch) else zone.id


def _mark_touches(site: Site, zone: Zone, mark: Defect) -> bool:
    if mark.zone_id == zone.id:
        return True
    scale = site.sketches[zone.sketch_id].scale
    if scale is None or mark.sketch_id != zone.sketch_id:
        return False
    return may_reach(mark, zone, nm_per_px(scale), BESIDE_NM)


def _read(noun: Noun | None) -> Noun | None:
    """The noun without what no zone's state hangs on: a field added to it counts until it is named here."""
    match noun:
        case Zone():
            walked = None if noun.walked_at is None else _SOME_TIME
            return replace(
                noun, name="", place_at=None, walked_at=walked, marks=0, penetrations=0, seams=0, stretches=0
            )
        case Sketch():
            return replace(noun, name="", sha256="", page=None, width_px=0, height_px=0, levels=0, grid=())
        case Project():
            return replace(noun, name="")
        case Material(withdrawn=None):
            return None  # one that nobody has received film of yet
    return noun
