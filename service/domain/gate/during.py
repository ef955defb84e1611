"""While concrete is being placed in a zone: what its release is held to, and what was found since.

A placing begins from ready to place. Damage found from then on is marked and mended like any other, and does
not end it: the release is asked of the zone as it was when placing began. Only what such damage brings may
happen under it: marks and what is logged on them, patches and repairs, seals and seams walked anew. All else
takes the release's force away as ever, and nothing done afterwards brings that back.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Literal, Protocol, TypeVar

from service.domain.gate.zone_facts import marks_in_zone, nm_per_px
from service.domain.nouns.installed import Look, Signed
from service.domain.nouns.placing import Placing
from service.domain.nouns.site import Defect, Release, Site, Zone


class Work(Protocol):
    """A seal or a walk of a seam: it tells at which entry it was logged."""

    @property
    def signed(self) -> Signed: ...


Done = TypeVar("Done", bound=Work)
Found = Literal["before placing", "during placing", "after placing"]


def found_when(mark: Defect) -> Found:
    """When a mark came, by the order of entries: what waited on a phone counts when it came."""
    if mark.after_placing:
        return "after placing"
    return "during placing" if mark.during_placing else "before placing"


def goes_on(zone: Zone) -> bool:
    """Whether placing began and the zone is not logged as placed yet."""
    return zone.placing is not None and zone.placement is None


def placing_on(site: Site, sketch_id: str) -> bool:
    """Whether concrete is being placed in any zone of a sketch. The site holds all of its zones."""
    return any(goes_on(zone) for zone in site.zones.values() if zone.sketch_id == sketch_id)


def kept_beside(replaced: tuple[Done, ...], newest: Done | None, placing: bool) -> tuple[Done, ...]:
    """What a thing had before it was sealed or walked anew: kept while concrete is being placed, for the
    release stands on it."""
    if not placing:
        return ()
    return replaced if newest is None else (*replaced, newest)


def placing_under(zone: Zone, release: Release | None) -> Placing | None:
    """The placing that goes on under this release, if one does."""
    placing = zone.placing
    under = placing is not None and release is not None and placing.release_id == release.id
    return placing if under and zone.placement is None else None


def as_it_began(site: Site, since: int) -> Site:
    """The site without the marks, patches, repairs, seals and walks of seams that came after entry `since`.

    Whatever was taken back, set anew or refused stays so: it is not among what damage brings.
    """
    return replace(
        site,
        defects={id: _mark_then(mark, since) for id, mark in site.defects.items() if mark.seq < since},
        patches={id: patch for id, patch in site.patches.items() if patch.seq < since},
        penetrations={
            id: replace(pipe, seal=then(pipe.replaced, pipe.seal, since))
            for id, pipe in site.penetrations.items()
        },
        seams={
            id: replace(seam, walk=then(seam.replaced, seam.walk, since)) for id, seam in site.seams.items()
        },
        terminations={
            id: replace(stretch, seal=then(stretch.replaced, stretch.seal, since))
            for id, stretch in site.terminations.items()
        },
    )


def _mark_then(mark: Defect, since: int) -> Defect:
    repairs = tuple(repair for repair in mark.repairs if repair.signed.seq < since)
    return mark if len(repairs) == len(mark.repairs) else replace(mark, repairs=repairs)


def then(replaced: tuple[Done, ...], newest: Done | None, since: int) -> Done | None:
    """The seal or walk that counted at an entry; None where there was none, or it was taken back since."""
    if newest is not None and newest.signed.seq < since:
        return newest
    before = [done for done in replaced if done.signed.seq < since]
    return before[-1] if before else None


def refused_since(site: Site, zone: Zone, since: int) -> bool:
    """Whether a patch or repair on a mark of the zone, or on one that reaches in, was refused after an entry:
    no work on damage found since takes that back, nor does taking the work back."""
    return any(look.seq > since and not look.accepted for look in _looks(site, zone))


def _looks(site: Site, zone: Zone) -> Iterator[Look]:
    scale = site.sketches[zone.sketch_id].scale
    marks = marks_in_zone(site, zone, nm_per_px(scale)) if scale is not None else []
    here = {mark.id for mark in marks}
    for mark in marks:
        for repair in mark.repairs:
            yield from repair.looks
    for patch in site.patches.values():
        if patch.zone_id == zone.id or not here.isdisjoint((patch.defect_id, *patch.also)):
            yield from patch.looks
