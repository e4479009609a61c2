"""The slab's series against Crank's tables, against each other, and for what must always hold."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from planner.diffusion import dose_at_core, profile, uptake
from planner.ranges import OutOfRange
from tests.planner.tables import rows

TABLE = rows("crank_slab")
fourier = st.floats(1e-3, 3.0)
baths = st.floats(0.05, 50.0)


@pytest.mark.parametrize("row", TABLE, ids=lambda row: row["Fo"])
def test_crank_slab(row: dict[str, str]) -> None:
    """J. Crank, The Mathematics of Diffusion, 2nd ed., 1975, eq. 4.17, 4.18, 4.37: five printed decimals."""
    fo = float(row["Fo"])
    assert uptake(fo)[0] == pytest.approx(float(row["E_infinite_bath"]), abs=6e-6)
    assert profile(0.0, fo)[0] == pytest.approx(float(row["centre_infinite_bath"]), abs=6e-6)
    for column in (name for name in row if name.startswith("E_alpha_")):
        alpha = float(column.removeprefix("E_alpha_"))
        assert uptake(fo, alpha)[0] == pytest.approx(float(row[column]), abs=6e-6), column


@pytest.mark.parametrize(
    ("alpha", "root"),
    # J. Crank, table 4.1: first roots of tan q = -alpha q, four decimals.
    [(0.25, 2.5704), (1.0, 2.0288), (3.0, 1.7582), (4.0, 1.7155), (9.0, 1.6385)],
)
def test_late_uptake_dies_away_with_the_first_root(alpha: float, root: float) -> None:
    left = 1.0 - uptake(np.array([1.5, 2.0]), alpha)
    assert np.sqrt(np.log(left[0] / left[1]) / 0.5) == pytest.approx(root, abs=2e-4)


@given(fourier, baths)
def test_uptake_is_the_mean_of_the_profile(fo: float, alpha: float) -> None:
    x = (np.arange(2000) + 0.5) / 2000
    assert profile(x, fo, alpha).mean() == pytest.approx(uptake(fo, alpha)[0], abs=2e-5)


@given(fourier, baths)
def test_what_the_slab_gains_the_bath_loses(fo: float, alpha: float) -> None:
    """The face holds the bath's concentration: bath + slab = what was there at the start, to 0.1 %."""
    final = alpha / (1.0 + alpha)
    bath, slab = profile(1.0, fo, alpha)[0] * final, uptake(fo, alpha)[0] * final
    assert bath + slab / alpha == pytest.approx(1.0, abs=1e-3)


@given(st.floats(0.0, 3.0), st.floats(1e-3, 0.5), baths)
def test_longer_takes_up_more(fo: float, more: float, alpha: float) -> None:
    assert uptake(fo + more, alpha)[0] >= uptake(fo, alpha)[0]
    assert 0.0 <= uptake(fo, alpha)[0] <= 1.0


@given(st.floats(0.049, 0.051), baths)
def test_early_and_late_form_meet(fo: float, alpha: float) -> None:
    """No step at fo = 0.05, where one form gives way to the other."""
    around = uptake(np.array([0.05 - 1e-9, 0.05]), alpha)
    assert around[0] == pytest.approx(around[1], abs=1e-7)


def test_an_endless_bath_is_the_limit() -> None:
    fo = np.array([0.001, 0.02, 0.3])
    assert uptake(fo, 1e8) == pytest.approx(uptake(fo), abs=1e-7)


def test_root_time_law() -> None:
    """Crank eq. 4.20 early on: 2 sqrt(fo / pi)."""
    assert uptake(0.01)[0] == pytest.approx(2.0 * np.sqrt(0.01 / np.pi), rel=1e-9)


def test_a_dose_evens_out_as_separation_of_variables_says() -> None:
    """First term 2 exp(-pi^2 fo): within 10 % of even at fo = ln 20 / pi^2 but for exp(-4 ln 20) of it."""
    fo = brentq(lambda f: float(dose_at_core(f)) - 0.9, 0.05, 2.0)
    assert fo == pytest.approx(np.log(20.0) / np.pi**2, rel=1e-4)
    assert float(dose_at_core(0.001)) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(("fo", "alpha"), [(-0.1, 1.0), (0.1, -1.0), (0.1, 0.0), (float("nan"), 1.0)])
def test_impossible_arguments_are_refused(fo: float, alpha: float) -> None:
    with pytest.raises(OutOfRange), np.errstate(divide="ignore"):
        uptake(fo, alpha)
    with pytest.raises(OutOfRange):
        profile(1.5, 0.1)
