"""Traced slabs of two real floor plans: area and perimeter against the published values.

Source: an open set of structural floor plans (MIT licence), doi 10.1016/j.autcon.2023.105132, kept beside
the project; skipped where that folder is missing.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from service.domain.sketch.alignment import scale_nm_per_px
from service.domain.sketch.zones import area_m2, check_zone_outline, perimeter_nm
from service.domain.words.measures import metres

PLANS = Path(__file__).parents[3] / "shared" / "data" / "plans" / "plans.json"
SIZES = {"tower-floor.png": (9_500, 6_714), "bent-block.png": (9_600, 6_784)}
WITHIN = 0.001


def plans() -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads(PLANS.read_text()) if PLANS.exists() else []
    return found


@pytest.mark.parametrize("name", SIZES)
def test_a_traced_slab_has_the_published_area_and_perimeter(name: str) -> None:
    plan = next((plan for plan in plans() if plan["file"] == name), None)
    if plan is None:
        pytest.skip("the real plans are not beside the project")
    ring = [(round(x * 1000), round(y * 1000)) for x, y in plan["slab_outline_px"]]
    # The scale as a person sets it: two points 20 m apart.
    apart = round(20 * plan["px_per_m"] * 1000)
    per_px = scale_nm_per_px((0, 0), (apart, 0), 20_000_000_000)
    check_zone_outline(ring, *SIZES[name])
    assert area_m2(ring, per_px) == pytest.approx(plan["slab_area_m2"], rel=WITHIN)
    assert metres(perimeter_nm(ring, per_px)) == pytest.approx(plan["slab_perimeter_m"], rel=WITHIN)
