"""Transfer coefficients against the ``ht`` library and the textbooks' own values."""

from __future__ import annotations

import math

import pytest
from CoolProp.CoolProp import PropsSI
from ht.conv_external import Nu_horizontal_plate_laminar_Baehr
from ht.conv_free_immersed import Nu_horizontal_plate_McAdams
from hypothesis import given
from hypothesis import strategies as st

from planner import convection
from planner.ranges import OutOfRange

LENGTH = convection.PIECE_LENGTH_M


@pytest.mark.parametrize("air_c", [0.0, 20.0, 60.0, 95.0])
def test_air_agrees_with_coolprop(air_c: float) -> None:
    given_air = ("T", air_c + 273.15, "P", 101325.0, "Air")
    assert float(convection.viscosity_pa_s(air_c)) == pytest.approx(PropsSI("V", *given_air), rel=0.01)
    assert float(convection.conductivity_w_mk(air_c)) == pytest.approx(PropsSI("L", *given_air), rel=0.03)
    assert float(convection.density_kg_m3(air_c)) == pytest.approx(PropsSI("D", *given_air), rel=0.002)


@pytest.mark.parametrize("wind", [0.1, 0.3, 1.0, 3.0])
@pytest.mark.parametrize("air_c", [10.0, 80.0])
def test_laminar_plate_agrees_with_ht(wind: float, air_c: float) -> None:
    reynolds = wind * LENGTH * PropsSI("D", "T", air_c + 273.15, "P", 101325.0, "Air")
    reynolds /= PropsSI("V", "T", air_c + 273.15, "P", 101325.0, "Air")
    nusselt = Nu_horizontal_plate_laminar_Baehr(reynolds, 0.71)
    h = nusselt * PropsSI("L", "T", air_c + 273.15, "P", 101325.0, "Air") / LENGTH
    assert float(convection.laminar_plate(wind, air_c)) == pytest.approx(h, rel=0.03)


@pytest.mark.parametrize(("difference", "air_c"), [(5.0, 10.0), (40.0, 80.0)])
def test_natural_plate_agrees_with_ht(difference: float, air_c: float) -> None:
    length = LENGTH / 4
    kelvin = air_c + 273.15
    density, viscosity = (PropsSI(x, "T", kelvin, "P", 101325.0, "Air") for x in "DV")
    grashof = 9.81 * difference * length**3 / (kelvin * (viscosity / density) ** 2)
    faces = [Nu_horizontal_plate_McAdams(0.71, grashof, b) for b in (True, False)]
    h = sum(faces) / 2 * PropsSI("L", "T", kelvin, "P", 101325.0, "Air") / length
    assert float(convection.natural_plate(difference, air_c)) == pytest.approx(h, rel=0.04)


#: Wind; laminar; Treybal at a free height of 100 mm; Geankoplis (20 degC air), to the printed digit.
FORCED = [(0.5, 6.2, 7.1, 9.5), (1.0, 8.7, 11.6, 16.5), (2.0, 12.4, 19.0, 29.0), (3.0, 15.1, 25.0, 40.0)]


@pytest.mark.parametrize(("wind", "laminar", "treybal", "geankoplis"), FORCED)
def test_table_of_coefficients(wind: float, laminar: float, treybal: float, geankoplis: float) -> None:
    assert float(convection.laminar_plate(wind, 20.0)) == pytest.approx(laminar, rel=0.02)
    assert float(convection.treybal_gap(wind, 20.0)) == pytest.approx(treybal, rel=0.04)
    assert float(convection.geankoplis_tray(wind, 20.0)) == pytest.approx(geankoplis, rel=0.03)


@given(st.floats(0.01, 9.0), st.floats(1.02, 1.1), st.floats(0, 100))
def test_more_wind_never_transfers_less(wind: float, factor: float, air_c: float) -> None:
    slow, fast = (float(convection.convective(w, air_c, 5.0)) for w in (wind, wind * factor))
    assert fast > slow


def test_mass_goes_with_heat() -> None:
    """Incropera, eq. 6.60: h / h_m = rho cp Le^2/3, with 0.85 for water vapour in air."""
    ratio = 10.0 / float(convection.mass_transfer(10.0, 20.0))
    assert ratio == pytest.approx(1.204 * 1006 * 0.85 ** (2 / 3), rel=0.03)


@pytest.mark.parametrize("wind", [-0.1, 50.0, math.nan])
def test_impossible_wind_is_refused(wind: float) -> None:
    with pytest.raises(OutOfRange, match="wind_m_s"):
        convection.forced(wind, 20.0)
