"""When a lot in the smoke will be hot enough, from its core readings.

A family of runs whose unknowns are weighed by the readings (:mod:`planner.forecast.particles`); its
spread is the band.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from planner import air
from planner.body import open_area_m2_kg
from planner.forecast.course import Ahead, course_from
from planner.forecast.particles import (
    LAST_SHARE,
    Belief,
    Misfit,
    Particles,
    Proposal,
    explaining,
    log_prior_over,
    weigh,
)
from planner.forecast.smoke_runs import DIMS, LATER, PROBE, Runs, Told, march, probe_off_mm
from planner.piece import Piece
from planner.ranges import require_between
from planner.smoking import chamber_humidity, hold_end_s
from planner.sources import rules
from planner.spread import Spread
from planner.unknowns import Prior, at_moments, crossing_s, spread_of, usual

Floats = NDArray[np.float64]

RUNS = 256
#: In the passes before the last, which only have to find where to look.
_FIRST_RUNS = 128
#: How far ahead the family is marched [s]: what is not there by then is said not to get there.
HORIZON_S = 9.0 * 3600.0

#: Marks by name: temperature [degC], and minutes of hold (0 for reaching it).
USUAL_MARKS: Mapping[str, tuple[float, float]] = {
    "floor": (62.8, 0.0),
    "aim": (71.1, 0.0),
    "hold_end": (71.1, 30.0),
}

_ODD_DEVIATIONS = 4.0
#: The lasting error is so much wider where nobody told what the chamber did.
_UNTOLD_WIDER = 1.6
_LIKELY = 0.5


@dataclass(frozen=True)
class Expected:
    """When a mark is reached, seconds from the start of the smoke.

    ``when`` is None where it will more likely than not never be, as things are; ``never`` is the
    probability of that; ``when.high`` is infinite where ``never`` is above a tenth.
    """

    when: Spread | None
    never: float


@dataclass(frozen=True)
class CoreForecast:
    """Forecast of one lot.

    ``marks`` by name; ``odd`` is true where no run explains the last reading: it was left out.
    ``look_s`` is when a next reading narrows it most. ``belief`` starts the next forecast sooner and
    teaches the rig (:mod:`planner.rig.closing`). ``probe_off_mm`` is where the probe seems to be. ``course`` is the
    core from now on.
    """

    marks: Mapping[str, Expected]
    odd: bool
    look_s: float
    belief: Belief
    effective_runs: float
    probe_off_mm: Spread
    core_now_c: Spread
    loss_pct: Spread
    prior: Prior = field(repr=False)
    course: tuple[Ahead, ...] = field(repr=False, default=())


def forecast_core(
    piece: Piece,
    readings: Sequence[tuple[float, float]],
    chamber: Sequence[tuple[float, float]] = (),
    *,
    now_s: float,
    start_c: float = 12.0,
    wps_pct: float = 3.0,
    aim_c: float = 86.0,
    humidity: float | None = None,
    water_pan: bool = False,
    dried_kg_m2: float | None = None,
    altitude_m: float = 0.0,
    marks: Mapping[str, tuple[float, float]] = USUAL_MARKS,
    prior: Prior | None = None,
    seed: int = 1,
    warm: Belief | None = None,
    raise_k: float = 0.0,
) -> CoreForecast:
    """Forecast a lot from ``readings`` (seconds since the start of the smoke, core degC), none or many.

    ``chamber`` are its readings in the same form, none where it was never told (the band is wide);
    ``aim_c`` (30..130) what the chamber is kept at. Readings before the start or after ``now_s`` are
    left out, order does not matter. ``warm`` is the belief of the forecast before, which saves a
    pass. ``raise_k`` (-40..40) asks what if the chamber were kept that much warmer from its last reading
    on: the difference of two forecasts is what that gains. OutOfRange for impossible temperatures. The
    same arguments give the same forecast.
    """
    require_between("aim_c", aim_c, 30.0, 130.0, "degC")
    require_between("now_s", now_s, 0.0, 72.0 * 3600.0, "s")
    told = Told(
        piece,
        _tidy("chamber_c", chamber, now_s, 150.0),
        require_between("start_c", start_c, -2.0, 60.0, "degC"),
        wps_pct,
        aim_c,
        chamber_humidity(humidity, water_pan),
        dried_kg_m2,
        air.pressure_pa(altitude_m),
        prior or usual(),
    )
    cores = thinned(without_spikes(_tidy("core_c", readings, now_s, 100.0)))
    errors = misfit(1.0 if told.chamber else _UNTOLD_WIDER)
    proposal, kept, odd = _proposal(told, cores, errors, warm, seed)
    seen_s = max([now_s, *(s for s, _ in cores)])
    z = proposal.draw(RUNS, seed + 2)
    require_between("raise_k", raise_k, -40.0, 40.0, "K")
    runs = march(told, z, seen_s + HORIZON_S, seen_s, raise_k)
    seconds, values = split(kept)
    off = values[:, None] - runs.read_at(seconds)
    fitting = log_prior_over(proposal, z) + errors.log_likelihood(seconds, off)
    return _summary(
        told, runs, weigh(z, fitting, LAST_SHARE), marks, seen_s, odd, errors.ahead(seconds, off, runs.course.time_s)
    )


def misfit(wider: float = 1.0) -> Misfit:
    """How far the runs may be from the readings."""
    data = rules("heat")["forecast"]
    return Misfit(data["reading_sd_k"], wider * data["drift_sd_k"], data["drift_memory_s"])


def split(cores: Sequence[tuple[float, float]]) -> tuple[Floats, Floats]:
    """Moments and values as arrays."""
    return np.array([s for s, _ in cores]), np.array([c for _, c in cores])


def thinned(cores: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    """At most ``_MOST`` readings: those close together become their mean, the last one stays itself."""
    if len(cores) <= _MOST:
        return cores
    seconds, values = split(cores[:-1])
    span = max(seconds[-1] - seconds[0], 1.0)
    bins = np.minimum((seconds - seconds[0]) / span * (_MOST - 1), _MOST - 2).astype(int)
    groups = [bins == b for b in np.unique(bins)]
    means = tuple((float(seconds[g].mean()), float(values[g].mean())) for g in groups)
    return (*means, cores[-1])


_SPIKE_K = 7.0
_MOST = 40


def without_spikes(cores: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    """Without readings that stand alone, far from the line between the one before and the one after."""
    kept = list(cores[:1])
    for i in range(1, len(cores) - 1):
        (s0, c0), (s, c), (s1, c1) = kept[-1], cores[i], cores[i + 1]
        between = c0 + (c1 - c0) * (s - s0) / max(s1 - s0, 1.0)
        if abs(c - between) <= max(_SPIKE_K, abs(c1 - c0)):
            kept.append(cores[i])
    return (*kept, *cores[-1:]) if len(cores) > 1 else cores


def _tidy(
    name: str, readings: Sequence[tuple[float, float]], now_s: float, highest_c: float
) -> tuple[tuple[float, float], ...]:
    for _, degrees in readings:
        require_between(name, degrees, -30.0, highest_c, "degC")
    return tuple(sorted((float(s), float(c)) for s, c in readings if 0.0 <= s <= now_s))


def _proposal(
    told: Told, cores: tuple[tuple[float, float], ...], errors: Misfit, warm: Belief | None, seed: int
) -> tuple[Proposal, tuple[tuple[float, float], ...], bool]:
    """Where to run the last pass, the readings that count, and whether the last one is odd."""
    proposal = Proposal(warm or Belief.prior(DIMS), from_prior=0.0 if warm is None else 0.1)
    if not cores:
        return proposal, cores, False
    seconds, values = split(cores)
    passes = 1 if warm is not None or len(cores) < 2 else 2
    for n in range(passes):
        z = proposal.draw(_FIRST_RUNS, seed + n)
        base = log_prior_over(proposal, z)
        off = values[:, None] - march(told, z, seconds[-1], seconds[-1]).read_at(seconds)
        if n + 1 < passes:
            proposal = explaining(z, off, errors.cover(seconds))
    odd = _is_odd(z, base, errors, seconds, off)
    if odd and len(cores) > 1:
        # Two odd ones in a row are believed: then it is the runs that are wrong.
        odd = not _is_odd(z, base, errors, seconds[:-1], off[:-1])
    count = len(cores) - odd
    return explaining(z, off[:count], errors.cover(seconds[:count])), cores[:count], odd


def _is_odd(z: Floats, base: Floats, errors: Misfit, seconds: Floats, off: Floats) -> bool:
    """True if the last reading is further from what the others let expect than any run explains."""
    before = weigh(z, base + errors.log_likelihood(seconds[:-1], off[:-1]), 0.05).weights
    lasting, sd = errors.ahead(seconds[:-1], off[:-1], seconds[-1:])
    left = off[-1] - lasting[0]
    mean = float(before @ left)
    variance = float(before @ (left - mean) ** 2) + errors.noise_sd**2 + float(sd[0]) ** 2
    return abs(mean) > _ODD_DEVIATIONS * math.sqrt(variance)


def _summary(
    told: Told,
    runs: Runs,
    particles: Particles,
    marks: Mapping[str, tuple[float, float]],
    now_s: float,
    odd: bool,
    missed: tuple[Floats, Floats],
) -> CoreForecast:
    weights = particles.weights
    time_s = runs.course.time_s
    lasting, sd = missed
    core_c = runs.course.core_c + lasting + sd[:, None] * particles.z[:, LATER]
    later = np.exp(rules("heat")["forecast"]["later_sd"] * particles.z[:, LATER + 1])
    expected, reached = {}, {}
    for name, (mark_c, hold_min) in marks.items():
        when = hold_end_s(time_s, core_c, mark_c, 60.0 * hold_min) if hold_min else crossing_s(time_s, core_c, mark_c)
        reached[name] = np.where(when > now_s, now_s + (when - now_s) * later, when)
        expected[name] = Expected(spread_of(reached[name], weights), float(weights @ np.isinf(when)))
    now_c, lost = (at_moments(time_s, of, np.array([[now_s]]))[0] for of in (core_c, runs.course.lost_kg_m2))
    return CoreForecast(
        marks=expected,
        odd=odd,
        look_s=_next_look(runs, particles, reached, now_s),
        belief=particles.belief(),
        effective_runs=particles.effective,
        probe_off_mm=_finite(probe_off_mm(told.piece, particles.z[:, PROBE]), weights),
        core_now_c=_finite(now_c, weights),
        loss_pct=_finite(100.0 * lost * open_area_m2_kg(told.piece), weights),
        prior=told.prior,
        course=course_from(time_s, core_c, later, weights, now_s),
    )


def _finite(values: Floats, weights: Floats) -> Spread:
    found = spread_of(values, weights)
    assert found is not None  # no run is without one
    return found


_LOOKS_MIN = (10, 15, 20, 25, 30, 40, 50, 60)


def _next_look(runs: Runs, particles: Particles, seconds: Mapping[str, Floats], now_s: float) -> float:
    """When a reading would tell most of the next mark: the soonest that tells nearly all it can."""
    ahead = [s for s in seconds.values() if particles.weights @ (s > now_s) > _LIKELY]
    candidates = now_s + 60.0 * np.array(_LOOKS_MIN, dtype=float)
    if not ahead:
        return float(candidates[-1])
    left = np.minimum(np.log(np.maximum(ahead[0] - now_s, 60.0)), math.log(HORIZON_S))
    read = runs.read_at(candidates)
    weights = particles.weights
    apart_left = left - weights @ left
    apart_read = read - (read @ weights)[:, None]
    noise = misfit().noise_sd ** 2 + misfit().drift_sd ** 2
    told = (apart_read @ (weights * apart_left)) ** 2 / (apart_read**2 @ weights + noise)
    soonest = int(np.flatnonzero(told >= 0.8 * told.max())[0])
    due = float(weights @ np.minimum(ahead[0], now_s + HORIZON_S))
    return float(min(candidates[soonest], max(due, candidates[0])))
