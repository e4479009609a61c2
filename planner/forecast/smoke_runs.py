"""The family of cooks behind a core forecast: unknowns in, temperatures out."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.body import slab_of
from planner.piece import Piece
from planner.slab import Course, solve, time_steps
from planner.smoking import surroundings
from planner.sources import rules
from planner.unknowns import NAMES, Prior, as_factors

Floats = NDArray[np.float64]

#: After the planner's unknowns: probe, warm-up, drying before, the chamber's level to come, and two for
#: what no run has (the lasting error to come, and the rate).
DIMS = len(NAMES) + 6
PROBE, WARM_UP, DRIED, LEVEL, LATER, _RATE = range(len(NAMES), DIMS)

_SETTLED_S = 1500.0
_LEVEL_WINDOW_S = 7200.0
_RELAX_S = 1200.0
_CHAMBER_READ_SD_K = 5.0
_DEEPEST_SHARE = 0.85
_DIP_K = 9.0
_STEEP_K = 8.0
_DOOR_S, _DOOR_BEFORE_S = 300.0, 60.0


@dataclass(frozen=True)
class Told:
    """What is known of the cook: see :func:`planner.forecast.core.forecast_core`."""

    piece: Piece
    chamber: tuple[tuple[float, float], ...]
    start_c: float
    wps_pct: float
    aim_c: float
    humidity: float
    dried_kg_m2: float | None
    pressure: float
    prior: Prior


@dataclass(frozen=True)
class Runs:
    """The marched family: its course, and where each run's probe sits (0 open face, 1 back)."""

    course: Course
    probe_place: Floats

    def read_at(self, seconds: Floats) -> Floats:
        """What each run's probe would read at ``seconds``: (readings, runs) [degC]."""
        time = self.course.time_s
        after = np.clip(np.searchsorted(time, seconds), 1, len(time) - 1)
        share = ((seconds - time[after - 1]) / (time[after] - time[after - 1]))[:, None, None]
        modes = self.course.modes
        then = modes[after - 1] + share * (modes[after] - modes[after - 1])
        shape = np.cos(np.outer(self.probe_place, np.arange(modes.shape[-1])) * np.pi)
        return np.asarray(np.einsum("trm,rm->tr", then, shape))


def march(told: Told, z: Floats, until_s: float, seen_s: float, raise_k: float = 0.0) -> Runs:
    """All runs ``z`` (runs, DIMS) to ``until_s``; steps are shorter up to ``seen_s``.

    ``raise_k`` lifts the chamber after its last reading.
    """
    data = rules("heat")
    known = as_factors(told.prior.theta(z[:, : len(NAMES)]))
    times = _times(until_s, seen_s)
    chamber_c = chamber_of(told, times, z, raise_k) + known["chamber"]
    slab = slab_of(
        told.piece,
        at_c=50.0,
        start_c=told.start_c,
        wps_pct=told.wps_pct,
        diffusivity=data["water_diffusivity"]["value"] * known["diffusivity"],
        thickness=known["thickness"],
        dried_kg_m2=_dried(told, z),
    )
    vapour = told.humidity * known["humidity"]
    around = surroundings(chamber_c, vapour, known["transfer"], told.pressure)
    course = solve(slab, times, around, heat_modes=8, water_modes=20)
    return Runs(course, probe_place(told.piece, z[:, PROBE]))


def probe_off_mm(piece: Piece, deviate: Floats) -> Floats:
    """How far each run's probe is from the middle; toward the skin is negative."""
    data = rules("heat")["forecast"]
    if piece.open_faces == 1:
        return np.asarray(data["probe_skin_mm"] + data["probe_skin_sd_mm"] * deviate)
    return np.asarray(data["probe_off_mm"] * data["probe_off_sd_factor"] ** deviate)


def probe_place(piece: Piece, deviate: Floats) -> Floats:
    """Place of each run's probe, 0 at the open face, 1 at the mid-plane or the skin."""
    depth_mm = piece.thickness_mm / piece.open_faces
    middle = 0.5 if piece.open_faces == 1 else 1.0
    most = _DEEPEST_SHARE * middle
    return np.asarray(middle - np.clip(probe_off_mm(piece, deviate) / depth_mm, -most, most))


def chamber_of(told: Told, times: Floats, z: Floats, raise_k: float = 0.0) -> Floats:
    """Chamber of each run at ``times``: (times, runs). As read, with what came before and comes after."""
    data = rules("heat")["forecast"]
    level, level_sd = settled_level(told.chamber, told.aim_c)
    future = level + level_sd * z[:, LEVEL] + raise_k
    warm_s = data["warm_up_s"] * data["warm_up_sd_factor"] ** z[:, WARM_UP]
    if not told.chamber:
        cold = np.exp(-times[:, None] / warm_s)
        return np.asarray(future - (future - data["warm_up_from_c"]) * cold)
    seconds, degrees = np.array(without_dips(told.chamber)).T
    read = _between(times, seconds, degrees, warm_s)
    since = np.maximum(times[:, None] - seconds[-1], 0.0)
    after = (future - read) * -np.expm1(-since / _RELAX_S)
    first_s = seconds[0]
    early = np.exp(-times[:, None] / warm_s) - np.exp(-first_s / warm_s)
    missing = np.maximum(degrees[0] - data["warm_up_from_c"], 0.0) * np.where(times[:, None] < first_s, early, 0.0)
    return np.asarray(read + after - missing - _dips(told.chamber, times)[:, None])


def _between(times: Floats, seconds: Floats, degrees: Floats, warm_s: Floats) -> Floats:
    """Chamber between its readings: straight, but a steep rise is quick first (times, runs)."""
    read = np.repeat(np.interp(times, seconds, degrees)[:, None], len(warm_s), axis=1)
    for i in np.flatnonzero(np.diff(degrees) > _STEEP_K):
        inside = (times > seconds[i]) & (times < seconds[i + 1])
        since, whole = times[inside][:, None] - seconds[i], seconds[i + 1] - seconds[i]
        done = np.expm1(-since / warm_s) / np.expm1(-whole / warm_s)
        read[inside] = degrees[i] + (degrees[i + 1] - degrees[i]) * done
    return read


def without_dips(chamber: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    """Without single readings far below those about them: an opened door, over in minutes."""
    kept = list(chamber[:1])
    for i in range(1, len(chamber)):
        before = kept[-1][1]
        after = chamber[i + 1][1] if i + 1 < len(chamber) else before
        if chamber[i][1] >= min(before, after) - _DIP_K:
            kept.append(chamber[i])
    return tuple(kept)


def _dips(chamber: tuple[tuple[float, float], ...], times: Floats) -> Floats:
    """How far opened doors pull the chamber down at ``times``, from the readings that caught them."""
    kept = without_dips(chamber)
    seconds, degrees = np.array(kept).T
    pulled = np.zeros_like(times)
    for at, caught in set(chamber) - set(kept):
        depth = float(np.interp(at, seconds, degrees)) - caught
        since = times - (at - _DOOR_BEFORE_S)
        pulled += np.where(since >= 0.0, depth * np.exp(-np.maximum(since, 0.0) / _DOOR_S), 0.0)
    return pulled


def settled_level(chamber: tuple[tuple[float, float], ...], aim_c: float) -> tuple[float, float]:
    """Where the chamber will hold from here on, and how sure: its aim and its recent readings."""
    data = rules("heat")["forecast"]
    sd = data["chamber_sd_k"] if chamber else data["untold_sd_k"]
    precision, total = 1.0 / sd**2, aim_c / sd**2
    if chamber:
        last_s = chamber[-1][0]
        for at, degrees in without_dips(chamber):
            if at >= _SETTLED_S and at >= last_s - _LEVEL_WINDOW_S:
                # It may be warming up still: what is missing then, about as unsure as it is much.
                missing = max(aim_c - chamber[0][1], 0.0) * math.exp(-at / data["warm_up_s"])
                weight = 1.0 / (_CHAMBER_READ_SD_K**2 + missing**2)
                precision += weight
                total += weight * (degrees + missing)
    return total / precision, float(np.sqrt(1.0 / precision + 1.5**2))


def _dried(told: Told, z: Floats) -> Floats:
    data = rules("heat")["forecast"]
    usual = data["dried_kg_m2"] if told.dried_kg_m2 is None else told.dried_kg_m2
    depth = told.piece.thickness_mm * 1e-3 / told.piece.open_faces
    amount = usual * data["dried_sd_factor"] ** z[:, DRIED]
    return np.asarray(np.minimum(amount, 0.25 * 650.0 * depth))  # never more than a quarter of the water


def _times(until_s: float, seen_s: float) -> Floats:
    """Short steps over what was seen, longer ones after; their number does not grow with the cook."""
    past = time_steps(max(seen_s, 60.0), longest_s=max(480.0, seen_s / 40.0), first_s=60.0, growth=1.5)
    if until_s <= past[-1]:
        return past
    left = until_s - past[-1]
    ahead = time_steps(left, longest_s=max(900.0, left / 36.0), first_s=min(300.0, left), growth=1.3)
    return np.concatenate([past, past[-1] + ahead[1:]])
