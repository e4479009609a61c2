"""Salt in water: density, solubility, and the salometer."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np

from planner.ranges import OutOfRange, require_between
from planner.roots import root
from planner.sources import rules
from planner.units import SATURATED_PCT, celsius

#: What `salometer_reading_pct` and `density_g_per_ml` hold for.
COLDEST_C, WARMEST_C = 0.0, 40.0
#: Degrees salometer at which the scale ends: saturated brine.
TOP_DEG = 100.0

_LIMIT_PCT = 26.59  # the density fit's own end


class OverSaturated(OutOfRange):
    """More salt than the water can dissolve at its temperature."""

    def __init__(self, got_pct: float, limit_pct: float, temp_c: float) -> None:
        self.temp_c = temp_c
        super().__init__(f"salt in water of {temp_c:g} °C", 0.0, limit_pct, "% of the mass", got_pct)


def water_g_per_ml(temp_c: float) -> float:
    """Density of water [g/ml], 0 to 40 °C: Kell's formula as in Laliberté and Cooper 2004."""
    t = require_between("temp_c", temp_c, COLDEST_C, WARMEST_C, "°C")
    terms = (-2.8054253e-10, 1.0556302e-7, -4.6170461e-5, -0.0079870401, 16.945176, 999.83952)
    return float(np.polyval(terms, t)) / (1.0 + 0.01687985 * t) / 1000.0


def density_g_per_ml(salt_pct: float, temp_c: float) -> float:
    """Density of brine [g/ml] with ``salt_pct`` percent salt of its mass, 0 to 26.59 %, 0 to 40 °C.

    M. Laliberté, W. E. Cooper, J. Chem. Eng. Data 49 (2004), with the coefficients for NaCl of
    M. Laliberté, J. Chem. Eng. Data 54 (2009).
    """
    share = require_between("salt_pct", salt_pct, 0.0, _LIMIT_PCT, "%") / 100.0
    water = water_g_per_ml(temp_c)
    p = _constants()["density"]
    scale = math.exp(1e-6 * (temp_c + p["c4"]) ** 2)
    apparent = (p["c0"] * share + p["c1"]) * scale / (share + p["c2"] + p["c3"] * temp_c) / 1000.0
    return float(1.0 / ((1.0 - share) / water + share / apparent))


def solubility_pct(temp_c: float) -> float:
    """Salt in saturated brine, percent of its mass, 0 to 40 °C (CRC Handbook, straight between points)."""
    require_between("temp_c", temp_c, COLDEST_C, WARMEST_C, "°C")
    points = _constants()["solubility"]
    return float(np.interp(temp_c, points["temp_c"], points["pct"]))


def require_soluble(salt_pct: float, temp_c: float) -> float:
    """Return ``salt_pct`` (of salt and water) if that much dissolves, else raise OverSaturated.

    Saturation of the salometer's own scale (26.395 %) passes at any temperature.
    """
    limit = max(solubility_pct(temp_c), SATURATED_PCT)
    if salt_pct > limit + 1e-9:
        raise OverSaturated(salt_pct, limit, temp_c)
    return require_between("salt_pct", salt_pct, 0.0, limit + 1e-9, "%")


def pct_of_litre(salt_g_per_l: float, temp_c: float = 20.0) -> float:
    """Percent by mass of a brine that holds ``salt_g_per_l`` grams of salt to a litre of brine.

    The inverse of density times share; up to saturation at ``temp_c``, 0 to 40 °C.
    """

    def excess(pct: float) -> float:
        return 10.0 * pct * density_g_per_ml(pct, temp_c) - salt_g_per_l

    top = solubility_pct(temp_c)
    require_between("salt_g_per_l_brine", salt_g_per_l, 0.0, salt_g_per_l + excess(top), "g/l")
    return root(excess, 0.0, top)


def pct_of_density(g_per_ml: float, temp_c: float) -> float:
    """Percent salt by mass of a sugar-free brine of this density at ``temp_c``, 0 to 40 °C.

    Raises OutOfRange below the density of water and above that of saturated brine.
    """
    low, high = density_g_per_ml(0.0, temp_c), density_g_per_ml(_LIMIT_PCT, temp_c)
    require_between("density", g_per_ml, low, high, "g/ml")
    return root(lambda pct: density_g_per_ml(pct, temp_c) - g_per_ml, 0.0, _LIMIT_PCT)


def degrees(salt_pct: float) -> float:
    """Degrees salometer of a brine with ``salt_pct`` percent salt of its mass."""
    return TOP_DEG * salt_pct / SATURATED_PCT


def at_calibration(reading_deg: float, temp_c: float) -> float:
    """Degrees at 60 °F from a reading taken at ``temp_c`` (40 to 80 °F, that is 4.4 to 26.7 °C).

    "The Salometer and How to Use It": one degree to add for each 10 °F above 60 °F.
    """
    rule = _constants()["salometer"]
    low, high = (celsius(rule["calibration_f"] + sign * rule["trusted_within_f"], "degF") for sign in (-1.0, 1.0))
    require_between("temp_c of the reading", temp_c, low - 0.05, high + 0.05, "°C")
    require_between("reading_deg", reading_deg, 0.0, TOP_DEG + rule["trusted_within_f"] / 10.0, "°SAL")
    excess_f = (temp_c - celsius(rule["calibration_f"], "degF")) * 1.8
    return reading_deg + float(rule["degrees_per_10_f"]) * excess_f / 10.0


@cache
def _constants() -> dict[str, Any]:
    return rules("saltwater")
