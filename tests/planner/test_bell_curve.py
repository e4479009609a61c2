"""The normal curve and the zero finder against scipy's."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.special import erfcx, ndtr, ndtri

from planner.bell_curve import normal_scores, normal_shares, scaled_erfc
from planner.roots import root


def test_scaled_erfc_is_scipys() -> None:
    x = np.concatenate([[0.0], np.logspace(-9, 6, 5_000)])
    assert scaled_erfc(x) == pytest.approx(erfcx(x), rel=1e-14)


def test_normal_scores_are_scipys() -> None:
    shares = np.concatenate([np.logspace(-9, -0.31, 500), 1.0 - np.logspace(-9, -0.31, 500)]).reshape(100, 10)
    assert normal_scores(shares) == pytest.approx(ndtri(shares), rel=1e-12, abs=1e-12)


def test_normal_shares_are_scipys() -> None:
    scores = np.linspace(-30.0, 9.0, 4_000).reshape(400, 10)
    assert normal_shares(scores) == pytest.approx(ndtr(scores), rel=1e-12)


@given(st.floats(-20.0, 20.0), st.floats(0.01, 20.0), st.integers(0, 4))
def test_root_is_where_scipy_finds_it(middle: float, span: float, bend: int) -> None:
    def function(x: float) -> float:
        return math.atan(x - middle) * (1.0 + bend * (x - middle) ** 2)

    low, high = middle - span, middle + 0.7 * span
    assert root(function, low, high) == pytest.approx(brentq(function, low, high), abs=1e-9)


@pytest.mark.parametrize(("low", "high"), [(0.0, 2.0), (-2.0, 0.0)])
def test_a_zero_at_an_end_is_found(low: float, high: float) -> None:
    assert root(lambda x: 3.0 * x, low, high) == 0.0


def test_no_change_of_sign_is_refused() -> None:
    with pytest.raises(ValueError, match="no change of sign"):
        root(lambda x: x * x + 1.0, -1.0, 1.0)
