"""Brine density, solubility and the salometer against tables and two libraries."""

from __future__ import annotations

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st
from thermo.electrochem import Laliberte_density

from planner import saltwater
from planner.ranges import OutOfRange
from planner.saltwater import OverSaturated
from planner.units import salometer_to_mass_pct
from tests.planner.tables import rows

SALOMETER = rows("salometer")
SIXTY_F = 15.556
LB_G = 453.592
US_GAL_L, IMP_GAL_L = 3.78541, 4.54609


@pytest.mark.parametrize("row", SALOMETER, ids=lambda row: row["deg_sal"])
def test_salometer_table(row: dict[str, str]) -> None:
    """Every printed figure of the row, to half its last digit (density: the models differ by 1e-5)."""
    pct = salometer_to_mass_pct(float(row["deg_sal"]))
    water = saltwater.water_g_per_ml(SIXTY_F)
    ratio = pct / (100.0 - pct)
    assert pct == pytest.approx(float(row["pct_w"]), abs=0.0006)
    at_60f = saltwater.density_g_per_ml(pct, SIXTY_F)
    assert at_60f == pytest.approx(float(row["density_60F_g_mL"]), abs=7e-5)
    assert saltwater.density_g_per_ml(pct, 20.0) == pytest.approx(float(row["density_20C_g_mL"]), abs=7e-5)
    assert at_60f / water == pytest.approx(float(row["sg_60_60"]), abs=7e-5)
    assert 1000.0 * ratio == pytest.approx(float(row["g_salt_per_kg_water"]), abs=0.06)
    pounds = 1000.0 * ratio * water / LB_G
    assert pounds * US_GAL_L == pytest.approx(float(row["lb_salt_per_US_gal_water"]), abs=0.0006)
    assert pounds * IMP_GAL_L == pytest.approx(float(row["lb_salt_per_Imp_gal_water"]), abs=0.0006)
    assert 10.0 * pct * at_60f == pytest.approx(float(row["g_salt_per_L_brine_60F"]), abs=0.06)
    assert saltwater.degrees(pct) == pytest.approx(float(row["deg_sal"]))


@pytest.mark.parametrize("row", rows("brine_table"), ids=lambda row: row["degrees"])
def test_published_brine_table(row: dict[str, str]) -> None:
    """Sea Fish Industry Authority; its own columns agree with each other to 0.1 % and 0.0015 kg/l."""
    pct = salometer_to_mass_pct(float(row["degrees"]))
    assert pct == pytest.approx(float(row["pct_w_w"]), abs=0.01)
    density = saltwater.density_g_per_ml(pct, 20.0)
    assert density == pytest.approx(float(row["weight_g_per_L"]) / 1000.0, abs=0.0015)
    assert 10.0 * pct * density == pytest.approx(float(row["salt_g_per_L"]), rel=0.0025)
    per_litre_water = 1000.0 * pct / (100.0 - pct) * saltwater.water_g_per_ml(SIXTY_F)
    assert per_litre_water == pytest.approx(float(row["salt_added_g_per_L_water"]), rel=0.002)


@pytest.mark.parametrize("row", rows("nacl_density"), ids=lambda row: row["pct_w"])
def test_density_of_the_handbook(row: dict[str, str]) -> None:
    """CRC Handbook at 20 °C; the model's own distance from it is 0.0004 g/ml."""
    density = saltwater.density_g_per_ml(float(row["pct_w"]), 20.0)
    assert density == pytest.approx(float(row["pub_density_20C"]), abs=0.00045)


@given(st.floats(0.0, 26.0), st.floats(0.0, 40.0))
def test_density_as_in_thermo(salt_pct: float, temp_c: float) -> None:
    """The library's own transcription of Laliberté 2009."""
    theirs = Laliberte_density(temp_c + 273.15, [salt_pct / 100.0], ["7647-14-5"]) / 1000.0
    assert saltwater.density_g_per_ml(salt_pct, temp_c) == pytest.approx(theirs, rel=1e-9)


@given(st.floats(1.0, 22.0), st.floats(0.0, 30.0))
def test_density_against_coolprop(salt_pct: float, temp_c: float) -> None:
    """CoolProp INCOMP::MNA (Melinder): another fit to other data, within 0.1 % over the range."""
    theirs = PropsSI("D", "T", temp_c + 273.15, "P", 101325, f"INCOMP::MNA[{salt_pct / 100.0}]") / 1000.0
    assert saltwater.density_g_per_ml(salt_pct, temp_c) == pytest.approx(theirs, rel=1e-3)


@given(st.floats(0.0, 26.0), st.floats(0.0, 40.0), st.floats(0.01, 0.5))
def test_saltier_is_denser(salt_pct: float, temp_c: float, more: float) -> None:
    lighter = saltwater.density_g_per_ml(salt_pct, temp_c)
    assert saltwater.density_g_per_ml(salt_pct + more, temp_c) > lighter


@given(st.floats(0.0, 26.0), st.floats(0.0, 40.0))
def test_density_there_and_back(salt_pct: float, temp_c: float) -> None:
    density = saltwater.density_g_per_ml(salt_pct, temp_c)
    assert saltwater.pct_of_density(density, temp_c) == pytest.approx(salt_pct, abs=1e-6)
    per_litre = 10.0 * salt_pct * saltwater.density_g_per_ml(salt_pct, 20.0)
    assert saltwater.pct_of_litre(per_litre, 20.0) == pytest.approx(salt_pct, abs=1e-6)


@pytest.mark.parametrize(("temp_c", "pct"), [(0, 26.28), (10, 26.32), (20, 26.41), (25, 26.45), (30, 26.52)])
def test_solubility(temp_c: float, pct: float) -> None:
    """CRC Handbook, two printed decimals."""
    assert saltwater.solubility_pct(temp_c) == pytest.approx(pct, abs=0.005)


def test_over_saturated_says_what_dissolves() -> None:
    with pytest.raises(OverSaturated, match=r"0 to 26.395 % of the mass, got 30 %"):
        saltwater.require_soluble(30.0, 4.0)
    assert saltwater.require_soluble(26.395, 0.0) == 26.395


@pytest.mark.parametrize("degrees", [20.0, 40.0, 60.0, 80.0])
@pytest.mark.parametrize("temp_c", [4.5, 10.0, 21.0, 26.6])
def test_correction_of_a_reading_agrees_with_density(degrees: float, temp_c: float) -> None:
    """The rule of the salometer sheet against the brine's own density.

    A brine that floats the instrument at ``degrees`` while at ``temp_c`` has, at that temperature, the
    density that belongs to ``degrees`` at 60 °F. The rule is a straight degree for 10 °F; density gives 0.5
    to 1.3: within 0.5 degree for each 10 °F away.
    """
    density = saltwater.density_g_per_ml(salometer_to_mass_pct(degrees), SIXTY_F)
    true = saltwater.degrees(saltwater.pct_of_density(density, temp_c))
    away = abs(temp_c - SIXTY_F) * 1.8 / 10.0
    assert saltwater.at_calibration(degrees, temp_c) == pytest.approx(true, abs=0.6 * away + 1e-3)


def test_correction_as_printed() -> None:
    """The Salometer and How to Use It: one degree for every 10 °F above 60 °F."""
    assert saltwater.at_calibration(60.0, 26.6667) == pytest.approx(62.0, abs=0.001)
    assert saltwater.at_calibration(60.0, 10.0) == pytest.approx(59.0, abs=0.001)


@pytest.mark.parametrize(("reading", "temp_c"), [(60.0, 35.0), (60.0, -5.0), (-1.0, 15.0), (140.0, 15.0)])
def test_a_reading_out_of_range_is_refused(reading: float, temp_c: float) -> None:
    with pytest.raises(OutOfRange):
        saltwater.at_calibration(reading, temp_c)


@pytest.mark.parametrize(("salt_pct", "temp_c"), [(-1.0, 20.0), (27.0, 20.0), (5.0, 60.0), (5.0, float("nan"))])
def test_density_out_of_range_is_refused(salt_pct: float, temp_c: float) -> None:
    with pytest.raises(OutOfRange):
        saltwater.density_g_per_ml(salt_pct, temp_c)
