"""Does a rig's knowledge hold the truth as often as it says? Rigs with known values, batch after batch.

Simulation-based calibration (S. Talts and others 2018): a rig's values are drawn from what is believed
before, each batch's about them, and what it reads is made by the sums; the truth's rank must be even.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import binom, chisquare, norm

from planner.drying import Air, tack_shown
from planner.forecast import forecast_core
from planner.forecast.core import misfit
from planner.forecast.smoke_runs import DIMS, Told, march
from planner.piece import Piece
from planner.rig.belief import Lesson, Normal
from planner.rig.closing import cook_lesson, tack_lesson
from planner.rig.experience import prior_of
from planner.rig.groups import PLACES, groups
from planner.smoking import Chamber, cook, time_to_core
from planner.unknowns import usual
from tests.planner.given import SALMON

PIECE = Piece(SALMON, 26.0, 2, 90.0)
AIR = Air(14.0, 62.0, fan=True)
TOUCHES_H = np.array([0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 8.0, 10.0, 14.0, 20.0])


def even(ranks: list[float], bins: int = 5) -> bool:
    counts, _ = np.histogram(ranks, bins=bins, range=(0.0, 1.0))
    return bool(chisquare(counts).pvalue > 0.005)


def within(shares: list[float], level: float = 0.8) -> bool:
    """The share of ranks in the middle ``level`` is it, within its own binomial error (99.5 %)."""
    hits = sum(abs(r - 0.5) < level / 2.0 for r in shares)
    return bool(binom.ppf(0.0025, len(shares), level) <= hits <= binom.ppf(0.9975, len(shares), level))


def rank(belief: Normal, truth: np.ndarray, i: int) -> float:
    return float(norm.cdf((truth[i] - belief.mean[i]) / belief.sd[i]))


@pytest.fixture(scope="module")
def shown() -> dict[float, tuple[float, float]]:
    found = {h: tack_shown(PIECE, AIR, 3.0, float(h)) for h in TOUCHES_H}
    return {h: (f.mean, f.sd) for h, f in found.items()}


def touched(tack: float, shown: dict[float, tuple[float, float]], rng: np.random.Generator) -> Lesson | None:
    """Touched now and then: wet until the water that must go has gone, tacky from then on."""
    air, finger = rng.normal(), rng.normal(0.0, 0.05)
    gone = {h: mean + sd * air + finger for h, (mean, sd) in shown.items()}
    there = next((h for h in TOUCHES_H if gone[h] >= tack), None)
    if there is None:
        return None
    wet = [h for h in TOUCHES_H if h < there]
    after = shown[wet[-1]][0] if wet else -math.inf
    return tack_lesson(after, shown[there][0], math.hypot(shown[there][1], 0.05))


def test_drying_is_known_as_well_as_it_says(shown) -> None:
    own = groups()["drying"]
    of_rig, of_next = [], []
    for case in range(300):
        rng = np.random.default_rng(case)
        truth = rng.normal(own.rig.mean[0], own.rig.sd[0], 1)
        values = truth + own.batch_sd[0] * rng.normal(size=4)
        lessons = [x for value in values[:3] if (x := touched(float(value), shown, rng)) is not None]
        of_rig.append(rank(own.of_rig(lessons), truth, 0))
        of_next.append(rank(own.of_next_batch(lessons), values[3:], 0))
    assert even(of_rig)
    assert even(of_next)
    assert within(of_rig)
    assert within(of_next)


@pytest.mark.parametrize("truth", [-0.6, 0.5])
def test_a_known_drying_is_found_again(truth: float, shown) -> None:
    own, rng = groups()["drying"], np.random.default_rng(5)
    lessons = [
        x for _ in range(12) if (x := touched(truth + own.batch_sd[0] * rng.normal(), shown, rng)) is not None
    ]
    found = own.of_rig(lessons)
    assert abs(found.mean[0] - truth) < 3.0 * found.sd[0]
    assert found.sd[0] < 0.3 * own.rig.sd[0]


def cooked(theta: np.ndarray, rng: np.random.Generator, count: int = 6) -> Lesson:
    """One cook made by the forecaster's own sums, with readings and the rest unknown, and its lesson."""
    z = rng.normal(size=(1, DIMS))
    z[0, list(PLACES)] = (theta - np.array(usual().mean)[list(PLACES)]) / np.array(usual().sd)[list(PLACES)]
    chamber = tuple((1500.0 * n, 86.0 + 2.0 * math.sin(n + z[0, 0])) for n in range(12))
    told = Told(PIECE, chamber, 12.0, 3.0, 86.0, 0.030, None, 101_325.0, usual())
    seconds = np.cumsum(rng.uniform(900, 2400, count))
    errors = misfit()
    apart = np.abs(seconds[:, None] - seconds[None])
    drift = rng.multivariate_normal(np.zeros(count), np.exp(-apart / errors.memory_s) * errors.drift_sd**2)
    values = march(told, z, 4.5 * 3600.0, 4.5 * 3600.0).read_at(seconds)[:, 0]
    values = values + drift + rng.normal(0.0, errors.noise_sd, count)
    now_s = float(seconds[-1])
    read = [(s, min(c, 99.0)) for s, c in zip(seconds, values, strict=True)]
    seen = [(s, c) for s, c in chamber if s <= now_s]
    return cook_lesson(forecast_core(PIECE, read, seen, now_s=now_s))


@pytest.fixture(scope="module")
def rigs() -> list[tuple[np.ndarray, np.ndarray, list[Lesson]]]:
    """Rigs with their values, their next batch's, and the lessons of three batches."""
    own, found = groups()["smoke"], []
    for case in range(30):
        rng = np.random.default_rng(700 + case)
        truth = np.array(own.rig.mean) + np.array(own.rig.sd) * rng.normal(size=3)
        values = truth + np.array(own.batch_sd) * rng.normal(size=(4, 3))
        found.append((truth, values[3], [cooked(value, rng) for value in values[:3]]))
    return found


def test_a_smoker_is_known_as_well_as_it_says(rigs) -> None:
    own = groups()["smoke"]
    of_rig = [rank(own.of_rig(lessons), truth, i) for truth, _, lessons in rigs for i in range(3)]
    of_next = [rank(own.of_next_batch(lessons), ahead, i) for _, ahead, lessons in rigs for i in range(3)]
    assert even(of_rig)
    assert even(of_next)
    assert within(of_rig)
    assert within(of_next)


def test_three_batches_say_more_than_the_usual(rigs) -> None:
    """The mean square error of the heat transfer is well below what believing the usual gives."""
    own, i = groups()["smoke"], 0
    learned = np.mean([(own.of_rig(lessons).mean[i] - truth[i]) ** 2 for truth, _, lessons in rigs])
    usually = np.mean([(own.rig.mean[i] - truth[i]) ** 2 for truth, _, _ in rigs])
    assert learned < 0.7 * usually


def test_a_blind_cook_is_narrower_after_each_batch(rigs) -> None:
    own = groups()["smoke"]
    for _, _, lessons in rigs[:4]:
        widths = []
        for count in range(4):
            prior = prior_of(own.of_next_batch(lessons[:count]), count)
            found = time_to_core(cook(PIECE, Chamber.steady(86.0), prior=prior), 62.8)
            assert found is not None
            widths.append(math.log(found.high / found.low))
        assert widths[1] < 0.9 * widths[0]
        assert widths[3] < widths[1]
