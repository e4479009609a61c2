"""What the chamber did and will do, from its readings.

Its temperature is a level, less what is missing while it warms up, plus what wanders slowly (a fire
that sags) and quickly (a fire that cycles): a Gaussian process (C. E. Rasmussen, C. K. I. Williams,
2006, ch. 2), weighed by the readings, so that the last one pulls only for as long as it tells.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from planner.bell_curve import normal_scores, normal_shares
from planner.sources import rules

Floats = NDArray[np.float64]
Read = tuple[tuple[float, float], ...]

#: How many independent ways the chamber may differ from its best guess.
WAYS = 3

_WARM_UPS = 8
_MOST = 40
_RAISED_S = 1200.0
#: Moments at which the ways are taken: shares of the time read, and after it [s].
_BEHIND = np.array([0.0, 0.2, 0.4, 0.6, 0.8, 0.92])
_AHEAD_S = 60.0 * np.array([0.0, 15.0, 30.0, 60.0, 120.0, 240.0, 480.0])
_DIP_K = 9.0
_DOOR_S, _DOOR_BEFORE_S = 300.0, 60.0


def paths(read: Read, aim_c: float, times: Floats, warm_up: Floats, ways: Floats, raise_k: float = 0.0) -> Floats:
    """Chamber of each run at ``times`` [s]: (times, runs), given what was ``read`` (seconds, degC).

    ``warm_up`` (runs,) and ``ways`` (runs, WAYS) are standard normal: places in what the readings leave
    open. ``raise_k`` lifts it from the last reading on.
    """
    known = _known(read, aim_c)
    which = np.minimum(np.searchsorted(known.warmer, normal_shares(warm_up)), _WARM_UPS - 1)
    spread = np.array([np.interp(times, known.knots, way) for way in known.ways])
    chamber = known.mean(times)[which].T + spread.T @ ways.T
    if raise_k:
        chamber = chamber - raise_k * np.expm1(-np.maximum(times - known.last_s, 0.0) / _RAISED_S)[:, None]
    return np.asarray(np.maximum(chamber - _dips(read, times)[:, None], -20.0))


@lru_cache(maxsize=8)
def _known(read: Read, aim_c: float) -> _Known:
    return _Known(read, aim_c)


class _Known:
    """The process weighed by the readings, for each of some warm-up times ``tau``.

    ``warmer`` is the probability of each of these and those before; ``ways`` are at the ``knots`` [s].
    """

    def __init__(self, read: Read, aim_c: float) -> None:
        self.data = data = rules("heat")["forecast"]
        typical = normal_scores((np.arange(_WARM_UPS) + 0.5) / _WARM_UPS)
        self.tau = data["warm_up_s"] * data["warm_up_sd_factor"] ** typical
        self.aim_c = aim_c
        self.level_sd = data["chamber_sd_k"] if read else data["untold_sd_k"]
        kept = _thinned(without_dips(read))
        seconds, degrees = np.array(kept).T if kept else (np.zeros(0), np.zeros(0))
        self.seconds, self.last_s = seconds, float(max(seconds, default=0.0))
        cover = self._cover(seconds, seconds, self._cold(seconds), self._cold(seconds))
        cover += self._quick(seconds, seconds) + data["chamber_reading_sd_k"] ** 2 * np.eye(len(seconds))
        self.root = np.linalg.cholesky(cover)
        off = (degrees - self._before(seconds))[..., None]
        self.off = np.linalg.solve(self.root, off)[..., 0]
        likely = self._likelihood()
        self.warmer = np.cumsum(likely)
        self.knots = np.concatenate([_BEHIND * max(self.last_s, 1.0), self.last_s + _AHEAD_S])
        self.ways = self._ways(int(np.argmax(likely)))

    def _cold(self, seconds: Floats) -> Floats:
        """Share of the warm-up that is missing still: (warm-up times, seconds)."""
        return np.asarray(np.exp(-seconds / self.tau[:, None]))

    def _before(self, seconds: Floats) -> Floats:
        return np.asarray(self.aim_c - (self.aim_c - self.data["warm_up_from_c"]) * self._cold(seconds))

    def _cover(self, one: Floats, other: Floats, one_cold: Floats, other_cold: Floats) -> Floats:
        """Covariance of level, warm-up and slow wandering."""
        warm = self.data["warm_up_from_sd_k"] ** 2 * one_cold[..., :, None] * other_cold[..., None, :]
        apart = np.abs(one[:, None] - other[None, :])
        slow = self.data["sag_sd_k"] ** 2 * np.exp(-apart / self.data["sag_memory_s"])
        return np.asarray(self.level_sd**2 + warm + slow)

    def _quick(self, one: Floats, other: Floats) -> Floats:
        apart = np.abs(one[:, None] - other[None, :])
        return np.asarray(self.data["cycle_sd_k"] ** 2 * np.exp(-apart / self.data["cycle_memory_s"]))

    def mean(self, times: Floats) -> Floats:
        """Best guess: (warm-up times, times)."""
        cover = self._cover(self.seconds, times, self._cold(self.seconds), self._cold(times))
        cross = np.linalg.solve(self.root, cover + self._quick(self.seconds, times))
        return np.asarray(self._before(times) + np.einsum("wst,ws->wt", cross, self.off))

    def _ways(self, which: int) -> Floats:
        """The largest ways in which it may be off, at the knots: (WAYS, knots). Cycles are over too soon to matter."""
        cold, seen = self._cold(self.knots)[which], self._cold(self.seconds)[which]
        cross = np.linalg.solve(self.root[which], self._cover(self.seconds, self.knots, seen, cold))
        values, vectors = np.linalg.eigh(self._cover(self.knots, self.knots, cold, cold) - cross.T @ cross)
        ways = vectors[:, -WAYS:] * np.sqrt(np.maximum(values[-WAYS:], 0.0))
        return np.asarray((ways * np.where(ways.sum(axis=0) < 0.0, -1.0, 1.0)).T)

    def _likelihood(self) -> Floats:
        """Of the readings under each warm-up time; sums to one."""
        size = np.log(np.diagonal(self.root, axis1=-2, axis2=-1)).sum(axis=-1)
        found = -0.5 * (self.off**2).sum(axis=-1) - size
        likely = np.exp(found - found.max())
        return np.asarray(likely / likely.sum())


def _thinned(read: Read) -> Read:
    """At most so many readings, evenly chosen, the last one among them."""
    if len(read) <= _MOST:
        return read
    return tuple(read[i] for i in np.unique(np.linspace(0, len(read) - 1, _MOST).astype(int)))


def without_dips(read: Read) -> Read:
    """Without single readings far below those about them: an opened door, over in minutes."""
    kept = list(read[:1])
    for i in range(1, len(read)):
        before = kept[-1][1]
        after = read[i + 1][1] if i + 1 < len(read) else before
        if read[i][1] >= min(before, after) - _DIP_K:
            kept.append(read[i])
    return tuple(kept)


def _dips(read: Read, times: Floats) -> Floats:
    """How far opened doors pull the chamber down at ``times``, from the readings that caught them."""
    kept = without_dips(read)
    pulled = np.zeros_like(times)
    for at, caught in sorted(set(read) - set(kept)):
        seconds, degrees = np.array(kept).T
        depth = float(np.interp(at, seconds, degrees)) - caught
        since = times - (at - _DOOR_BEFORE_S)
        pulled += np.where(since >= 0.0, depth * np.exp(-np.maximum(since, 0.0) / _DOOR_S), 0.0)
    return pulled
