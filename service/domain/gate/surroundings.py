"""What stands round the marks of a zone: where film may end, of what lot and roll it is."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from service.domain.installed.terminations import closing_lines
from service.domain.nouns.site import Defect, Patch, Px, Site, Zone
from service.domain.patches.repair import Numbers
from service.domain.rule_sheet.effective import films_laid
from service.domain.shapes.ground import closed_sides
from service.domain.shapes.nearby import MILLI
from service.domain.shapes.outlines import Outline, reach_nm
from service.domain.shapes.sides import Sides
from service.domain.words.measures import TOLERANCE_NM

Line = tuple[Px, Px]


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What stands round the marks of a zone and decides with them.

    `lines`: walls and sealed edges, where film may end, by `line_ids`. `lots`: lot number in lower case to
    the materials of that number; `films`: the film materials laid in the zone; `roll_nm`: its widest roll.
    """

    per_px: float
    numbers: Numbers
    lines: tuple[Line, ...]
    line_ids: tuple[str, ...]
    lots: Mapping[str, frozenset[str]]
    films: frozenset[str]
    roll_nm: int | None


def surroundings(site: Site, zone: Zone, per_px: float, numbers: Numbers) -> Surroundings:
    """What stands round the marks of this zone."""
    walls = (w for w in site.walls.values() if w.sketch_id == zone.sketch_id and w.withdrawn is None)
    stretches = [
        t for t in site.terminations.values() if t.sketch_id == zone.sketch_id and t.withdrawn is None
    ]
    lines = [((wall.a, wall.b), wall.id) for wall in walls]
    for stretch in stretches:
        sealed = stretch.seal.id if stretch.seal else ""
        lines += [(line, sealed) for line in closing_lines([stretch], numbers)]
    films = films_laid(site, zone)
    lots: dict[str, set[str]] = defaultdict(set)
    for lot in site.lots.values():
        if lot.withdrawn is None:
            lots[lot.number.casefold()].add(lot.material_id)
    return Surroundings(
        per_px,
        numbers,
        tuple(line for line, _ in lines),
        tuple(name for _, name in lines),
        {number: _standing_ones(site, materials) for number, materials in lots.items()},
        frozenset(material.id for material in films),
        max((film.roll_width_nm for film in films if film.roll_width_nm is not None), default=None),
    )


def _standing_ones(site: Site, materials: set[str]) -> frozenset[str]:
    """Without the withdrawn, if any stand: a material submitted anew is no rival of its own mistake."""
    standing = frozenset(one for one in materials if site.materials[one].withdrawn is None)
    return standing or frozenset(materials)


def walls_stand(sides: Sides, mark: Defect, around: Surroundings) -> bool:
    """True when every side sealed to a wall has a wall or a sealed edge within the overlap of the damage."""
    sealed = {word for word, reading in sides.readings().items() if reading is None}
    # Few patches end at a wall: nothing is looked for on behalf of the others.
    return not sealed or sealed <= walled_sides(mark.outline, mark.at, sides.angle_udeg, around)


def walled_sides(outline: Outline, at: Px, angle_udeg: int, around: Surroundings) -> set[str]:
    """The sides of a mark on which film may end within the required overlap of the damage."""
    minimum = around.numbers.patch_overlap_nm
    return closed_sides(outline, at, around.per_px, around.lines, angle_udeg, minimum)


def lines_leant_on(mark: Defect, patches: Sequence[Patch], around: Surroundings) -> tuple[str, ...]:
    """Ids of the walls and sealed edges near a mark that has a patch sealed to one."""
    sealed_to = (p.sides for p in patches if p.sides is not None and None in p.sides.readings().values())
    if not around.lines or not any(True for _ in sealed_to):
        return ()
    far = around.numbers.patch_overlap_nm + reach_nm(mark.outline) + TOLERANCE_NM
    lines = shapely.linestrings(np.array(around.lines, dtype=float))
    near = shapely.dwithin(lines, shapely.Point(mark.at), far / around.per_px * MILLI)
    return tuple(sorted({name for name, is_near in zip(around.line_ids, near, strict=True) if is_near}))


def same_material(lot: str, around: Surroundings) -> bool | None:
    """Whether the lot is of the film laid in the zone; None where either is not known, or where
    another material bears the number too: nobody can tell by it which of them was used."""
    materials = around.lots.get(lot.casefold().strip())
    if not materials or not around.films:
        return None
    if materials.isdisjoint(around.films):
        return False
    return True if materials <= around.films else None
