"""What the floor trade needs of the closeout: floor tests by area, and the cautions that outlive the pour."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from service.domain.floor_tests import (
    Said,
    count_for,
    emission,
    floor_area,
    in_slab,
    limits,
    say_floor,
)
from service.domain.measures import NM_PER_M, Units
from service.domain.rules import PRACTICE
from service.domain.site import Site, Sketch, Zone
from service.history.closeout_told import Ground
from service.history.closeout_whole import FloorCount, FloorTold, SlabTold

AREA_WORDS = (
    "The area is that of the zones as outlined on the sketch, worked out exactly and shown rounded up. What "
    "gets no covering is not taken off: for a smaller floor count again by the rule below."
)
CAUTIONS = (
    Said(
        "Whatever cuts through the slab cuts the film",
        "Coring, sawing, drilling, anchors, new pipes: find out how thick the slab is and stop short of the "
        "film where the work allows. Where it does not, seal the film to what goes through it before the "
        "hole is closed, and write down where.",
        PRACTICE,
    ),
    Said(
        "Test holes stop in the concrete",
        "A probe sits 40 % down. A hole drilled on through the film is a hole in the film, and what the "
        "probe reads there is not the slab.",
        PRACTICE,
    ),
    Said(
        "Film that keeps soil gas out has to stay whole",
        "Take no core through it without a way to seal it again. Ask a licensed radon professional first.",
        PRACTICE,
    ),
    Said(
        "Silica dust",
        "Drilling concrete by hand or from a stand: a shroud with dust collection, a filter of 99 % that is "
        "cleaned, and a HEPA vacuum for the holes.",
        "29 CFR 1926.1153 Table 1, by an OSHA fact sheet on drills",
    ),
    Said(
        "This slab dries upward alone",
        "Water in a slab on film can leave at its top only. A covering laid too soon closes that way.",
        "a magazine's questions and answers on when to use a retarder",
    ),
    Said(
        "Primers, solvents and patching compounds",
        "Read the maker's safety sheet, keep air moving, no flame.",
        "HazCom, 29 CFR 1910.1200 by way of 1926.59, from memory",
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
        none = tuple(FloorCount(f"Zone {zone.letter}", None, None) for zone in zones)
        words = "The sketch has no scale, so nothing on it has an area, and no tests can be counted."
        return SlabTold(FloorCount(sketch.name, None, None), none, 0, placed, words)
    areas = [floor_area(zone.outline, sketch.scale) for zone in zones]
    whole = _count(sketch.name, sum(areas, Fraction(0)), units)
    each = tuple(_count(f"Zone {z.letter}", area, units) for z, area in zip(zones, areas, strict=True))
    one_by_one = sum(zone.count or 0 for zone in each)
    return SlabTold(whole, each, one_by_one, placed, _words(whole, len(zones), one_by_one, placed))


def _count(name: str, area: Fraction, units: Units) -> FloorCount:
    ground = Ground(float(area / NM_PER_M**2), say_floor(area, units))
    return FloorCount(name, ground, count_for(area, units))


def _words(whole: FloorCount, zones: int, one_by_one: int, placed: int) -> str:
    assert whole.area is not None, "asked for where there is a scale"
    need = f"at least {whole.count} in-slab tests, or as many emission tests"
    told = f"Its one zone is the whole floor: {whole.area.text} needs {need}."
    if zones > 1:
        told = (
            f"The {zones} zones on one slab add up: as one floor of {whole.area.text} it needs {need}. "
            f"Counted zone by zone, as where each was placed and dries apart, it comes to {one_by_one}, "
            "which is never fewer."
        )
    done = (
        "Concrete is in all of it." if placed == zones else f"Concrete is in {placed} of its {zones} zones."
    )
    return f"{told} {done} {AREA_WORDS}"
