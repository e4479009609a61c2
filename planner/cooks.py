"""How each lot in the smoke, or cooling, stands by its readings, and where it goes from here."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime, timedelta
from functools import lru_cache

from planner.batch import Batch, Told
from planner.cooling import Curve, curve
from planner.cooling_rule import CoolState, cooling_rule, cooling_status
from planner.forecast.cooling import CoolingForecast, forecast_cooling
from planner.forecast.core import CoreForecast, forecast_core
from planner.hold import Hold, Mark, hold_status
from planner.lethality import lethality
from planner.limits import limit
from planner.making import Making
from planner.piece import Piece
from planner.plan import CoreAhead, LotCook, LotCooling
from planner.readings import Reading
from planner.spread import Spread
from planner.stages import Stage
from planner.unknowns import Prior, spread_of
from planner.verdict import Eta

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
    smoked = _smoked(batch, lot, now)
    if smoked is None:
        return None
    start, until, core, chamber = smoked
    floor_mark, aim_mark = marks
    floor_hold = hold_status(core, chamber, floor_mark, until)
    aim_hold = hold_status(core, chamber, aim_mark, until)
    forecast = _forecast(making, lot, start, core, chamber, wps_pct, until, aim_mark)
    etas = _etas(forecast, start, now, core, (floor_mark, aim_mark))
    look = start + timedelta(seconds=forecast.look_s)
    return LotCook(
        lot=lot,
        floor_hold=floor_hold,
        aim_hold=aim_hold,
        floor=etas["floor"],
        aim=etas["aim"],
        hold_end=None if aim_hold.met else _shown(etas["hold_end"], aim_hold, until),
        next_look=None if aim_hold.met else _look(core, floor_hold, aim_hold, etas, start, look),
        stuck=bool(core) and not aim_hold.met and forecast.marks["hold_end"].when is None,
        odd=forecast.odd,
        lethality=lethality(core, until),
        course=tuple(CoreAhead(start + timedelta(seconds=a.at_s), a.core_c) for a in forecast.course),
    )


def core_forecast(
    batch: Batch, making: Making, lot: str, aim: Mark, wps_pct: float, now: datetime
) -> tuple[CoreForecast, int] | None:
    """The forecast of a lot with how many core readings it rests on; None where it was not in the smoke."""
    smoked = _smoked(batch, lot, now)
    if smoked is None:
        return None
    start, until, core, chamber = smoked
    return _forecast(making, lot, start, core, chamber, wps_pct, until, aim), len(core)


def _smoked(batch: Batch, lot: str, now: datetime) -> tuple[datetime, datetime, list[Reading], list[Reading]] | None:
    """From when to when a lot was in the smoke so far, with the readings of core and chamber meanwhile."""
    start = batch.started_at(Stage.SMOKE, lot)
    if start is None:
        return None
    end = batch.done_at(Stage.SMOKE, lot)
    until = min(now, end) if end else now
    core = [r for r in core_readings(batch, lot, start) if r.at <= until]
    return start, until, core, [r for r in chamber_readings(batch, start) if r.at <= until]


def _forecast(
    making: Making,
    lot: str,
    start: datetime,
    core: Sequence[Reading],
    chamber: Sequence[Reading],
    wps_pct: float,
    until: datetime,
    aim: Mark,
) -> CoreForecast:
    def seconds(readings: Sequence[Reading], hottest_c: float) -> tuple[tuple[float, float], ...]:
        read = (((r.at - start).total_seconds(), min(max(r.value_c, _COLDEST_C), hottest_c)) for r in readings)
        return tuple(sorted((at_s, value_c) for at_s, value_c in read if at_s <= _LONGEST_S))

    cores, chambers = seconds(core, _HOTTEST_CORE_C), seconds(chamber, _HOTTEST_CHAMBER_C)
    # To the last reading and in steps of minutes from there: asked again, the answer is at hand.
    last_s = max([0.0, *(s for s, _ in (*cores, *chambers))])
    now_s = last_s + (until - start - timedelta(seconds=last_s)) // _STEP * _STEP.total_seconds()
    return _remembered(
        making.pieces[lot],
        cores,
        chambers,
        min(max(now_s, 0.0), _LONGEST_S),
        min(max(round(making.air.air_c), -2), 40),
        round(wps_pct, 1),
        min(max(making.chamber_c, 30.0), 130.0),
        aim.core_c,
        aim.hold_min,
        making.known.smoke,
    )


_STEP = timedelta(minutes=5)
# As far as the forecast reaches [°C, s]: what was read beyond is judged by its own rule all the same.
_COLDEST_C, _HOTTEST_CORE_C, _HOTTEST_CHAMBER_C = -30.0, 100.0, 150.0
_LONGEST_S = 72.0 * 3600.0


@lru_cache(maxsize=64)
def _remembered(
    piece: Piece,
    core: tuple[tuple[float, float], ...],
    chamber: tuple[tuple[float, float], ...],
    now_s: float,
    start_c: float,
    wps_pct: float,
    aim_chamber_c: float,
    mark_c: float,
    hold_min: float,
    prior: Prior | None,
) -> CoreForecast:
    """:func:`planner.forecast.core.forecast_core`, remembered for a plan that is computed again and again."""
    marks = {"floor": (FLOOR_C, 0.0), "aim": (mark_c, 0.0), "hold_end": (mark_c, hold_min)}
    return forecast_core(
        piece,
        core,
        chamber,
        now_s=now_s,
        start_c=start_c,
        wps_pct=wps_pct,
        aim_c=aim_chamber_c,
        marks=marks,
        prior=prior,
    )


#: The floor as the forecast names it [degC]; the rule itself is in ``data/safety.toml``.
FLOOR_C = limit("floor").c


def _etas(
    forecast: CoreForecast,
    start: datetime,
    now: datetime,
    core: Sequence[Reading],
    marks: tuple[Mark, Mark],
) -> dict[str, Eta | None]:
    reached = max((r.value_c for r in core), default=-99.0)
    etas = {of: _eta(of, found.when, start, now) for of, found in forecast.marks.items()}
    for of, mark in zip(("floor", "aim"), marks, strict=True):
        if mark.reached(reached):
            etas[of] = None
    return etas


def _eta(of: str, seconds: Spread | None, start: datetime, now: datetime) -> Eta | None:
    if seconds is None or math.isinf(seconds.mid):
        return None
    high = seconds.high if math.isfinite(seconds.high) else seconds.mid * 2.0
    low, mid, late = (max(start + timedelta(seconds=s), now) for s in (seconds.low, seconds.mid, high))
    return Eta(of, low, mid, late)


def _shown(hold_end: Eta | None, hold: Hold, now: datetime) -> Eta | None:
    """A hold ends when readings show it, however long the core may have been hot unread (decision 2)."""
    if hold_end is None:
        return None
    soonest = (hold.since or now) + timedelta(minutes=hold.mark.hold_min)
    return Eta(hold_end.of, *(max(at, soonest) for at in (hold_end.p10, hold_end.p50, hold_end.p90)))


def _look(
    core: Sequence[Reading],
    floor_hold: Hold,
    aim_hold: Hold,
    etas: dict[str, Eta | None],
    start: datetime,
    telling: datetime,
) -> datetime:
    """Next reading: inside the gap of a running hold, else when it tells most of the next mark."""
    last = core[-1].at if core else start
    if aim_hold.since is not None or floor_hold.since is not None:
        due = aim_hold.due_at or last + _IN_HOLD
        return max(min(due, last + _IN_HOLD), last + timedelta(minutes=1))
    if core:
        return min(max(telling, last + _SOONEST), last + _LATEST)
    eta = etas["floor"] or etas["aim"]
    return max(eta.p10, start + _SOONEST) if eta else start + _LATEST


def lot_cooling(batch: Batch, making: Making, lot: str, now: datetime) -> LotCooling | None:
    """How the lot stands on its way down; None where it was not said to be out of the smoke."""
    start = batch.started_at(Stage.COOL, lot)
    if start is None:
        return None
    core = core_readings(batch, lot, batch.started_at(Stage.SMOKE, lot))
    status = cooling_status(core, now, outs=batch.left_heat(lot))
    rule = status.rule
    last_c = core[-1].value_c if core else math.inf
    done = status.state is CoolState.DONE
    ahead = None if done else _cooling_forecast(batch, making, lot, core, start, now)
    first = _within(ahead, "first_leg", start, now) if ahead and last_c > rule.middle.c else None
    cold = _within(ahead, "cold", start, now) if ahead and last_c > rule.end.c else None
    if status.leg == "cold":
        first = None
    return LotCooling(
        lot=lot,
        cooling=status,
        first_leg=_cooling_eta("first_leg", first),
        cold=_cooling_eta("cold", cold),
        next_look=_cool_look(start, status.next_reading_by, status.leg, first, cold, core, now)
        if status.state in (CoolState.ON_COURSE, CoolState.NOT_STARTED, CoolState.UNKNOWN)
        else None,
    )


_Range = tuple[datetime, datetime, datetime]

#: No way down is reckoned beyond this.
_FORECAST = timedelta(hours=72)
#: Unless it was said, fish goes from the bench into the fridge after this long: *ours*.
_TO_FRIDGE = timedelta(hours=1)


def _cooling_forecast(
    batch: Batch, making: Making, lot: str, core: Sequence[Reading], start: datetime, now: datetime
) -> CoolingForecast:
    told = [h.at for h in batch.happenings if h.slots["what"] == "fridge" and h.at >= start]
    into_fridge = told[0] if told else max(now, start + _TO_FRIDGE)
    hot = [r.value_c for r in core if r.at <= start]
    since = tuple(((r.at - start).total_seconds(), r.value_c) for r in sorted(core) if r.at > start)
    places = ((0.0, round(making.air.air_c, 1)), (max((into_fridge - start).total_seconds(), 1.0), making.fridge_c))
    now_s = max([0.0, *(s for s, _ in since), (now - start) // _STEP * _STEP.total_seconds()])
    now_s = min(now_s, _FORECAST.total_seconds())  # fish that was packed days ago is cold
    return _cooling_remembered(
        making.pieces[lot], since, places, now_s, min(max(hot[-1] if hot else 71.0, -2.0), 100.0)
    )


@lru_cache(maxsize=64)
def _cooling_remembered(
    piece: Piece,
    since: tuple[tuple[float, float], ...],
    places: tuple[tuple[float, float], ...],
    now_s: float,
    start_c: float,
) -> CoolingForecast:
    """:func:`planner.forecast.cooling.forecast_cooling`, remembered like the one of the smoke."""
    rule = cooling_rule()
    marks = {"first_leg": rule.middle.c, "cold": rule.end.c}
    return forecast_cooling(piece, since, places, now_s=now_s, start_c=start_c, marks=marks)


def _within(ahead: CoolingForecast, of: str, start: datetime, now: datetime) -> _Range | None:
    """80 % range of a mark of the way down, none of it in the past; None where it will not get there."""
    eta = _eta(of, ahead.marks[of].when, start, now)
    return None if eta is None else (eta.p10, eta.p50, eta.p90)


def _falling(making: Making, lot: str, last: Reading, to_c: float) -> Curve:
    """The way down from the last reading: in the room's air while it steams, else in the fridge."""
    air_c = making.fridge_c if last.value_c < 35.0 or making.air.air_c >= to_c else making.air.air_c
    return curve(making.pieces[lot], round(min(max(last.value_c, -2.0), 100.0)), round(air_c))


def cooling_course(
    making: Making, lot: str, core: Sequence[Reading], to_c: float
) -> tuple[CoreAhead, ...]:
    """The core of a lot from its last reading on, until it is likely at ``to_c``; empty where it is there."""
    if not core or core[-1].value_c <= to_c:
        return ()
    last = core[-1]
    found = _falling(making, lot, last, to_c)
    ahead: list[CoreAhead] = []
    for hours, runs in zip(found.time_h, found.core_c, strict=True):
        spread = spread_of(runs)
        assert spread is not None  # temperatures are finite
        ahead.append(CoreAhead(last.at + timedelta(hours=float(hours)), spread))
        if spread.high <= to_c:
            break
    return tuple(ahead)


def _cooling_eta(of: str, when: _Range | None) -> Eta | None:
    return None if when is None else Eta(of, *when)


def _cool_look(
    start: datetime,
    deadline: datetime | None,
    leg: str | None,
    first: _Range | None,
    cold: _Range | None,
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
