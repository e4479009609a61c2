"""Air-drying brined pieces to a tacky skin (the pellicle).

The surface is wet until then, so what counts is the water that has left each square metre: the
pellicle is there when that reaches a nearly constant amount. Cooper and Linton's rule for haddock
implies 0.24 kg/m2 in a fan's air and 0.13 in still air; the trade's own figures for thick brined
fillets (3 to 4 h with a fan on a mild day, 5 to 6 h on a cool one) imply 0.40. They part by a
factor of 1.7. The trade's is the best guess, because it is the fish at hand, and the published
amount lies within the 80 % range. Touch decides; this says when to look.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from planner import air as moist
from planner.body import open_area_m2_kg, slab_of
from planner.convection import forced, natural_plate, turbulent_share
from planner.piece import Piece
from planner.ranges import require_between
from planner.slab import Surroundings, solve, time_steps
from planner.sources import rules
from planner.spread import Spread
from planner.unknowns import spanning, spread_of
from planner.water_activity import at_surface

Floats = NDArray[np.float64]

LONGEST_H = 36.0
_WEATHER_RUNS = 9
_AMOUNTS = 15
_WARM_FAN_M_S = 0.5


@dataclass(frozen=True)
class Air:
    """Air over drying fish: ``air_c`` -5..60 degC, ``rh_pct`` 0..100 %, ``wind_m_s`` 0..10 where known."""

    air_c: float
    rh_pct: float
    wind_m_s: float | None = None
    fan: bool = False

    def __post_init__(self) -> None:
        require_between("air_c", self.air_c, -5.0, 60.0, "degC")
        require_between("rh_pct", self.rh_pct, 0.0, 100.0, "%")
        if self.wind_m_s is not None:
            require_between("wind_m_s", self.wind_m_s, 0.0, 10.0, "m/s")

    @property
    def speed_m_s(self) -> float:
        """Speed as told, else the usual of a fan or of still air."""
        if self.wind_m_s is not None:
            return self.wind_m_s
        return float(rules("heat")["fan_air" if self.fan else "still_air"]["wind_m_s"])

    def other_way(self) -> Air:
        """The same air with the fan off where it moves, on where it stands."""
        moving = self.speed_m_s >= _WARM_FAN_M_S
        return replace(self, wind_m_s=None, fan=not moving)


#: Air that changes: (hours it lasts, air) in order; the last one stays.
Weather = Air | Sequence[tuple[float, Air]]


@dataclass(frozen=True)
class Pellicle:
    """Time to the pellicle [h] and loss of mass by then [%].

    ``hours`` is None where the air cannot dry; ``why`` is then ``too_humid`` or ``condensation``.
    ``surface_c`` is the surface's temperature while drying, ``fan_hours`` the time with the fan the
    other way round, ``dew_h`` how long dew gathers first on cold fish.
    """

    hours: Spread | None
    loss_pct: Spread
    surface_c: float
    fan_hours: Spread | None
    why: str | None = None
    dew_h: float = 0.0


@dataclass(frozen=True)
class Tack:
    """How much water must go until the skin is tacky, against the usual: logarithm, mean and deviation.

    It stands for the finger that decides as much as for the air of the rig.
    """

    mean: float
    sd: float


def usual_tack() -> Tack:
    """What is believed of a rig that nothing is known of."""
    return Tack(0.0, math.log(rules("heat")["pellicle"]["sd_factor"]))


@dataclass(frozen=True)
class _Drying:
    """Water that has left each open square metre: (times, weather runs)."""

    time_s: Floats
    lost_kg_m2: Floats
    surface_c: Floats


def pellicle_time(
    piece: Piece, air: Weather, wps_pct: float = 3.0, start_c: float = 4.0, tack: Tack | None = None
) -> Pellicle:
    """Time to the pellicle of a wet brined piece in ``air``, from ``start_c`` (-2..40 degC).

    ``tack`` is what is known of this rig, else the usual. Wet-surface balance of convection, radiation
    and evaporation (Geankoplis, ch. 9.6; Treybal, eq. 12.20) to the amount of the module's words.
    OutOfRange for impossible air.
    """
    weather = _steps(air)
    found = _evaporation(piece, weather, wps_pct, start_c)
    tack = tack or usual_tack()
    hours = _hours(found, weather, tack)
    loss = _amount(weather, tack).scaled(100.0 * open_area_m2_kg(piece))
    surface = float(found.surface_c[-1, 0])
    if hours is None:
        dew = moist.dew_point_c(weather[-1][1].air_c, max(weather[-1][1].rh_pct, 1.0))
        why = "condensation" if start_c < dew and weather[-1][1].rh_pct > 90.0 else "too_humid"
        return Pellicle(None, loss, surface, None, why, _dew_h(found))
    turned = tuple((h, a.other_way()) for h, a in weather)
    other = _hours(_evaporation(piece, turned, wps_pct, start_c), turned, tack)
    return Pellicle(hours, loss, surface, other, None, _dew_h(found))


def pellicle_after_weighing(
    piece: Piece,
    air: Weather,
    wps_pct: float,
    elapsed_h: float,
    loss_pct_so_far: float,
    *,
    start_c: float = 4.0,
) -> Spread | None:
    """Hours still to go when ``loss_pct_so_far`` (-2..30 %) has been lost after ``elapsed_h`` (0..36).

    The weighing tells how fast this rig dries; how much must go stays as uncertain as it was, less
    what has gone without a pellicle. None where the air cannot dry.
    """
    require_between("elapsed_h", elapsed_h, 0.0, LONGEST_H, "h")
    require_between("loss_pct_so_far", loss_pct_so_far, -2.0, 30.0, "%")
    weather = _steps(air)
    found = _evaporation(piece, weather, wps_pct, start_c)
    area = open_area_m2_kg(piece)
    gone = max(loss_pct_so_far, 0.0) / 100.0 / area
    expected = np.array([np.interp(elapsed_h * 3600.0, found.time_s, run) for run in found.lost_kg_m2.T])
    factor = _rate_factor(gone, expected, weighing_error=0.003 / area)
    amounts, weights = _amounts(weather, usual_tack())
    if gone >= amounts.max():
        return Spread(0.0, 0.0, float(np.max(amounts) / max(_last_rate(found), 1e-9) / 3600.0 * 0.1))
    still = amounts > gone
    times = _times(found, expected[:, None] + (amounts[still] - gone)[None, :] / factor[:, None])
    left = np.maximum(times - elapsed_h * 3600.0, 0.0) / 3600.0
    share = np.broadcast_to(weights[still], left.shape)
    return spread_of(left.ravel(), share.ravel() / share.sum())


def cooper_linton_h(air_c: float, rh_pct: float, wind_m_s: float) -> float:
    """Cross-check: hours of pre-drying haddock fillets, D. LeB. Cooper and E. P. Linton.

    t = 0.65 / (E - e) sqrt(T / V): E - e saturation deficit of the air [mmHg], T [K], V [m/s], as
    quoted in Bull. Jap. Soc. Sci. Fish. 11(4); the unit of t was not shown, hours are assumed.
    Gives about half of the trade's figures. ``rh_pct`` 0..98, ``wind_m_s`` 0.1..10.
    """
    require_between("rh_pct", rh_pct, 0.0, 98.0, "%")
    require_between("wind_m_s", wind_m_s, 0.1, 10.0, "m/s")
    deficit = float(moist.saturation_pa(air_c)) * (1.0 - rh_pct / 100.0) / 133.322
    return 0.65 / deficit * math.sqrt((air_c + moist.KELVIN) / wind_m_s)


def _steps(air: Weather) -> tuple[tuple[float, Air], ...]:
    steps = ((LONGEST_H, air),) if isinstance(air, Air) else tuple(air)
    if not steps:
        raise ValueError("drying needs air: give at least one")
    return steps


def _amount(weather: Sequence[tuple[float, Air]], tack: Tack) -> Spread:
    """Water per open face at the pellicle [kg/m2]."""
    amounts, weights = _amounts(weather, tack)
    found = spread_of(amounts, weights)
    assert found is not None
    return found


def _amounts(weather: Sequence[tuple[float, Air]], tack: Tack) -> tuple[Floats, Floats]:
    deviates = np.sort(spanning(_AMOUNTS, 1)[:, 0])
    amounts = _usual_amount(weather) * np.exp(tack.mean + tack.sd * deviates)
    return amounts, np.full(_AMOUNTS, 1.0 / _AMOUNTS)


def _usual_amount(weather: Sequence[tuple[float, Air]]) -> float:
    """Water per open face at the pellicle of a rig that nothing is known of [kg/m2]."""
    data = rules("heat")["pellicle"]
    share = float(turbulent_share(weather[0][1].speed_m_s))
    return float(data["still_kg_m2"] ** (1.0 - share) * data["moving_kg_m2"] ** share)


def tack_shown(piece: Piece, air: Weather, wps_pct: float, at_h: float, start_c: float = 4.0) -> Tack:
    """The tack that a skin found tacky just ``at_h`` (0.05..36) hours after the start would show.

    Mean and deviation are those of the weather's runs, which the air as told leaves open.
    """
    require_between("at_h", at_h, 0.05, LONGEST_H, "h")
    weather = _steps(air)
    found = _evaporation(piece, weather, wps_pct, start_c)
    gone = np.array([np.interp(at_h * 3600.0, found.time_s, run) for run in found.lost_kg_m2.T])
    logs = np.log(np.maximum(gone, 1e-4) / _usual_amount(weather))
    return Tack(float(logs.mean()), float(logs.std()))


@lru_cache(maxsize=64)
def _evaporation(piece: Piece, weather: tuple[tuple[float, Air], ...], wps_pct: float, start_c: float) -> _Drying:
    require_between("start_c", start_c, -2.0, 40.0, "degC")
    data = rules("heat")
    times = time_steps(LONGEST_H * 3600.0, longest_s=5400.0, first_s=300.0, growth=1.5)
    deviates = np.vstack([np.zeros(3), spanning(_WEATHER_RUNS - 1, 3)])
    which = np.searchsorted(np.cumsum([h for h, _ in weather])[:-1] * 3600.0, times, side="right")
    airs = [weather[i][1] for i in which]
    air_c = np.array([a.air_c for a in airs])[:, None]
    offset = data["air_spread"]["rh_sd_pct"] * deviates[:, 0]
    rh = np.clip(np.array([a.rh_pct for a in airs])[:, None] + offset, 0.0, 100.0)
    slab = slab_of(
        piece,
        at_c=15.0,
        start_c=start_c,
        wps_pct=wps_pct,
        diffusivity=data["water_diffusivity"]["value"],
        thickness=data["smoker"]["thickness_sd_factor"] ** deviates[:, 2],
    )
    around = Surroundings(
        air_c=air_c,
        vapour_pa=rh / 100.0 * moist.saturation_pa(air_c),
        forced=forced(np.array([a.speed_m_s for a in airs])[:, None], air_c),
        natural=natural_plate(1.0, air_c),
        emissivity=np.array([data["emissivity"]["value"]]),
        factor=data["air_spread"]["transfer_sd_factor"] ** deviates[:, 1],
        wet=True,
    )
    course = solve(slab, times, around, heat_modes=5, water_modes=1)
    return _Drying(times, course.lost_kg_m2, course.surface_c)


def _hours(found: _Drying, weather: Sequence[tuple[float, Air]], tack: Tack) -> Spread | None:
    amounts, weights = _amounts(weather, tack)
    times = _times(found, np.broadcast_to(amounts, (found.lost_kg_m2.shape[1], len(amounts)))) / 3600.0
    share = np.broadcast_to(weights, times.shape)
    return spread_of(times.ravel(), share.ravel() / share.sum())


def _times(found: _Drying, amounts: Floats) -> Floats:
    """When each weather run (rows) has lost each of its ``amounts`` (columns) [s]; inf where never."""
    rows = []
    for lost, wanted in zip(found.lost_kg_m2.T, amounts, strict=True):
        so_far = np.maximum.accumulate(lost)
        at = np.interp(wanted, so_far, found.time_s)
        rows.append(np.where(wanted > so_far[-1], np.inf, at))
    return np.array(rows)


def _rate_factor(gone: float, expected: Floats, weighing_error: float) -> Floats:
    """How many times faster than each run this rig dries: weighing against what is usual, in logs."""
    usual_sd = math.log(rules("heat")["air_spread"]["rig_sd_factor"])
    floor = 1e-3
    told = np.log(np.maximum(gone, floor) / np.maximum(expected, floor))
    told_sd = weighing_error / max(gone, weighing_error)
    trust = usual_sd**2 / (usual_sd**2 + told_sd**2)
    return np.asarray(np.exp(trust * told))


def _last_rate(found: _Drying) -> float:
    span = found.time_s[-1] - found.time_s[-2]
    return float(np.mean(found.lost_kg_m2[-1] - found.lost_kg_m2[-2]) / span)


def _dew_h(found: _Drying) -> float:
    """Hours at the start in which the middle run gains water."""
    lost = found.lost_kg_m2[:, 0]
    return float(found.time_s[int(np.argmin(lost))]) / 3600.0 if lost.min() < 0.0 else 0.0


def surface_activity(piece: Piece, wps_pct: float) -> float:
    """Water activity of the wet brined surface: air damper than this cannot dry it."""
    mix = piece.composition
    water = mix.water / (mix.protein + mix.ash + mix.carbohydrate)
    activity, _ = at_surface(np.array([water]), np.array([water * wps_pct / (100.0 - wps_pct)]))
    return float(activity[0])
