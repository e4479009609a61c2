"""The one unit registry, and conversions from what people say to SI.

Quantities pass through here where they enter, leave or cross a public function; solvers work on
plain SI numbers. Customary measures are the US ones, as the registry has them (a cup is 236.588 ml);
the Imperial ones carry the prefix ``imperial_``.
"""

from __future__ import annotations

from functools import cache

import pint

#: Mass percent of sodium chloride in brine that reads 100 degrees salometer at 60 °F.
#: Hilderbrand, "The salometer", Oregon State University Extension, SG 22, 1973: saturation 26.4 %;
#: scale given to three decimals in "The Salometer and How to Use It": 26.395 % by weight.
SATURATED_PCT = 26.395


@cache
def registry() -> pint.UnitRegistry[float]:
    """Return the shared registry: SI, kitchen measures, degrees salometer.

    ``salometer_degree`` is a mass fraction: 1/100 of that of saturated brine at 60 °F.
    """
    ureg: pint.UnitRegistry[float] = pint.UnitRegistry(cache_folder=None)
    ureg.define(f"salometer_degree = {SATURATED_PCT / 1e4!r} = degree_salometer")
    ureg.define("hectogram = 100 * gram = hg_mass")
    return ureg


@cache
def factor(unit: str, target: str) -> float:
    """Return how many ``target`` one ``unit`` is; both without an offset, of one dimension.

    Raises pint.UndefinedUnitError or pint.DimensionalityError where that cannot be.
    """
    return float(registry().Quantity(1.0, unit).to(target).magnitude)


def grams(value: float, unit: str) -> float:
    """Convert a mass to g."""
    return value * factor(unit, "gram")


def millilitres(value: float, unit: str) -> float:
    """Convert a volume to ml."""
    return value * factor(unit, "milliliter")


def millimetres(value: float, unit: str) -> float:
    """Convert a length to mm."""
    return value * factor(unit, "millimeter")


def seconds(value: float, unit: str) -> float:
    """Convert a time span to s."""
    return value * factor(unit, "second")


def metres_per_second(value: float, unit: str) -> float:
    """Convert a speed to m/s."""
    return value * factor(unit, "meter / second")


@cache
def _line(unit: str, target: str) -> tuple[float, float]:
    """Return slope and intercept of ``target`` over ``unit`` for two scales of temperature."""
    at_zero, at_hundred = (float(registry().Quantity(x, unit).to(target).magnitude) for x in (0.0, 100.0))
    return (at_hundred - at_zero) / 100.0, at_zero


def celsius(value: float, unit: str) -> float:
    """Convert a temperature (not a difference) in ``degF``, ``degC`` or ``kelvin`` to °C."""
    slope, intercept = _line(unit, "degC")
    return slope * value + intercept


def fahrenheit(celsius_value: float) -> float:
    """Convert a temperature in °C to °F."""
    slope, intercept = _line("degC", "degF")
    return slope * celsius_value + intercept


def salometer_to_mass_pct(degrees: float) -> float:
    """Convert degrees salometer to percent salt of the brine's mass (salt alone, 60 °F)."""
    return degrees * factor("salometer_degree", "percent")
