"""Units against their definitions, not against the registry."""

from __future__ import annotations

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner import units


@pytest.mark.parametrize(
    ("convert", "unit", "wanted"),
    [
        # International yard and pound agreement, 1959: exact.
        (units.grams, "pound", 453.59237),
        (units.grams, "ounce", 28.349523125),
        (units.grams, "kilogram", 1000.0),
        (units.grams, "hectogram", 100.0),
        (units.millimetres, "inch", 25.4),
        (units.millimetres, "centimeter", 10.0),
        # NIST Handbook 44 (2024), appendix C: a US gallon is 231 cubic inches; 4 quarts, 8 pints, 16 cups of 16 spoons.
        (units.millilitres, "gallon", 3785.411784),
        (units.millilitres, "quart", 946.352946),
        (units.millilitres, "pint", 473.176473),
        (units.millilitres, "cup", 236.5882365),
        (units.millilitres, "tablespoon", 14.78676478125),
        (units.millilitres, "teaspoon", 4.92892159375),
        (units.millilitres, "deciliter", 100.0),
        # Weights and Measures Act 1985 (UK), schedule 1: the gallon is 4.54609 cubic decimetres; 4 quarts, 8 pints.
        (units.millilitres, "imperial_gallon", 4546.09),
        (units.millilitres, "imperial_quart", 1136.5225),
        (units.millilitres, "imperial_pint", 568.26125),
        (units.seconds, "hour", 3600.0),
        (units.metres_per_second, "mile / hour", 0.44704),
        (units.metres_per_second, "knot", 1852 / 3600),
    ],
)
def test_measures_are_as_defined(convert: object, unit: str, wanted: float) -> None:
    assert convert(1.0, unit) == pytest.approx(wanted, rel=1e-9)  # type: ignore[operator]


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [(32.0, 0.0), (212.0, 100.0), (-40.0, -40.0), (145.0, 62.0 + 7.0 / 9.0)]
)
def test_fixed_points_of_the_scales(fahrenheit: float, celsius: float) -> None:
    """Ice and steam points, where the scales meet, and 145 °F."""
    assert units.celsius(fahrenheit, "degF") == pytest.approx(celsius, abs=1e-9)
    assert units.fahrenheit(celsius) == pytest.approx(fahrenheit, abs=1e-9)


def test_kelvin() -> None:
    assert units.celsius(273.15, "kelvin") == pytest.approx(0.0, abs=1e-9)


@given(st.floats(-80.0, 400.0))
def test_there_and_back(value: float) -> None:
    assert units.fahrenheit(units.celsius(value, "degF")) == pytest.approx(value, abs=1e-9)


@pytest.mark.parametrize(
    ("degrees", "mass_pct"),
    # Seafish (UK), Seafood Academy, brine strength table: percent salt by weight, printed to two decimals.
    [(10, 2.64), (20, 5.28), (40, 10.56), (60, 15.84), (80, 21.12), (100, 26.40)],
)
def test_salometer_degrees(degrees: float, mass_pct: float) -> None:
    assert units.salometer_to_mass_pct(degrees) == pytest.approx(mass_pct, abs=0.0051)


def test_what_does_not_fit_is_refused() -> None:
    with pytest.raises(pint.DimensionalityError):
        units.grams(1.0, "liter")
    with pytest.raises(pint.UndefinedUnitError):
        units.grams(1.0, "stickleback")
