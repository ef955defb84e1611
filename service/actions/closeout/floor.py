"""What the floor trade needs of the closeout: floor tests by area, and the cautions that outlive the pour."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from service.domain.nouns.rules import PRACTICE
from service.domain.nouns.site import Site, Sketch, Zone
from service.domain.rule_sheet.floor_tests import (
    Said,
    count_for,
    emission,
    floor_area,
    in_slab,
    limits,
    say_floor,
)
from service.domain.words.measures import NM_PER_M, Units
from service.domain.words.speech import later, tr
from service.history.closeout.told import Ground
from service.history.closeout.whole import FloorCount, FloorTold, SlabTold

AREA_WORDS = later(
    "The area is that of the zones as outlined on the sketch, worked out exactly and shown rounded up. What "
    "gets no covering is not taken off: for a smaller floor count again by the rule below."
)
CAUTIONS = (
    Said(
        later("Whatever cuts through the slab cuts the film"),
        later(
            "Coring, sawing, drilling, anchors, new pipes: find out how thick the slab is and stop short of "
            "the film where the work allows. Where it does not, seal the film to what goes through it before "
            "the hole is closed, and write down where."
        ),
        PRACTICE,
    ),
    Said(
        later("Test holes stop in the concrete"),
        later(
            "A probe sits 40 % down. A hole drilled on through the film is a hole in the film, and what the "
            "probe reads there is not the slab."
        ),
        PRACTICE,
    ),
    Said(
        later("Film that keeps soil gas out has to stay whole"),
        later(
            "Take no core through it without a way to seal it again. Ask a licensed radon professional first."
        ),
        PRACTICE,
    ),
    Said(
        later("Silica dust"),
        later(
            "Drilling concrete by hand or from a stand: a shroud with dust collection, a filter of 99 % that "
            "is cleaned, and a HEPA vacuum for the holes."
        ),
        later("29 CFR 1926.1153 Table 1, by an OSHA fact sheet on drills"),
    ),
    Said(
        later("This slab dries upward alone"),
        later("Water in a slab on film can leave at its top only. A covering laid too soon closes that way."),
        later("a magazine's questions and answers on when to use a retarder"),
    ),
    Said(
        later("Primers, solvents and patching compounds"),
        later("Read the maker's safety sheet, keep air moving, no flame."),
        later("HazCom, 29 CFR 1910.1200 by way of 1926.59, from memory"),
    ),
)


def floor_told(site: Site, zones: Sequence[Zone], units: Units) -> FloorTold:
    """Floor tests of every slab. `zones`: those that stand, in order."""
    slabs = []
    for sketch in site.sketches.values():
        own = [zone for zone in zones if zone.sketch_id == sketch.id]
        if own:
            slabs.append(_slab(sketch, own, units))
    return FloorTold(tuple(slabs), in_slab(units), emission(units), limits())


def _slab(sketch: Sketch, zones: Sequence[Zone], units: Units) -> SlabTold:
    placed = sum(zone.placement is not None for zone in zones)
    if sketch.scale is None:
        none = tuple(FloorCount(tr("Zone {letter}", letter=zone.letter), None, None) for zone in zones)
        words = tr("The sketch has no scale, so nothing on it has an area, and no tests can be counted.")
        return SlabTold(FloorCount(sketch.name, None, None), none, 0, placed, words)
    areas = [floor_area(zone.outline, sketch.scale) for zone in zones]
    whole = _count(sketch.name, sum(areas, Fraction(0)), units)
    each = tuple(
        _count(tr("Zone {letter}", letter=z.letter), area, units)
        for z, area in zip(zones, areas, strict=True)
    )
    one_by_one = sum(zone.count or 0 for zone in each)
    return SlabTold(whole, each, one_by_one, placed, _words(whole, len(zones), one_by_one, placed))


def _count(name: str, area: Fraction, units: Units) -> FloorCount:
    ground = Ground(float(area / NM_PER_M**2), say_floor(area, units))
    return FloorCount(name, ground, count_for(area, units))


def _words(whole: FloorCount, zones: int, one_by_one: int, placed: int) -> str:
    assert whole.area is not None, "asked for where there is a scale"
    told = tr(
        "Its one zone is the whole floor: {area} needs at least {n} in-slab tests, or as many emission "
        "tests.",
        area=whole.area.text,
        n=whole.count,
    )
    if zones > 1:
        told = tr(
            "The {zones} zones on one slab add up: as one floor of {area} it needs at least {n} in-slab "
            "tests, or as many emission tests. Counted zone by zone, as where each was placed and dries "
            "apart, it comes to {each}, which is never fewer.",
            zones=zones,
            area=whole.area.text,
            n=whole.count,
            each=one_by_one,
        )
    done = tr("Concrete is in {placed} of its {zones} zones.", placed=placed, zones=zones)
    if placed == zones:
        done = tr("Concrete is in all of it.")
    return f"{told} {done} {tr(AREA_WORDS)}"
