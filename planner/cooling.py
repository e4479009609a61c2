"""Cooling hot fish in a room or a fridge: the physics. The safety rule stands elsewhere."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from planner import air as moist
from planner.body import slab_of
from planner.convection import forced, natural_plate
from planner.piece import Piece
from planner.ranges import require_between
from planner.slab import Surroundings, solve, time_steps
from planner.sources import rules
from planner.spread import Spread
from planner.unknowns import crossing_s, spanning, spread_of

Floats = NDArray[np.float64]

_RUNS = 13
_LONGEST_H = 30.0
_FRIDGE_BELOW_C = 10.0


@dataclass(frozen=True)
class Curve:
    """Core while cooling: ``time_h`` (times), ``core_c`` (times, runs); run 0 is the best guess."""

    time_h: Floats
    core_c: Floats
    lost_kg_m2: Floats


def time_to(
    piece: Piece,
    from_c: float,
    to_c: float,
    air_c: float,
    *,
    moving_air: bool = False,
    bare: bool = True,
) -> Spread | None:
    """Hours until the core falls from ``from_c`` to ``to_c`` in air of ``air_c``; None where it never does.

    ``bare`` fish cools by evaporation too; wrapped or stacked fish does not and counts as twice as
    thick. 0 where it is as cold already. See :func:`curve` for ranges and sources.
    """
    require_between("to_c", to_c, -5.0, 100.0, "degC")
    if to_c >= from_c:
        return Spread(0.0, 0.0, 0.0)
    found = curve(piece, from_c, air_c, moving_air, bare)
    return spread_of(crossing_s(found.time_h, found.core_c, to_c, rising=False))


@lru_cache(maxsize=128)
def curve(piece: Piece, from_c: float, air_c: float, moving_air: bool = False, bare: bool = True) -> Curve:
    """Core over 30 h in air of ``air_c`` (-30..45), from ``from_c`` (-2..100 degC) all through.

    Same solver as smoking. Transfer: natural convection (Incropera) in still air, a fan at 1 m/s
    otherwise, radiation; spread x1.3 about it (Ryland 2006 measured 5 without and 9 W/m2K with
    evaporation on a ham).
    """
    require_between("from_c", from_c, -2.0, 100.0, "degC")
    require_between("air_c", air_c, -30.0, 45.0, "degC")
    data, water = rules("heat"), rules("heat")["water_diffusivity"]
    times = time_steps(_LONGEST_H * 3600.0, longest_s=3600.0, first_s=120.0, growth=1.4)
    deviates = np.vstack([np.zeros(3), spanning(_RUNS - 1, 3)])
    thickness = data["smoker"]["thickness_sd_factor"] ** deviates[:, 0] * (1.0 if bare else 2.0)
    slab = slab_of(
        piece,
        at_c=round(0.5 * (from_c + max(air_c, 0.0))),
        start_c=from_c,
        wps_pct=3.0,
        diffusivity=water["value"] * water["sd_factor"] ** deviates[:, 2],
        thickness=thickness,
    )
    around = _still_or_moving(air_c, moving_air, bare, deviates[:, 1], len(times))
    course = solve(slab, times, around, heat_modes=8, water_modes=24)
    return Curve(times / 3600.0, course.core_c, course.lost_kg_m2)


def _still_or_moving(air_c: float, moving_air: bool, bare: bool, deviates: Floats, count: int) -> Surroundings:
    data = rules("heat")
    cooling = data["cooling"]
    rh_pct = cooling["fridge_rh_pct" if air_c < _FRIDGE_BELOW_C else "room_rh_pct"]
    vapour = rh_pct / 100.0 * float(moist.saturation_pa(air_c))
    wind = cooling["moving_m_s" if moving_air else "still_m_s"]
    whole = np.ones((count, 1))
    return Surroundings(
        air_c=air_c * whole,
        vapour_pa=vapour * whole,
        forced=forced(wind, air_c) * whole,
        natural=natural_plate(1.0, air_c) * whole,
        emissivity=np.array([data["emissivity"]["value"]]),
        factor=cooling["h_sd_factor"] ** deviates,
        evaporates=bare,
    )
