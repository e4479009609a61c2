"""Weighing a family of runs by readings: adaptive importance sampling.

The unknowns are standard normal under the prior. A first pass runs the prior, fits the predictions
as parabolas of the unknowns and finds where these explain the readings; the next pass runs about there
and does so again. The last pass carries importance weights, prior times likelihood over proposal, flattened
only where too few runs would share them, so that little of that approximation stays in the answer.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.bell_curve import normal_scores
from planner.unknowns import fill

Floats = NDArray[np.float64]

#: Share of the runs that must carry weight in the answer.
LAST_SHARE = 0.4
#: Share of the runs kept from the prior, so that no place it allows is ever left out.
_PRIOR_SHARE = 0.05
_INFLATE = 1.05
_RIDGE, _GAUSS_NEWTON, _FARTHEST = 0.5, 4, 3.5


@dataclass(frozen=True)
class Belief:
    """A normal belief about the unknowns, in units of the prior's own deviations."""

    mean: Floats
    covariance: Floats

    @classmethod
    def prior(cls, dims: int) -> Belief:
        """What is believed before any reading."""
        return cls(np.zeros(dims), np.eye(dims))


@dataclass(frozen=True)
class Particles:
    """Runs (runs, dims) and their weights, which sum to one."""

    z: Floats
    weights: Floats

    @property
    def effective(self) -> float:
        """How many equal runs carry as much."""
        return float(1.0 / np.sum(self.weights**2))

    def belief(self) -> Belief:
        """Normal with the same mean and spread."""
        mean = self.weights @ self.z
        apart = self.z - mean
        return Belief(mean, (apart * self.weights[:, None]).T @ apart)


@dataclass(frozen=True)
class Misfit:
    """How far a run may be from what was read: noise in each reading, and an error that lasts.

    The lasting part (what no run has: edges, doors, a wandering probe) has deviation ``drift_sd`` and
    forgets itself over ``memory_s`` (Ornstein and Uhlenbeck), so readings soon after one another tell
    little more than one, and what the runs miss now they will miss for a while.
    """

    noise_sd: float
    drift_sd: float
    memory_s: float

    def _kernel(self, one: Floats, other: Floats) -> Floats:
        apart = np.abs(one[:, None] - other[None, :])
        return np.asarray(self.drift_sd**2 * np.exp(-apart / self.memory_s))

    def cover(self, seconds: Floats) -> Floats:
        """Covariance of what the readings at ``seconds`` may be off by."""
        return np.asarray(self._kernel(seconds, seconds) + self.noise_sd**2 * np.eye(len(seconds)))

    def _whitener(self, seconds: Floats) -> Floats:
        return np.asarray(np.linalg.inv(np.linalg.cholesky(self.cover(seconds))))

    def log_likelihood(self, seconds: Floats, off: Floats) -> Floats:
        """Per run, for readings less predictions ``off`` (readings, runs), up to a constant."""
        if len(seconds) == 0:
            return np.zeros(off.shape[1])
        whitened = self._whitener(seconds) @ off
        return np.asarray(-0.5 * np.sum(whitened * whitened, axis=0))

    def ahead(self, seconds: Floats, off: Floats, wanted: Floats) -> tuple[Floats, Floats]:
        """The lasting error at ``wanted``: mean (wanted, runs) and deviation (wanted,)."""
        if len(seconds) == 0:
            return np.zeros((len(wanted), off.shape[1])), np.full(len(wanted), self.drift_sd)
        whitener = self._whitener(seconds)
        cross = whitener @ self._kernel(seconds, wanted)
        mean = cross.T @ (whitener @ off)
        variance = self.drift_sd**2 - np.sum(cross * cross, axis=0)
        return np.asarray(mean), np.sqrt(np.maximum(variance, 0.0))


@dataclass(frozen=True)
class Proposal:
    """Where the runs of a pass are drawn: mostly a normal, some from the prior."""

    belief: Belief
    from_prior: float = _PRIOR_SHARE

    def draw(self, runs: int, seed: int) -> Floats:
        """``runs`` evenly spread draws, the same for the same seed."""
        dims = len(self.belief.mean)
        normal = normal_scores(fill(runs, dims, seed))
        root = np.linalg.cholesky(self.belief.covariance + 1e-9 * np.eye(dims))
        drawn = self.belief.mean + normal @ root.T
        kept = round(runs * self.from_prior)
        return np.vstack([normal[:kept], drawn[kept:]])

    def log_density(self, z: Floats) -> Floats:
        """Logarithm of the density drawn from, up to a constant that the prior's shares."""
        dims = z.shape[1]
        root = np.linalg.cholesky(self.belief.covariance + 1e-9 * np.eye(dims))
        apart = np.linalg.solve(root, (z - self.belief.mean).T)
        fitted = -0.5 * np.sum(apart * apart, axis=0) - np.log(np.diag(root)).sum()
        if self.from_prior == 0.0:
            return np.asarray(fitted)
        prior = log_prior(z)
        mixed = np.logaddexp(np.log1p(-self.from_prior) + fitted, np.log(self.from_prior) + prior)
        return np.asarray(mixed)


def log_prior_over(proposal: Proposal, z: Floats) -> Floats:
    """Logarithm of prior over proposal: what a run drawn from ``proposal`` weighs before any reading."""
    return np.asarray(log_prior(z) - proposal.log_density(z))


def log_prior(z: Floats) -> Floats:
    """Standard normal, up to its constant."""
    return np.asarray(-0.5 * np.sum(z * z, axis=1))


def weigh(z: Floats, log_weight: Floats, share: float) -> Particles:
    """Normalised weights, flattened until ``share`` of the runs carry them."""
    power = 1.0
    for _ in range(40):
        raw = np.exp(power * (log_weight - log_weight.max()))
        weights = raw / raw.sum()
        if 1.0 / np.sum(weights**2) >= share * len(z):
            break
        power *= 0.8
    return Particles(z, weights)


def explaining(z: Floats, off: Floats, cover: Floats) -> Proposal:
    """A normal where runs explain the readings, from readings less predictions ``off`` (readings, runs) of ``z``.

    Predictions are taken as a sum of parabolas, one of each unknown, fitted to the runs; what that leaves
    adds to the readings' covariance ``cover``. Gauss and Newton's steps find the likeliest place.
    """
    runs, dims = z.shape
    terms = np.hstack([np.ones((runs, 1)), z, z**2 - 1.0])
    fit = np.linalg.solve(terms.T @ terms + _RIDGE * np.eye(1 + 2 * dims), terms.T @ off.T).T
    left = off - fit @ terms.T
    precision = np.linalg.inv(cover + left @ left.T / runs)
    first, slope, bend = fit[:, 0], fit[:, 1 : 1 + dims], fit[:, 1 + dims :]
    mean = np.zeros(dims)
    for _ in range(_GAUSS_NEWTON):
        by = -(slope + 2.0 * bend * mean)
        missing = first + slope @ mean + bend @ (mean**2 - 1.0)
        inside = np.eye(dims) + by.T @ precision @ by
        mean = np.clip(np.linalg.solve(inside, by.T @ precision @ (missing + by @ mean)), -_FARTHEST, _FARTHEST)
    return Proposal(Belief(mean, np.asarray(_INFLATE * np.linalg.inv(inside))))
