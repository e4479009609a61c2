"""The simulated truth is sound, and the forecaster is honest about it (the full table: bench_forecast)."""

from __future__ import annotations

import numpy as np
import pytest

from planner import air, convection
from planner.slab import solve, time_steps
from tests.benchmarks.bench_forecast import judge
from tests.planner.given import SALMON
from tests.planner.test_slab import salmon, smoker
from tests.simulated.cooks import cooks
from tests.simulated.fish import Fish, simulate


def fish(count: int, width_m: float) -> Fish:
    one = np.ones(count)
    return Fish(
        composition=SALMON,
        thickness_m=0.025 * one,
        width_m=width_m * one,
        start_c=5.0 * one,
        wps_pct=3.5 * one,
        diffusivity=1e-10 * one,
        forced=float(convection.laminar_plate(0.3, 80.0)) * one,
        natural=float(convection.natural_plate(1.0, 80.0)) * one,
        humidity_pa=float(air.vapour_pa(0.030)) * one,
        emissivity=0.9 * one,
        dried=0.0 * one,
    )


def test_a_very_wide_fish_is_the_slab() -> None:
    """Two methods, one physics: within what local and surface diffusivity differ by."""
    truth = simulate(fish(1, 3.0), lambda _: np.array([80.0]), 4.0)
    times = time_steps(4 * 3600.0, longest_s=120.0)
    course = solve(salmon(), times, smoker(len(times)))
    for hours in (0.5, 1.0, 2.0, 3.0, 4.0):
        core = np.interp(hours * 3600.0, truth.time_s, truth.core_c[:, 0])
        assert np.interp(hours * 3600.0, times, course.core_c[:, 0]) == pytest.approx(core, abs=1.0)


def test_the_narrow_is_hotter_and_drier_than_the_wide() -> None:
    wide, narrow = (simulate(fish(1, w), lambda _: np.array([85.0]), 2.0) for w in (0.15, 0.05))
    assert narrow.core_c[-1, 0] > wide.core_c[-1, 0]
    assert narrow.loss[-1, 0] > wide.loss[-1, 0]


def test_forecasts_of_simulated_cooks_are_near_and_honest() -> None:
    """Bounds far wider than what bench_forecast prints, for a handful of cooks."""
    judged = [j for i, c in enumerate(cooks(10, 77, hours=4.5)) for j in judge(c, i + 1)]
    assert len(judged) >= 20
    assert np.median([j.ours for j in judged]) < 0.35
    assert np.mean([j.held for j in judged]) > 0.65
    late = [j for j in judged if j.count >= 2]
    assert np.median([j.ours for j in late]) < np.median([j.line for j in late])
