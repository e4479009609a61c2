"""Water activity of brined and drying fish."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.ranges import require_between
from planner.sources import rules

#: Salt in saturated brine, percent of the water phase: there is no saltier water phase.
SATURATED_WPS = 26.4

_SALT_1, _SALT_2 = 0.0052471, 0.00012206
_SALT_MOLAR_MASS = 0.05844  # kg/mol

#: Norrish constants of sugars (Norrish 1966, from memory).
NORRISH_K = {"sucrose": 6.47, "glucose": 2.25, "fructose": 2.25}
_MOLAR_MASS = {"sucrose": 0.3423, "glucose": 0.18016, "fructose": 0.18016}
_WATER_MOLAR_MASS = 0.018015


def of_salt(wps_pct: ArrayLike) -> NDArray[np.float64]:
    """Water activity of a NaCl water phase of ``wps_pct`` percent (salt of salt and water).

    S. L. Resnik, J. Chirife, J. Food Prot. 51 (1988), quadratic fit as used for seafood; agrees with
    Pitzer's NaCl within 0.0006 up to 10 %. Above saturation the saturated value holds.
    """
    w = np.clip(np.asarray(wps_pct, dtype=float), 0.0, SATURATED_WPS)
    return np.asarray(1.0 - w * (_SALT_1 + _SALT_2 * w))


def of_salted_fish(wps_pct: float) -> float:
    """Lower bound: water activity measured in moist salted fish, 0 to 26.4 % WPS.

    H. M. Lupin and co-authors, moist salted fish: aw = 1.002 - 0.042 m, m in mol NaCl per kg of water.
    """
    require_between("wps_pct", wps_pct, 0.0, SATURATED_WPS, "%")
    molality = wps_pct / (100.0 - wps_pct) / _SALT_MOLAR_MASS
    return min(1.0, 1.002 - 0.042 * molality)


def of_sugar(sugar_pct: float, kind: str = "sucrose") -> float:
    """Water activity of a sugar solution of ``sugar_pct`` percent by mass, 0 to 60 %.

    R. S. Norrish, J. Food Technol. 1 (1966): aw = x_w exp(-K x_s^2). Multiply by :func:`of_salt`
    for both together (Ross). Never a safety factor: at brine strengths it is worth 0.006.
    """
    require_between("sugar_pct", sugar_pct, 0.0, 60.0, "%")
    sugar = sugar_pct / _MOLAR_MASS[kind]
    water = (100.0 - sugar_pct) / _WATER_MOLAR_MASS
    x_sugar = sugar / (sugar + water)
    return float((1.0 - x_sugar) * np.exp(-NORRISH_K[kind] * x_sugar**2))


@cache
def oswin() -> tuple[float, float]:
    """Constants a, b of Oswin's isotherm: water per fat-free solids = a (aw / (1 - aw))^b."""
    p = rules("heat")["oswin"]
    return float(p["a"]), float(p["b"])


def of_drying_flesh(water_per_solid: ArrayLike) -> NDArray[np.float64]:
    """Water activity of unsalted fat-free flesh at ``water_per_solid`` kg water per kg solids.

    Oswin's isotherm fitted to the Torry table of equilibrium moisture of non-fatty fish (1967).
    """
    a, b = oswin()
    x = np.maximum(np.asarray(water_per_solid, dtype=float), 1e-6)
    return np.asarray(1.0 / (1.0 + (a / x) ** (1.0 / b)))


def water_at(activity: float) -> float:
    """Inverse of :func:`of_drying_flesh`: kg water per kg fat-free solids at ``activity`` 0.1..0.99."""
    require_between("activity", activity, 0.1, 0.99, "-")
    a, b = oswin()
    return float(a * (activity / (1.0 - activity)) ** b)


def at_surface(
    water_per_solid: NDArray[np.float64], salt_per_solid: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Water activity of salted, drying flesh and its slope against ``water_per_solid``.

    Flesh and salt multiply (Ross). Salt stays where it is, so that the water phase grows saltier
    as the surface dries, up to saturation.
    """
    a, b = oswin()
    ratio = (a / water_per_solid) ** (1.0 / b)
    flesh = 1.0 / (1.0 + ratio)
    flesh_slope = flesh * flesh * ratio / (b * water_per_solid)
    both = salt_per_solid + water_per_solid
    wps = np.minimum(100.0 * salt_per_solid / both, SATURATED_WPS)
    salt = 1.0 - wps * (_SALT_1 + _SALT_2 * wps)
    salt_slope = (wps < SATURATED_WPS) * (_SALT_1 + 2.0 * _SALT_2 * wps) * wps / both
    return flesh * salt, flesh_slope * salt + flesh * salt_slope
