"""Is the weighing right? An exact case, a rank histogram, and a parameter that is found again."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import chisquare

from planner import air
from planner.forecast import forecast_core
from planner.forecast.core import misfit
from planner.forecast.particles import LAST_SHARE, Belief, Misfit, Proposal, explaining, log_prior_over, weigh
from planner.forecast.smoke_runs import DIMS, Told, march
from planner.piece import Piece
from planner.unknowns import NAMES, usual
from tests.planner.given import SALMON

PIECE = Piece(SALMON, 26.0, 2, 90.0)
CHAMBER = tuple((1500.0 * n, 86.0 + 2.0 * math.sin(n)) for n in range(20))


def passes(predict, seconds, values, errors, dims, runs=512):
    """The forecaster's own passes, on any model."""
    proposal = Proposal(Belief.prior(dims), from_prior=0.0)
    for n in range(3):
        z = proposal.draw(runs, 5 + n)
        off = values[:, None] - predict(z)
        particles = weigh(z, log_prior_over(proposal, z) + errors.log_likelihood(seconds, off), LAST_SHARE)
        proposal = explaining(z, off, errors.cover(seconds))
    return particles


def test_a_linear_normal_case_has_its_exact_answer() -> None:
    """Conjugate case: x ~ N(0, I), y = A x + e, e ~ N(0, K). Posterior by the normal equations."""
    rng = np.random.default_rng(4)
    dims, count = 4, 6
    a = rng.normal(size=(count, dims))
    errors = Misfit(noise_sd=0.7, drift_sd=0.9, memory_s=3000.0)
    seconds = np.cumsum(rng.uniform(600, 2400, count))
    cover = 0.7**2 * np.eye(count)
    cover += 0.9**2 * np.exp(-np.abs(seconds[:, None] - seconds[None]) / 3000.0)
    values = a @ rng.normal(size=dims) + rng.multivariate_normal(np.zeros(count), cover)
    precision = np.eye(dims) + a.T @ np.linalg.solve(cover, a)
    mean = np.linalg.solve(precision, a.T @ np.linalg.solve(cover, values))
    found = passes(lambda z: a @ z.T, seconds, values, errors, dims).belief()
    # Monte Carlo error of some hundred effective runs.
    deviation = np.sqrt(np.diag(np.linalg.inv(precision)))
    assert found.mean == pytest.approx(mean, abs=0.15 * deviation.max())
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx(deviation, rel=0.15)


def test_the_lasting_error_is_kriged() -> None:
    """One reading without noise is met exactly, and forgotten over the memory."""
    errors = Misfit(noise_sd=1e-6, drift_sd=1.5, memory_s=1000.0)
    off = np.array([[2.0, -1.0]])
    mean, sd = errors.ahead(np.array([500.0]), off, np.array([500.0, 1500.0, 1e6]))
    assert mean[0] == pytest.approx(off[0])
    assert mean[1] == pytest.approx(off[0] * math.exp(-1.0))
    assert sd == pytest.approx([0.0, 1.5 * math.sqrt(1 - math.exp(-2.0)), 1.5], abs=1e-3)


def told() -> Told:
    return Told(PIECE, CHAMBER, 12.0, 3.0, 86.0, 0.030, None, air.SEA_LEVEL_PA, usual())


def simulated(seed: int, z: np.ndarray, count: int = 4):
    """Readings made by the forecaster's own model: with noise and a lasting error."""
    rng = np.random.default_rng(seed)
    runs = march(told(), z, 9 * 3600.0, 9 * 3600.0)
    seconds = np.cumsum(rng.uniform(900, 2400, count))
    errors = misfit()
    lasting = np.exp(-np.abs(seconds[:, None] - seconds[None]) / errors.memory_s) * errors.drift_sd**2
    drift = rng.multivariate_normal(np.zeros(count), lasting)
    values = runs.read_at(seconds)[:, 0] + drift + rng.normal(0, errors.noise_sd, count)
    return runs, seconds, values, drift


def test_ranks_of_the_truth_are_even() -> None:
    """Simulation-based calibration: the truth's rank among the posterior is uniform (Talts 2018)."""
    ranks = []
    errors = misfit()
    for case in range(60):
        rng = np.random.default_rng(1000 + case)
        z = rng.normal(size=(1, DIMS))
        _, seconds, values, _ = simulated(case, z, count=3)
        proposal = Proposal(Belief.prior(DIMS), from_prior=0.0)
        for _n in range(3):
            drawn = proposal.draw(128, 7 + case)
            off = values[:, None] - march(told(), drawn, seconds[-1], seconds[-1]).read_at(seconds)
            fit = log_prior_over(proposal, drawn) + errors.log_likelihood(seconds, off)
            particles = weigh(drawn, fit, LAST_SHARE)
            proposal = explaining(drawn, off, errors.cover(seconds))
        for i in (NAMES.index("transfer"), NAMES.index("humidity")):
            ranks.append(float(particles.weights @ (particles.z[:, i] < z[0, i])))
    counts, _ = np.histogram(ranks, bins=5, range=(0.0, 1.0))
    assert chisquare(counts).pvalue > 0.005, counts


@pytest.mark.parametrize("truth", [-1.5, 1.5])
def test_a_known_transfer_is_found_again(truth: float) -> None:
    z = np.zeros((1, DIMS))
    z[0, NAMES.index("transfer")] = truth
    runs, seconds, values, drift = simulated(3, z, count=8)
    found = forecast_core(PIECE, list(zip(seconds, values, strict=True)), CHAMBER, now_s=float(seconds[-1]))
    mean, sd = found.belief.mean, np.sqrt(np.diag(found.belief.covariance))
    i = NAMES.index("transfer")
    assert np.sign(mean[i]) == np.sign(truth)
    assert abs(mean[i] - truth) < 2.0 * sd[i] + 0.2
    core_c = np.interp(seconds[-1], runs.course.time_s, runs.course.core_c[:, 0]) + drift[-1]
    assert found.core_now_c.mid == pytest.approx(core_c, abs=3.0 * misfit().noise_sd)
