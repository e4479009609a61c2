"""What is not known of a piece in its air, and a small family of runs that spans it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from planner.bell_curve import normal_scores
from planner.ranges import require_between
from planner.sources import rules
from planner.spread import Spread

Floats = NDArray[np.float64]

#: Logarithms of factors, but ``chamber``, which is an offset in kelvin.
NAMES = ("thickness", "transfer", "diffusivity", "humidity", "chamber")


@dataclass(frozen=True)
class Prior:
    """Normal beliefs about the unknowns: means and standard deviations in NAMES' order.

    ``batches`` counts the finished batches that the belief rests on. ``root`` is a triangular root of the
    covariance where the unknowns hang together; independent where there is none. ``model_sd`` is of the
    logarithm of a blind time, for what no run has: the usual of ``data/heat.toml`` where it is None.
    """

    mean: tuple[float, ...]
    sd: tuple[float, ...]
    batches: int = 0
    root: tuple[tuple[float, ...], ...] | None = None
    model_sd: float | None = None

    def __post_init__(self) -> None:
        if len(self.mean) != len(NAMES) or len(self.sd) != len(NAMES):
            raise ValueError(f"a prior has {len(NAMES)} means and deviations")
        for name, sd in zip(NAMES, self.sd, strict=True):
            require_between(f"sd of {name}", sd, 0.0, 50.0, "-")

    def theta(self, deviates: Floats) -> Floats:
        """Unknowns (runs, NAMES) for standard normal ``deviates`` of the same shape."""
        if self.root is None:
            return np.asarray(np.asarray(self.mean) + deviates * np.asarray(self.sd))
        return np.asarray(np.asarray(self.mean) + deviates @ np.asarray(self.root).T)


@lru_cache(maxsize=1)
def usual() -> Prior:
    """Belief about a rig that nothing is known of; spreads from ``data/heat.toml``."""
    smoker, water = rules("heat")["smoker"], rules("heat")["water_diffusivity"]
    return Prior(
        mean=(0.0, 0.0, 0.0, 0.0, 0.0),
        sd=(
            math.log(smoker["thickness_sd_factor"]),
            math.log(smoker["transfer_sd_factor"]),
            math.log(water["sd_factor"]),
            math.log(smoker["humidity_sd_factor"]),
            smoker["chamber_sd_k"],
        ),
    )


def fill(count: int, dims: int, seed: int = 0) -> Floats:
    """``count`` points that fill the unit cube of ``dims`` evenly; another ``seed`` shifts them.

    Additive recurrence on the generalised golden ratio (M. Roberts, 2018), shifted after Cranley
    and Patterson (1976).
    """
    root = 2.0
    for _ in range(40):
        root = (1.0 + root) ** (1.0 / (dims + 1))
    steps = root ** -np.arange(1, dims + 1)
    shift = np.random.default_rng(seed).random(dims) if seed else 0.5
    points = (shift + np.outer(np.arange(1, count + 1), steps)) % 1.0
    return np.clip(points, 1e-6, 1.0 - 1e-6)


@lru_cache(maxsize=64)
def spanning(count: int, dims: int) -> Floats:
    """``count`` points that fill ``dims`` standard normals evenly, the same every time."""
    normal = normal_scores(fill(count, dims))
    normal = (normal - normal.mean(axis=0)) / normal.std(axis=0)
    normal.setflags(write=False)
    return np.asarray(normal)


def family(prior: Prior, count: int) -> dict[str, Floats]:
    """``count`` evenly spread runs under ``prior``: factors, and the chamber's offset in kelvin."""
    require_between("count", count, 1, 4096, "runs")
    deviates = spanning(count, len(NAMES)) if count > 1 else np.zeros((1, len(NAMES)))
    return as_factors(prior.theta(deviates))


def as_factors(theta: Floats) -> dict[str, Floats]:
    """Columns of ``theta`` (runs, NAMES) as factors, the chamber as kelvin."""
    found = {name: np.exp(theta[:, i]) for i, name in enumerate(NAMES)}
    found["chamber"] = theta[:, NAMES.index("chamber")]
    return found


def spread_of(values: Floats, weights: Floats | None = None) -> Spread | None:
    """10, 50 and 90 % of ``values``; None where more than half are infinite, high may be infinite."""
    order = np.argsort(values)
    sorted_values = values[order]
    w = np.full(len(values), 1.0 / len(values)) if weights is None else weights[order]
    middle = np.cumsum(w) - 0.5 * w
    found = [_quantile(sorted_values, middle, level) for level in (0.1, 0.5, 0.9)]
    if math.isinf(found[1]):
        return None
    return Spread(*found)


def _quantile(values: Floats, middle: Floats, level: float) -> float:
    i = int(np.searchsorted(middle, level))
    if i == 0 or i == len(values):
        return float(values[min(i, len(values) - 1)])
    if math.isinf(values[i]):
        return math.inf
    share = (level - middle[i - 1]) / (middle[i] - middle[i - 1])
    return float(values[i - 1] + share * (values[i] - values[i - 1]))


def at_moments(time_s: Floats, values: Floats, moments: Floats) -> Floats:
    """``values`` (times, runs) at ``moments`` (moments, runs) or (moments, 1), between the times."""
    after = np.clip(np.searchsorted(time_s, moments), 1, len(time_s) - 1)
    share = np.clip((moments - time_s[after - 1]) / (time_s[after] - time_s[after - 1]), 0.0, 1.0)
    runs = np.arange(values.shape[1])
    before = values[after - 1, runs]
    return np.asarray(before + share * (values[after, runs] - before))


def crossing_s(time_s: Floats, values: Floats, level: float, rising: bool = True) -> Floats:
    """First time each column of ``values`` (times, runs) reaches ``level``; inf where it never does."""
    reached = values >= level if rising else values <= level
    first = np.argmax(reached, axis=0)
    never = ~reached.any(axis=0)
    runs = np.arange(values.shape[1])
    before = np.maximum(first - 1, 0)
    low, high = values[before, runs], values[first, runs]
    gap = np.where(high == low, 1.0, high - low)
    share = np.where(first == 0, 1.0, (level - low) / gap)
    found = time_s[before] + share * (time_s[first] - time_s[before])
    return np.where(never, np.inf, found)
