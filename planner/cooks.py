"""How each lot in the smoke, or cooling, stands by its readings, and where it goes from here."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime, timedelta

import numpy as np

from planner.batch import Batch, Told
from planner.cooling import curve
from planner.cooling_rule import CoolState, cooling_status
from planner.hold import Mark, hold_status
from planner.lethality import lethality
from planner.making import Making
from planner.plan import LotCook, LotCooling
from planner.readings import Reading
from planner.smoking import Chamber, Cook, cook, hold_end_s
from planner.spread import Spread
from planner.stages import Stage
from planner.unknowns import crossing_s, spread_of
from planner.verdict import Eta

_RUNS = 96
_PROBE_SD_K = 2.0
#: Readings of a running hold are asked for well inside the longest gap.
_IN_HOLD = timedelta(minutes=25)
_SOONEST = timedelta(minutes=10)
_LATEST = timedelta(minutes=60)


def core_readings(batch: Batch, lot: str | None, since: datetime | None) -> list[Reading]:
    """Core readings of a lot as the rules take them."""
    return [Reading(r.at, float(r.slots["core_c"])) for r in batch.values("core_c", lot, since)]


def chamber_readings(batch: Batch, since: datetime | None) -> list[Reading]:
    """Chamber readings as the rules take them."""
    return [Reading(r.at, float(r.slots["chamber_c"])) for r in batch.values("chamber_c", since=since)]


def lot_cook(
    batch: Batch, making: Making, lot: str, marks: tuple[Mark, Mark], wps_pct: float, now: datetime
) -> LotCook | None:
    """How the lot stands in the smoke; None where it was not said to be in the smoke."""
    start = batch.started_at(Stage.SMOKE, lot)
    if start is None:
        return None
    end = batch.done_at(Stage.SMOKE, lot)
    until = min(now, end) if end else now
    core = [r for r in core_readings(batch, lot, start) if r.at <= until]
    chamber = [r for r in chamber_readings(batch, start) if r.at <= until]
    floor_mark, aim_mark = marks
    floor_hold = hold_status(core, chamber, floor_mark, until)
    aim_hold = hold_status(core, chamber, aim_mark, until)
    family = _family(making, lot, start, chamber, wps_pct)
    weights, odd = _weights(family, start, core)
    etas = _etas(family, weights, start, now, core, (floor_mark, aim_mark))
    return LotCook(
        lot=lot,
        floor_hold=floor_hold,
        aim_hold=aim_hold,
        floor=etas["floor"],
        aim=etas["aim"],
        hold_end=None if aim_hold.met else etas["hold_end"],
        next_look=None if aim_hold.met else _look(core, floor_hold, aim_hold, etas, start, now),
        stuck=bool(core) and not aim_hold.met and etas["hold_end"] is None,
        odd=odd,
        lethality=lethality(core, until),
    )


def _family(
    making: Making, lot: str, start: datetime, chamber: Sequence[Reading], wps_pct: float
) -> Cook:
    told = tuple(((r.at - start).total_seconds(), r.value_c) for r in sorted(chamber))
    history = Chamber(told) if told else Chamber.steady(making.chamber_c)
    return cook(
        making.pieces[lot], history, start_c=min(making.air.air_c, 40.0), wps_pct=wps_pct, runs=_RUNS
    )


def _weights(family: Cook, start: datetime, core: Sequence[Reading]) -> tuple[np.ndarray, bool]:
    misfit = np.zeros(family.core_c.shape[1])
    last = misfit
    for reading in core:
        at = (reading.at - start).total_seconds()
        expected = np.array([np.interp(at, family.time_s, run) for run in family.core_c.T])
        last = ((expected - reading.value_c) / _PROBE_SD_K) ** 2
        misfit = misfit + last
    weights = np.exp(-0.5 * (misfit - misfit.min()))
    odd = bool(len(core) > 1 and last.min() > 16.0)
    return weights / weights.sum(), odd


def _etas(
    family: Cook,
    weights: np.ndarray,
    start: datetime,
    now: datetime,
    core: Sequence[Reading],
    marks: tuple[Mark, Mark],
) -> dict[str, Eta | None]:
    floor, aim = marks
    seconds = {
        "floor": crossing_s(family.time_s, family.core_c, floor.core_c),
        "aim": crossing_s(family.time_s, family.core_c, aim.core_c),
        "hold_end": hold_end_s(family.time_s, family.core_c, aim.core_c, aim.hold_min * 60.0),
    }
    reached = max((r.value_c for r in core), default=-99.0)
    etas: dict[str, Eta | None] = {
        of: _eta(of, spread_of(s, weights), start, now) for of, s in seconds.items()
    }
    if floor.reached(reached):
        etas["floor"] = None
    if aim.reached(reached):
        etas["aim"] = None
    return etas


def _eta(of: str, seconds: Spread | None, start: datetime, now: datetime) -> Eta | None:
    if seconds is None or math.isinf(seconds.mid):
        return None
    high = seconds.high if math.isfinite(seconds.high) else seconds.mid * 2.0
    low, mid, late = (max(start + timedelta(seconds=s), now) for s in (seconds.low, seconds.mid, high))
    return Eta(of, low, mid, late)


def _look(
    core: Sequence[Reading],
    floor_hold: object,
    aim_hold: object,
    etas: dict[str, Eta | None],
    start: datetime,
    now: datetime,
) -> datetime:
    """Next reading: inside the gap of a running hold, else when the next mark is about due."""
    since = getattr(aim_hold, "since", None) or getattr(floor_hold, "since", None)
    last = core[-1].at if core else start
    if since is not None:
        due = getattr(aim_hold, "due_at", None) or last + _IN_HOLD
        return max(min(due, last + _IN_HOLD), last + timedelta(minutes=1))
    eta = etas["floor"] or etas["aim"]
    if eta is None:
        return last + _LATEST
    soon = last + _SOONEST
    return min(max(eta.p10, soon), max(now, last) + _LATEST) if core else max(eta.p10, soon)


def lot_cooling(batch: Batch, making: Making, lot: str, now: datetime) -> LotCooling | None:
    """How the lot stands on its way down; None where it was not said to be out of the smoke."""
    start = batch.started_at(Stage.COOL, lot)
    if start is None:
        return None
    core = core_readings(batch, lot, batch.started_at(Stage.SMOKE, lot))
    status = cooling_status(core, now)
    rule = status.rule
    first, cold = _down(making, lot, core, now, rule.middle.c), _down(making, lot, core, now, rule.end.c)
    if status.leg == "cold" or status.state is CoolState.DONE:
        first = None
    return LotCooling(
        lot=lot,
        cooling=status,
        first_leg=_cooling_eta("first_leg", first),
        cold=_cooling_eta("cold", cold) if status.state is not CoolState.DONE else None,
        next_look=_cool_look(start, status.next_reading_by, status.leg, first, cold, core, now)
        if status.state in (CoolState.ON_COURSE, CoolState.NOT_STARTED, CoolState.UNKNOWN)
        else None,
    )


def _down(
    making: Making, lot: str, core: Sequence[Reading], now: datetime, to_c: float
) -> tuple[datetime, datetime, datetime] | None:
    if not core or core[-1].value_c <= to_c:
        return None
    last = core[-1]
    air_c = making.fridge_c if last.value_c < 35.0 or making.air.air_c >= to_c else making.air.air_c
    found = curve(making.pieces[lot], round(min(max(last.value_c, -2.0), 100.0)), round(air_c))
    hours = spread_of(crossing_s(found.time_h, found.core_c, to_c, rising=False))
    if hours is None:
        return None
    low, mid, high = hours.low, hours.mid, hours.high if math.isfinite(hours.high) else hours.mid * 2
    a, b, c = (max(last.at + timedelta(hours=h), now) for h in (low, mid, high))
    return a, b, c


def _cooling_eta(of: str, when: tuple[datetime, datetime, datetime] | None) -> Eta | None:
    return None if when is None else Eta(of, *when)


def _cool_look(
    start: datetime,
    deadline: datetime | None,
    leg: str | None,
    first: tuple[datetime, datetime, datetime] | None,
    cold: tuple[datetime, datetime, datetime] | None,
    core: Sequence[Told] | Sequence[Reading],
    now: datetime,
) -> datetime:
    """Read when the leg is about due, early enough before its deadline to act."""
    last = max([start, *(r.at for r in core)])
    expected = first if leg == "first_leg" else cold
    due = expected[1] if expected else last + timedelta(minutes=45)
    if deadline is not None:
        due = min(due, deadline - timedelta(minutes=20))
    return max(due, last + _SOONEST)
