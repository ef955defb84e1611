"""Random zones to walk: marks, walls and a start, from a seed. Thousandths of a pixel, 6 mm a pixel."""

from __future__ import annotations

import random

import shapely

from service.domain.walk.order import Px, Stop

NM_PER_PX = 6_096_000.0  # 50 pixels a foot
WIDE, DEEP = 3_000_000, 2_000_000  # 60 ft by 40 ft
DOUBTED = 60_000  # 14 in

Wall = tuple[Px, Px]


def stops_at(*places: Px) -> list[Stop]:
    return [Stop(f"id-{k}", f"B-{k:02d}", at) for k, at in enumerate(places, 1)]


def random_zone(seed: int, marks: int, walls: int) -> tuple[list[Stop], Px, list[Wall]]:
    """Walls up to 10 ft long, some slanting, some from the end of the one before; none ends near another."""
    draw = random.Random(seed)
    places = [(draw.randrange(WIDE), draw.randrange(DEEP)) for _ in range(marks)]
    drawn: list[Wall] = []
    while len(drawn) < walls:
        joined = bool(drawn) and draw.random() < 0.3
        x, y = drawn[-1][1] if joined else (draw.randrange(WIDE), draw.randrange(DEEP))
        across, down = draw.choice(((1, 0), (0, 1), (-1, 0), (0.6, 0.8)))
        long = draw.randrange(100_000, 500_000)
        wall = ((x, y), (x + round(across * long), y + round(down * long)))
        others = drawn[:-1] if joined else drawn
        if not any(_nearly_meet(wall, other) for other in others):
            drawn.append(wall)
    return stops_at(*places), (draw.randrange(WIDE), 0), drawn


def _nearly_meet(one: Wall, other: Wall) -> bool:
    """Whether an end lies so near the other wall that one might doubt whether there is a way through."""
    ends = [(end, shapely.LineString(line)) for ends, line in ((one, other), (other, one)) for end in ends]
    return any(line.distance(shapely.Point(end)) < DOUBTED for end, line in ends)
