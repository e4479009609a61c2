"""Hot smoking: core and surface temperature of a lot, and what it loses, for a chamber as it was read."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from planner import air
from planner.body import open_area_m2_kg, slab_of
from planner.convection import forced, natural_plate
from planner.piece import Piece
from planner.ranges import require_between
from planner.slab import Course, Surroundings, solve, time_steps
from planner.sources import rules
from planner.spread import Spread
from planner.unknowns import Prior, crossing_s, family, spread_of, usual

Floats = NDArray[np.float64]

#: Runs in the family behind a blind estimate.
BLIND_RUNS = 20
LONGEST_H = 14.0
_TENTH = 1.2816  # standard deviations from the middle to the 10 and 90 % ends


class Bound(StrEnum):
    """Which surface a run has."""

    COUPLED = "coupled"  #: it dries as it does
    DRY = "dry"  #: nothing evaporates: the soonest
    WET = "wet"  #: it never dries: the latest


@dataclass(frozen=True)
class Chamber:
    """Chamber temperature as it was read: (seconds since the start, degC), rising in time.

    Between readings it is interpolated; before the first and after the last it stays, or becomes
    ``later_c`` over half an hour after the last. ``doors_s`` are the moments it was opened.
    """

    readings: tuple[tuple[float, float], ...]
    later_c: float | None = None
    doors_s: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        if not self.readings:
            raise ValueError("a chamber needs at least one reading")
        for _, chamber_c in self.readings:
            require_between("chamber_c", chamber_c, -20.0, 150.0, "degC")
        times = [s for s, _ in self.readings]
        if any(b < a for a, b in pairwise(times)):
            raise ValueError("chamber readings must not go back in time")

    @classmethod
    def steady(cls, chamber_c: float, doors_s: Sequence[float] = ()) -> Chamber:
        """A chamber that holds one temperature."""
        return cls(((0.0, chamber_c),), doors_s=tuple(doors_s))

    def at(self, times: Floats, outside_c: float = 15.0) -> Floats:
        """Temperature at ``times`` [s]; an opened door lets it fall toward ``outside_c`` and back."""
        known = list(self.readings)
        if self.later_c is not None:
            known.append((known[-1][0] + 1800.0, self.later_c))
        seconds, degrees = np.array(known).T
        chamber = np.interp(times, seconds, degrees)
        smoker = rules("heat")["smoker"]
        for door in self.doors_s:
            since = times - door
            cold = np.exp(-np.maximum(since, 0.0) / smoker["door_recovery_s"]) * (since >= 0.0)
            chamber = chamber - smoker["door_share"] * cold * np.maximum(chamber - outside_c, 0.0)
        return np.asarray(chamber)


@dataclass(frozen=True)
class Cook:
    """A family of cooks: arrays (times, runs); ``loss_pct`` of the mass at the start of smoking.

    ``model_sd`` is of the logarithm of a time, for what no run has.
    """

    time_s: Floats
    core_c: Floats
    surface_c: Floats
    loss_pct: Floats
    course: Course
    model_sd: float


def cook(
    piece: Piece,
    chamber: Chamber,
    *,
    start_c: float = 12.0,
    wps_pct: float = 3.0,
    humidity: float | None = None,
    water_pan: bool = False,
    altitude_m: float = 0.0,
    rack_offset_k: float = 0.0,
    dried_kg_m2: float = 0.0,
    prior: Prior | None = None,
    runs: int = BLIND_RUNS,
    hours: float = LONGEST_H,
    bound: Bound = Bound.COUPLED,
) -> Cook:
    """March a lot through ``hours`` (0.1..36) of smoke.

    ``start_c`` (-2..60) core at the start, ``humidity`` kg water per kg dry air in the chamber (else
    the usual, more with a ``water_pan``), ``rack_offset_k`` how much warmer the lot's rack is than
    the reading, ``dried_kg_m2`` (0..1) of water that drying has taken from each open face. One run is
    the best guess alone; more span the ``prior``.

    Heat and water: :mod:`planner.slab`; properties: Choi and Okos 1986; transfer: Incropera,
    natural and laminar, with Chilton and Colburn.
    """
    require_between("start_c", start_c, -2.0, 60.0, "degC")
    require_between("hours", hours, 0.1, 36.0, "h")
    belief = prior or usual()
    known = family(belief, runs)
    times = time_steps(hours * 3600.0, longest_s=1200.0, first_s=60.0, growth=1.6)
    chamber_c = chamber.at(times)[:, None] + known["chamber"] + rack_offset_k
    middle_c = 0.5 * (start_c + float(np.max(chamber_c)))
    slab = slab_of(
        piece,
        at_c=round(middle_c),
        start_c=start_c,
        wps_pct=wps_pct,
        diffusivity=rules("heat")["water_diffusivity"]["value"] * known["diffusivity"],
        thickness=known["thickness"],
        dried_kg_m2=require_between("dried_kg_m2", dried_kg_m2, 0.0, 1.0, "kg/m2"),
    )
    vapour = chamber_humidity(humidity, water_pan) * known["humidity"]
    around = surroundings(chamber_c, vapour, known["transfer"], air.pressure_pa(altitude_m), bound)
    course = solve(slab, times, around, heat_modes=6, water_modes=20)
    loss_pct = 100.0 * course.lost_kg_m2 * open_area_m2_kg(piece) / known["thickness"]
    model_sd = rules("heat")["smoker"]["model_sd"] if belief.model_sd is None else belief.model_sd
    return Cook(times, course.core_c, course.surface_c, loss_pct, course, model_sd)


def chamber_humidity(humidity: float | None, water_pan: bool) -> float:
    """Water in the chamber's air [kg/kg]: as told (0..0.3), else the usual."""
    if humidity is not None:
        return require_between("humidity", humidity, 0.0, 0.3, "kg/kg")
    smoker = rules("heat")["smoker"]
    return float(smoker["water_pan_kg_kg"] if water_pan else smoker["humidity_kg_kg"])


def surroundings(
    chamber_c: Floats, humidity: Floats, factor: Floats, pressure: float, bound: Bound = Bound.COUPLED
) -> Surroundings:
    """The air of a small smoker for the solver; ``chamber_c`` (times, runs)."""
    data = rules("heat")
    typical = np.mean(chamber_c, axis=1, keepdims=True)
    vapour = np.broadcast_to(air.vapour_pa(humidity, pressure), chamber_c.shape)
    return Surroundings(
        air_c=chamber_c,
        vapour_pa=np.minimum(vapour, air.saturation_pa(chamber_c)),
        forced=forced(data["smoker"]["wind_m_s"], typical),
        natural=natural_plate(1.0, typical),
        emissivity=np.array([data["emissivity"]["value"]]),
        factor=factor,
        pressure=pressure,
        evaporates=bound is not Bound.DRY,
        wet=bound is Bound.WET,
    )


def time_to_core(cooked: Cook, core_c: float) -> Spread | None:
    """Hours until the core reaches ``core_c`` (0..100 degC); None where most runs never do.

    ``high`` is infinite where more than a tenth never do.
    """
    require_between("core_c", core_c, 0.0, 100.0, "degC")
    return _hours(crossing_s(cooked.time_s, cooked.core_c, core_c), cooked.model_sd)


def time_to_hold_end(cooked: Cook, core_c: float, hold_min: float) -> Spread | None:
    """Hours until the core has been at ``core_c`` or above for ``hold_min`` minutes without a break."""
    require_between("hold_min", hold_min, 0.0, 600.0, "min")
    begun = hold_end_s(cooked.time_s, cooked.core_c, core_c, hold_min * 60.0) - hold_min * 60.0
    hold_h = hold_min / 60.0
    found = _hours(begun, cooked.model_sd)
    return Spread(found.low + hold_h, found.mid + hold_h, found.high + hold_h) if found else None


def hold_end_s(time_s: Floats, core_c: Floats, mark_c: float, hold_s: float) -> Floats:
    """Per run, the end of the first unbroken ``hold_s`` at or above ``mark_c``; inf where none."""
    ends = np.full(core_c.shape[1], np.inf)
    begun = np.full(core_c.shape[1], np.inf)
    for n in range(len(time_s)):
        above = core_c[n] >= mark_c
        fresh = above & np.isinf(begun)
        if fresh.any():
            begun = np.where(fresh, _moment(time_s, core_c, mark_c, n), begun)
        begun = np.where(above, begun, np.inf)
        done = above & (time_s[n] - begun >= hold_s) & np.isinf(ends)
        ends = np.where(done, begun + hold_s, ends)
    return ends


def _moment(time_s: Floats, core_c: Floats, mark_c: float, n: int) -> Floats:
    if n == 0:
        return np.full(core_c.shape[1], time_s[0])
    rise = core_c[n] - core_c[n - 1]
    share = np.clip((mark_c - core_c[n - 1]) / np.where(rise == 0.0, 1.0, rise), 0.0, 1.0)
    return np.asarray(time_s[n - 1] + share * (time_s[n] - time_s[n - 1]))


def usual_loss_pct(cooked: Cook, at_h: float) -> Spread:
    """Loss of mass at ``at_h`` hours of smoke, percent of the mass at its start."""
    require_between("at_h", at_h, 0.0, float(cooked.time_s[-1]) / 3600.0, "h")
    at = [float(np.interp(at_h * 3600.0, cooked.time_s, run)) for run in cooked.loss_pct.T]
    found = spread_of(np.array(at))
    assert found is not None  # losses are finite
    return found


def _hours(seconds: Floats, model_sd: float) -> Spread | None:
    """Spread of the runs [h], wider by what no run has, so that a blind guess is as wide as it is."""
    found = spread_of(seconds)
    if found is None or len(seconds) == 1:
        return found.scaled(1.0 / 3600.0) if found else None
    if found.mid <= 0.0:
        return found.scaled(1.0 / 3600.0)
    model = _TENTH * model_sd
    mid = found.mid / 3600.0
    below = math.hypot(math.log(found.mid / max(found.low, 1.0)), model)
    above = math.hypot(math.log(found.high / found.mid), model)
    return Spread(mid * math.exp(-below), mid, mid * math.exp(above))
