"""Moist air against CoolProp's HumidAir, an independent formulation."""

from __future__ import annotations

import pytest
from CoolProp.CoolProp import PropsSI
from CoolProp.HumidAirProp import HAPropsSI
from hypothesis import given
from hypothesis import strategies as st

from planner import air
from planner.ranges import OutOfRange

CASES = [(5.0, 80.0), (15.0, 60.0), (20.0, 50.0), (25.0, 50.0), (30.0, 90.0), (60.0, 10.0), (80.0, 7.0)]


@pytest.mark.parametrize(("air_c", "rh"), CASES)
def test_humidity_and_wet_bulb_agree_with_coolprop(air_c: float, rh: float) -> None:
    given_air = ("T", air_c + 273.15, "R", rh / 100, "P", air.SEA_LEVEL_PA)
    humidity = air.humidity_ratio(air_c, rh)
    # CoolProp counts the enhancement of vapour pressure in air, which psychrolib leaves out: 0.7 %.
    assert humidity == pytest.approx(HAPropsSI("W", *given_air), rel=0.007)
    assert air.wet_bulb_c(air_c, humidity) == pytest.approx(HAPropsSI("B", *given_air) - 273.15, abs=0.05)
    assert air.dew_point_c(air_c, rh) == pytest.approx(HAPropsSI("D", *given_air) - 273.15, abs=0.1)


@pytest.mark.parametrize("surface_c", [0.5, 10.0, 25.0, 40.0, 60.0, 75.0, 95.0, 110.0])
def test_saturation_and_latent_heat_agree_with_coolprop(surface_c: float) -> None:
    kelvin = surface_c + 273.15
    assert float(air.saturation_pa(surface_c)) == pytest.approx(PropsSI("P", "T", kelvin, "Q", 0, "Water"), rel=1e-3)
    gas, liquid = (PropsSI("H", "T", kelvin, "Q", q, "Water") for q in (1, 0))
    assert float(air.latent_heat(surface_c)) == pytest.approx(gas - liquid, rel=4e-3)


def test_pressure_and_boiling_at_altitude() -> None:
    """Standard atmosphere at 1500 m: 84.6 kPa, where water boils at 95.0 degC."""
    pressure = air.pressure_pa(1500.0)
    assert pressure == pytest.approx(84.6e3, abs=50)
    assert float(air.saturation_pa(95.0)) == pytest.approx(pressure, rel=2e-3)


@given(st.floats(0, 40), st.floats(5, 95))
def test_wet_bulb_lies_between_dew_point_and_air(air_c: float, rh: float) -> None:
    wet_bulb = air.wet_bulb_c(air_c, air.humidity_ratio(air_c, rh))
    assert air.dew_point_c(air_c, rh) - 0.05 <= wet_bulb <= air_c + 0.05


@pytest.mark.parametrize("rh", [140.0, -1.0, float("nan"), float("inf")])
def test_impossible_humidity_is_refused(rh: float) -> None:
    with pytest.raises(OutOfRange, match="rh_pct"):
        air.humidity_ratio(20.0, rh)


@pytest.mark.parametrize("altitude", [-1000.0, 20000.0])
def test_impossible_altitude_is_refused(altitude: float) -> None:
    with pytest.raises(OutOfRange, match="altitude_m"):
        air.pressure_pa(altitude)
