"""Water vapour through film and through a hole in it, by diffusion in still air: estimates, never a verdict.

Nothing here decides anything, so floats are used throughout.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import shapely

from service.domain.shapes.outlines import Circle, Outline, Polygon, sides_and_angle
from service.domain.words.speech import later

# 1 US perm, 1 gr/(h·ft²·inHg), in ng/(s·m²·Pa), inches of mercury at 0 °C (encyclopedia entry "perm (unit)").
# With other conventions for the inch of mercury, published tables run to 57.45, half a per cent away.
NG_PER_PERM = Fraction("57.2135")
METRIC_PERMS_PER_PERM = Fraction("0.659045")  # 1 metric perm is 1 g/(24 h·m²·mmHg); the same entry
ZERO_CELSIUS_K = 273.15
STANDARD_PRESSURE_PA = 101_325.0  # standard atmosphere, exact by definition
POUND_KG, SQUARE_FOOT_M2 = 0.45359237, 0.09290304  # exact by definition (1959 agreement)

# Hyland and Wexler 1983 over liquid water, 0 to 200 °C, as in the ASHRAE handbook of fundamentals (from
# memory; the tests check its outputs against the handbook's table).
_HYLAND_WEXLER = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 6.5459673)

LIMITS_IN_WORDS = later(
    "An estimate for vapor moving by diffusion in still air. It leaves out liquid water and soil gas, which "
    "diffusion cannot describe and which are the usual reason to insist on every hole. It is never a reason "
    "to leave a hole: every hole is mended."
)


@dataclass(frozen=True, slots=True)
class Range:
    """Between which two areas of film, in square metres, the answer lies."""

    low_m2: float
    high_m2: float


def saturation_pa(celsius: float) -> float:
    """Vapour pressure over water at saturation, Pa (Hyland and Wexler); ValueError outside 0 to 200 °C."""
    if not 0 <= celsius <= 200:
        raise ValueError("the formula holds from 0 to 200 °C")
    c8, c9, c10, c11, c12, c13 = _HYLAND_WEXLER
    t = celsius + ZERO_CELSIUS_K
    return math.exp(c8 / t + c9 + c10 * t + c11 * t**2 + c12 * t**3 + c13 * math.log(t))


def ng_of_perms(permeance_up: int) -> float:
    """Permeance in ng/(s·m²·Pa) of millionths of a US perm."""
    return float(permeance_up * NG_PER_PERM / 1_000_000)


def metric_perms(permeance_up: int) -> float:
    """Permeance in metric perms, g/(24 h·m²·mmHg), of millionths of a US perm."""
    return float(permeance_up * METRIC_PERMS_PER_PERM / 1_000_000)


def flux(permeance_up: int, celsius_in: float, rh_in: float, celsius_out: float, rh_out: float) -> float:
    """Vapour through whole film in kg/(s·m²), from the first air to the second; negative when it goes back.

    Temperatures in °C, relative humidities as ratios from 0 to 1 (ValueError outside).
    """
    if not (0 <= rh_in <= 1 and 0 <= rh_out <= 1):
        raise ValueError("relative humidity is a ratio from 0 to 1")
    drive_pa = rh_in * saturation_pa(celsius_in) - rh_out * saturation_pa(celsius_out)
    return ng_of_perms(permeance_up) * 1e-12 * drive_pa


def lb_per_1000_sq_ft_day(kg_per_s_m2: float) -> float:
    """A flux in pounds per 1000 square feet and 24 hours, as floor makers' limits are printed."""
    return kg_per_s_m2 * 86_400 * 1000 * SQUARE_FOOT_M2 / POUND_KG


def permeability_of_air(celsius: float) -> float:
    """How well still air passes vapour, kg/(m·s·Pa), at standard pressure.

    2.0e-7 T^0.81 / P (a hygrothermal simulation wiki, "vapor diffusion"; published text seen).
    """
    return float(2.0e-7 * (celsius + ZERO_CELSIUS_K) ** 0.81 / STANDARD_PRESSURE_PA)


def hole_conductance(diameter_nm: int, celsius: float = 20.0) -> float:
    """Vapour through a round hole in thin film, kg/(s·Pa), still air on both sides: 2 δ r."""
    return permeability_of_air(celsius) * diameter_nm / 1e9


def equal_film_area_m2(outline: Outline, permeance_up: int, celsius: float = 20.0) -> Range:
    """The area of whole film that passes as much vapour as this hole; ValueError where film passes none.

    A round hole is exact. Of all holes of one area the disc passes least (Pólya and Szegő, on the capacity of
    plates), and a hole passes less than any that encloses it: so the disc of equal area bounds it from below
    and the disc round it from above. A closed cut has no area and runs from 0 to the disc on its length:
    nobody knows how far it opens when it is walked on.
    """
    if permeance_up <= 0:
        raise ValueError("a film's permeance is more than nothing")
    small, large = _discs_nm(outline)
    per_nm = permeability_of_air(celsius) / 1e9 / (ng_of_perms(permeance_up) * 1e-12)
    return Range(small * per_nm, large * per_nm)


def _discs_nm(outline: Outline) -> tuple[float, float]:
    """Diameters of the disc of equal area and of the disc that encloses the outline."""
    if isinstance(outline, Circle):
        return outline.diameter_nm, outline.diameter_nm
    if isinstance(outline, Polygon):
        region = shapely.Polygon(outline.points)
        return _equal_disc(region.area), 2 * float(shapely.minimum_bounding_radius(region))
    length, width, _ = sides_and_angle(outline)
    return _equal_disc(float(length) * width), math.hypot(length, width)


def _equal_disc(area: float) -> float:
    return 2 * math.sqrt(area / math.pi)
