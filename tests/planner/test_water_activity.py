"""Water activity against Pitzer's NaCl, Lupin's fish, the FDA's pairs and Torry's sorption table."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner import water_activity as aw
from planner.ranges import OutOfRange
from tests.planner.tables import rows

SALT = rows("aw_wps")


@pytest.mark.parametrize("row", [r for r in SALT if float(r["wps_pct"]) <= 10], ids=lambda r: r["wps_pct"])
def test_salt_agrees_with_pitzer(row: dict[str, str]) -> None:
    # The quadratic's own distance from Pitzer up to 10 %: 0.0006.
    assert float(aw.of_salt(float(row["wps_pct"]))) == pytest.approx(float(row["pitzer"]), abs=0.00065)


@pytest.mark.parametrize("row", SALT, ids=lambda r: r["wps_pct"])
def test_salted_fish_is_lupins_line(row: dict[str, str]) -> None:
    # Four printed digits of a line through 0.042 per mol/kg.
    assert aw.of_salted_fish(float(row["wps_pct"])) == pytest.approx(float(row["lupin"]), abs=1e-4)


@pytest.mark.parametrize(("wps", "activity"), [(5.0, 0.97), (10.0, 0.935)])
def test_salt_agrees_with_the_pairs_of_the_fda(wps: float, activity: float) -> None:
    """FDA Fish and Fishery Products Hazards and Controls Guidance, table A-1."""
    assert float(aw.of_salt(wps)) == pytest.approx(activity, abs=0.001)


@pytest.mark.parametrize("row", rows("fish_sorption"), ids=lambda r: r["rh_pct"])
def test_drying_flesh_follows_torry(row: dict[str, str]) -> None:
    moisture = float(row["moisture_pct"]) / 100
    # Printed to one percent of moisture, and the fit is within 0.02 kg/kg of it.
    assert aw.water_at(float(row["rh_pct"]) / 100) == pytest.approx(moisture / (1 - moisture), abs=0.02)


@pytest.mark.parametrize(("sugar_pct", "activity"), [(10.0, 0.994), (20.0, 0.986)])
def test_sucrose(sugar_pct: float, activity: float) -> None:
    """Norrish 1966 with K 6.47, printed to three digits."""
    assert aw.of_sugar(sugar_pct) == pytest.approx(activity, abs=0.0006)


@given(st.floats(0.02, 5.0), st.floats(0.0, 0.3))
def test_slope_is_the_slope(water: float, salt: float) -> None:
    step = 1e-6 * water
    low, _ = aw.at_surface(np.array([water - step]), np.array([salt]))
    high, _ = aw.at_surface(np.array([water + step]), np.array([salt]))
    _, slope = aw.at_surface(np.array([water]), np.array([salt]))
    wps = 100 * salt / (salt + water)
    if abs(wps - aw.SATURATED_WPS) > 0.01:  # a kink, where salt starts to drop out
        assert slope[0] == pytest.approx((high - low)[0] / (2 * step), rel=1e-4, abs=1e-6)


@given(st.floats(0.1, 0.99))
def test_sorption_there_and_back(activity: float) -> None:
    assert float(aw.of_drying_flesh(aw.water_at(activity))) == pytest.approx(activity, rel=1e-9)


@given(st.floats(0.0, 25.0), st.floats(0.01, 1.0))
def test_saltier_is_never_wetter(wps: float, more: float) -> None:
    assert float(aw.of_salt(wps + more)) < float(aw.of_salt(wps))


@pytest.mark.parametrize("wps", [-1.0, 30.0, float("nan")])
def test_impossible_salt_is_refused(wps: float) -> None:
    with pytest.raises(OutOfRange, match="wps_pct"):
        aw.of_salted_fish(wps)
