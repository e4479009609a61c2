"""When a lot will be cold, from its core readings on the way down."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from planner import air as moist
from planner.body import slab_of
from planner.convection import forced, natural_plate
from planner.forecast.core import Expected, misfit, split
from planner.forecast.particles import weigh
from planner.forecast.smoke_runs import Runs, probe_place
from planner.piece import Piece
from planner.ranges import require_between
from planner.slab import Course, Surroundings, solve, time_steps
from planner.sources import rules
from planner.unknowns import crossing_s, spanning, spread_of

Floats = NDArray[np.float64]

RUNS = 192
_LONGEST_S = 24.0 * 3600.0
_DIMS = 8
_WETNESS_FACTOR, _START_SD_K = 4.0, 2.5
#: Cooling is quick at first: what the runs miss is more, in kelvin, than in the smoke.
_WIDER = 1.5
#: Share of the runs that must carry weight: they are drawn from the prior, so it is small.
_SHARE = 0.12
_THICKNESS, _TRANSFER, _AIR, _HUMIDITY, _WETNESS, _PROBE, _START, _LATER = range(_DIMS)

#: Marks by name [degC].
USUAL_MARKS: Mapping[str, float] = {"first_leg": 21.1, "cold": 4.4}


@dataclass(frozen=True)
class CoolingForecast:
    """``marks`` by name, seconds from the start of cooling."""

    marks: Mapping[str, Expected]
    effective_runs: float


def forecast_cooling(
    piece: Piece,
    readings: Sequence[tuple[float, float]],
    air: Sequence[tuple[float, float]],
    *,
    now_s: float,
    start_c: float = 71.0,
    marks: Mapping[str, float] = USUAL_MARKS,
) -> CoolingForecast:
    """Forecast from ``readings`` (seconds since it left the smoke, core degC), none or many.

    ``air`` are the places it has been in and will be: (seconds since the start from when, degC), at
    least one; the last one stays (a fridge to come may stand in the future). ``start_c`` (-2..100)
    core at the start. Whether it dries as it cools, how the air moves and how warm it really is are
    unknowns that the readings weigh. Solver and sources: :mod:`planner.slab`,
    :mod:`planner.cooling`. OutOfRange for impossible temperatures.
    """
    if not air:
        raise ValueError("cooling needs at least one air temperature")
    for _, degrees in air:
        require_between("air_c", degrees, -30.0, 45.0, "degC")
    for _, degrees in readings:
        require_between("core_c", degrees, -30.0, 100.0, "degC")
    require_between("start_c", start_c, -2.0, 100.0, "degC")
    require_between("now_s", now_s, 0.0, 72.0 * 3600.0, "s")
    places = tuple(sorted((float(s), float(c)) for s, c in air))
    course, z = _family(piece, start_c, places)
    seconds, values = split(sorted((s, c) for s, c in readings if 0.0 <= s <= min(now_s, _LONGEST_S)))
    off = values[:, None] - Runs(course, probe_place(piece, z[:, _PROBE])).read_at(seconds)
    particles = weigh(z, misfit(_WIDER).log_likelihood(seconds, off), _SHARE)
    lasting, sd = misfit(_WIDER).ahead(seconds, off, course.time_s)
    core_c = course.core_c + lasting + sd[:, None] * z[:, _LATER]
    found = {}
    for name, mark_c in marks.items():
        when = crossing_s(course.time_s, core_c, mark_c, rising=False)
        never = float(particles.weights @ np.isinf(when))
        found[name] = Expected(spread_of(when, particles.weights), never)
    return CoolingForecast(found, particles.effective)


@lru_cache(maxsize=32)
def _family(piece: Piece, start_c: float, places: tuple[tuple[float, float], ...]) -> tuple[Course, Floats]:
    data = rules("heat")
    cooling = data["cooling"]
    z = spanning(RUNS, _DIMS)
    times = time_steps(_LONGEST_S, longest_s=1800.0, first_s=90.0, growth=1.25)
    starts, degrees = np.array(places).T
    which = np.clip(np.searchsorted(starts, times, side="right") - 1, 0, None)
    air_c = degrees[which][:, None] + 1.5 * z[:, _AIR]
    rh = np.clip(60.0 + 12.0 * z[:, _HUMIDITY], 20.0, 95.0) / 100.0
    slab = slab_of(
        piece,
        at_c=round(0.5 * (start_c + 10.0)),
        start_c=start_c + _START_SD_K * z[:, _START],
        wps_pct=3.0,
        # Wrapped, stacked or dry outside, it cools as if hardly any water came to the surface.
        diffusivity=data["water_diffusivity"]["value"] * _WETNESS_FACTOR ** z[:, _WETNESS],
        thickness=np.exp(math.log(1.15) * z[:, _THICKNESS]),
        dried_kg_m2=0.3,
    )
    wind = math.sqrt(cooling["still_m_s"] * cooling["moving_m_s"])
    around = Surroundings(
        air_c=air_c,
        vapour_pa=rh * moist.saturation_pa(air_c),
        forced=forced(wind, 10.0) * np.ones((len(times), 1)),
        natural=natural_plate(1.0, 10.0) * np.ones((len(times), 1)),
        emissivity=np.array([data["emissivity"]["value"]]),
        factor=1.45 ** z[:, _TRANSFER],
    )
    return solve(slab, times, around, heat_modes=8, water_modes=20), z
