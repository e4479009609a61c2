"""A reading and what it means for going on: the verdict.

Each verdict names the rules that bore on it with their sources and figures; words are made of it
elsewhere. The strictest reason decides: a broken limit stands above everything else.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime, timedelta

from planner import cold_rules
from planner.batch import WHOLE, Told
from planner.chamber_rule import cold_smoke, hot_chamber
from planner.cooks import chamber_readings
from planner.cooling_rule import CoolState, cooling_rule
from planner.exposure import Exposure
from planner.gates import cold_smoke_of, shut
from planner.limits import citation, limit, rule
from planner.looks import after_touch
from planner.plan import Gate, LotCook, LotCooling, Plan
from planner.stages import Stage
from planner.units import salometer_to_mass_pct
from planner.verdict import Call, Eta, Reason, Verdict

#: What a reading can be about, most telling first.
KEYS = (
    "core_c",
    "surface",
    "chamber_c",
    "fridge_c",
    "mass_g",
    "salometer_deg",
    "wps_pct",
    "air_c",
    "rh_pct",
    "wind_m_s",
    "firmness",
)

COMMON = "common practice, no source"
OURS = "our own rule, no source"


def judge(plan: Plan, reading: Told) -> Verdict:
    """The verdict on one reading, with the plan computed after it was recorded."""
    about = next((key for key in KEYS if key in reading.slots), None)
    if about is None:
        raise ValueError(f"no reading among {sorted(reading.slots)}")
    verdict = _JUDGES[about](plan, reading)
    spent = plan.exposure if plan.exposure and plan.exposure.spent else None
    if spent and verdict.call is not Call.NOTED:
        return _stopped(verdict, _spent(spent))
    lost = _lost(plan, reading)
    if lost is not None and verdict.call not in (Call.NOTED, Call.STOP):
        return _stopped(verdict, _gate(lost))
    if verdict.next_look is not None and verdict.next_look < plan.at:
        return replace(verdict, next_look=plan.at)
    return verdict


def _lost(plan: Plan, reading: Told) -> Gate | None:
    """The broken limit that bears on what was read: of that lot, or of all where it names none."""
    lots = {reading.lot} if reading.lot else {lot.name for lot in plan.making.lots}
    broken = [gate for gate in plan.gates if gate.lost]
    whole = next((gate for gate in broken if gate.lot is None), None)
    return whole or (broken[0] if broken and lots <= {gate.lot for gate in broken} else None)


def _stopped(verdict: Verdict, why: Reason) -> Verdict:
    return replace(
        verdict, call=Call.STOP, reasons=(why, *verdict.reasons), next_look=None, eta=None, etas=()
    )


def pack_verdict(plan: Plan) -> Verdict:
    """May it be packed? ``go`` only where every gate was opened by recorded facts."""
    closed = shut(plan.gates)
    reasons = tuple(_gate(g) for g in (closed or plan.gates))
    if not closed:
        return Verdict("pack", None, Call.GO, Stage.PACK, None, reasons)
    call = Call.STOP if plan.lost else Call.ACT if _past_smoke(plan) else Call.WAIT
    look = None if plan.lost else _next_of(plan)
    return Verdict("pack", None, call, Stage.PACK, None, reasons, look)


def _past_smoke(plan: Plan) -> bool:
    return all(row.done for row in plan.rows(Stage.SMOKE))


def _next_of(plan: Plan) -> datetime | None:
    looks = [c.next_look for c in plan.cooks.values()] + [c.next_look for c in plan.coolings.values()]
    return min((look for look in looks if look is not None), default=None)


def _gate(gate: Gate) -> Reason:
    values = dict(gate.values) | ({"lot": gate.lot} if gate.lot and gate.lot != WHOLE else {})
    return Reason(gate.missing or gate.name, gate.source, values)


def _spent(clock: Exposure) -> Reason:
    values = {"used_h": round(clock.used_h, 1), "limit_h": clock.limit_h}
    return Reason("exposure_spent", clock.citation.text(), values)


def _core(plan: Plan, reading: Told) -> Verdict:
    lot = reading.lot or (WHOLE if len(plan.making.lots) == 1 else "")
    value = float(reading.slots["core_c"])
    name = None if lot in (WHOLE, "") else lot
    stage = _stage_of(plan, lot)
    if stage is Stage.SMOKE and lot in plan.cooks:
        return _core_in_smoke(plan, plan.cooks[lot], value, name)
    if lot in plan.coolings and _was_cold(plan.coolings[lot], reading):
        return _core_cold(plan, value, name)
    if stage is Stage.COOL and lot in plan.coolings:
        return _core_cooling(plan.coolings[lot], value, name)
    if stage in (Stage.CHILL, Stage.PACK, Stage.KEEP):
        return _core_cold(plan, value, name)
    return Verdict("core_c", value, Call.NOTED, stage, name, _thaw_reason(plan, value))


def _was_cold(cooling: LotCooling, reading: Told) -> bool:
    """True for a core read after the lot was proven cold: it is judged by the rule of keeping."""
    done_at = cooling.cooling.done_at
    return done_at is not None and reading.at > done_at


def _stage_of(plan: Plan, lot: str) -> Stage:
    """The stage that a lot is in: lots part ways in the smoke."""
    if lot in plan.coolings:
        done = plan.coolings[lot].cooling.state is CoolState.DONE
        return plan.now.stage if done else Stage.COOL
    if lot in plan.cooks:
        return Stage.SMOKE
    return plan.now.stage


def _thaw_reason(plan: Plan, value: float) -> tuple[Reason, ...]:
    check = cold_rules.thawing(min(max(value, -40.0), 60.0))
    if plan.now.stage is Stage.THAW and not check.kept:
        return (Reason(check.rule, check.citation.text(), {"limit_c": check.limit_c}),)
    return ()


def _core_in_smoke(plan: Plan, cook: LotCook, value: float, lot: str | None) -> Verdict:
    floor, aim = cook.floor_hold.mark, cook.aim_hold.mark
    etas = tuple(e for e in (cook.floor, cook.aim, cook.hold_end) if e is not None)
    eta = cook.floor or cook.hold_end
    rest = tuple(e for e in etas if e is not eta)
    base = Verdict("core_c", value, Call.WAIT, Stage.SMOKE, lot, (), cook.next_look, eta, rest)
    both = {"floor_c": floor.core_c, "aim_c": aim.core_c, "hold_min": aim.hold_min}
    if cook.aim_hold.met:
        reason = Reason("aim_held", aim.citation.text(), both)
        return replace(base, call=Call.GO, reasons=(reason,), next_look=None, eta=None, etas=())
    reasons: list[Reason] = []
    fallen = _fallen(plan, cook.lot, value)
    if fallen is not None:
        reasons.append(fallen)
    elif cook.odd:
        reasons.append(Reason("reading_odd", OURS, {"value_c": value}))
    if cook.aim_hold.since is not None:
        held = round(cook.aim_hold.held_min)
        reasons.append(Reason("aim_counting", aim.citation.text(), both | {"held_min": held}))
    elif cook.floor_hold.met:
        reasons.append(Reason("floor_held", floor.citation.text(), both))
    elif cook.floor_hold.since is not None:
        held = round(cook.floor_hold.held_min)
        reasons.append(Reason("floor_counting", floor.citation.text(), both | {"held_min": held}))
    else:
        reasons.append(Reason("floor_not_reached", floor.citation.text(), both))
    broken = cook.aim_hold.broken_by or cook.floor_hold.broken_by
    if broken and cook.counting_since is None:
        reasons.append(Reason(f"hold_broken_{broken}", OURS, {}))
    return _with_heat(plan, cook, replace(base, reasons=tuple(reasons)), value)


#: No core falls so far in a smoker that burns: *ours*.
_FALL_K = 25.0


def _fallen(plan: Plan, lot: str, core_c: float) -> Reason | None:
    """That the core is so much colder than when it was last read that it has come out, or the fire went out."""
    earlier = plan.batch.values("core_c", lot)[:-1]
    if not earlier or float(earlier[-1].slots["core_c"]) - core_c < _FALL_K:
        return None
    fell = float(earlier[-1].slots["core_c"]) - core_c
    return Reason("core_fallen", OURS, {"fell_k": round(fell, 1), "since": earlier[-1].at.isoformat()})


def _with_heat(plan: Plan, cook: LotCook, verdict: Verdict, core_c: float) -> Verdict:
    """Where the chamber is at fault, or the core will not get there, something must be done now."""
    start = plan.batch.started_at(Stage.SMOKE, cook.lot)
    chamber = hot_chamber(chamber_readings(plan.batch, start), core_c, plan.at)
    if chamber.call is Call.ACT and chamber.chamber_c is not None:
        reason = Reason(chamber.state, chamber.citation.text(), {"chamber_c": chamber.chamber_c})
        return replace(verdict, call=Call.ACT, reasons=(*verdict.reasons, reason))
    if cook.stuck and not cook.odd:
        values = {"chamber_c": plan.making.chamber_c, "aim_c": cook.aim_hold.mark.core_c}
        reason = Reason("will_not_get_there", OURS, values)
        return replace(verdict, call=Call.ACT, reasons=(*verdict.reasons, reason))
    return verdict


def _core_cooling(cooling: LotCooling, value: float, lot: str | None) -> Verdict:
    status = cooling.cooling
    source = status.citation.text()
    eta = cooling.first_leg or cooling.cold
    rest = tuple(e for e in (cooling.cold,) if e is not None and e is not eta)
    limits = {"middle_c": status.rule.middle.c, "end_c": status.rule.end.c}
    call, rule = _COOLING[status.state]
    values: dict[str, float | str] = dict(limits)
    if cooling.deadline:
        values["by"] = cooling.deadline.isoformat()
    if cooling.target_c is not None:
        values["target_c"] = cooling.target_c
    if status.state is CoolState.ON_COURSE and _too_slow(eta, cooling.deadline):
        call, rule = Call.ACT, "cooling_too_slow"
    return Verdict(
        "core_c",
        value,
        call,
        Stage.COOL,
        lot,
        (Reason(rule, source, values),),
        cooling.next_look if call in (Call.WAIT, Call.ACT) else None,
        eta if call in (Call.WAIT, Call.ACT) else None,
        rest if call in (Call.WAIT, Call.ACT) else (),
    )


_COOLING: Mapping[CoolState, tuple[Call, str]] = {
    CoolState.NOT_STARTED: (Call.ACT, "cooling_not_started"),
    CoolState.ON_COURSE: (Call.WAIT, "cooling_on_course"),
    CoolState.DONE: (Call.GO, "cooling_done"),
    CoolState.MISSED: (Call.STOP, "cooling_missed"),
    CoolState.UNKNOWN: (Call.ACT, "cooling_unknown"),
    CoolState.UNPROVEN: (Call.ACT, "cooling_unproven"),
}


def _too_slow(eta: Eta | None, deadline: datetime | None) -> bool:
    return eta is not None and deadline is not None and eta.p50 > deadline - timedelta(minutes=5)


def _core_cold(plan: Plan, value: float, lot: str | None) -> Verdict:
    cold = limit("fridge")
    closed = shut(plan.gates)
    reason = Reason("fridge", citation("fridge").text(), {"limit_c": cold.c})
    if not cold.kept(value):
        look = plan.at + timedelta(hours=1)
        return Verdict("core_c", value, Call.WAIT, Stage.CHILL, lot, (reason,), look)
    if closed:
        reasons = (reason, *(_gate(g) for g in closed))
        return Verdict("core_c", value, Call.STOP if plan.lost else Call.ACT, Stage.CHILL, lot, reasons)
    return Verdict("core_c", value, Call.GO, Stage.CHILL, lot, (reason,))


def _surface(plan: Plan, reading: Told) -> Verdict:
    touch = str(reading.slots["surface"])
    dry = plan.stage(Stage.DRY)
    source = OURS if touch in ("wet", "damp") else COMMON
    if dry is None or touch in ("tacky", "dry"):
        return Verdict("surface", touch, Call.GO, Stage.DRY, None, (Reason(f"skin_{touch}", COMMON, {}),))
    look = after_touch(reading, dry.end)
    eta = Eta("pellicle", max(dry.earliest, plan.at), max(dry.end, plan.at), max(dry.latest, plan.at))
    reason = Reason(f"skin_{touch}", source, {})
    return Verdict("surface", touch, Call.WAIT, Stage.DRY, None, (reason,), look, eta)


def _chamber(plan: Plan, reading: Told) -> Verdict:
    value = float(reading.slots["chamber_c"])
    start = min((at for (s, _), at in plan.batch.started.items() if s is Stage.SMOKE), default=None)
    chamber = chamber_readings(plan.batch, start)
    if plan.making.cold_smoke:
        cold = cold_smoke_of(plan.batch, plan.at) or cold_smoke(chamber, reading.at, plan.at)
        values = {"used_h": round(cold.used_h, 1), "left_h": round(cold.left_h, 1), "limit_h": cold.limit_h}
        rule = "cold_smoke_too_warm" if cold.too_warm else "cold_smoke_window"
        reason = Reason("cold_smoke_spent" if cold.spent else rule, cold.citation.text(), values)
        return Verdict("chamber_c", value, cold.call, Stage.SMOKE, None, (reason,))
    cores = plan.batch.values("core_c", since=start) if start else []
    coldest = min((float(c.slots["core_c"]) for c in cores[-len(plan.making.lots) :]), default=None)
    hot = hot_chamber(chamber, coldest, plan.at)
    band = {"low_c": limit("chamber.low").c, "high_c": limit("chamber.high").c}
    band |= {"ceiling_c": limit("chamber.ceiling").c}
    etas = tuple(c.hold_end for c in plan.cooks.values() if c.hold_end)
    eta = max(etas, key=lambda e: e.p50) if etas else None
    look = _next_of(plan)
    reasons = (Reason(hot.state, hot.citation.text(), band),)
    return Verdict("chamber_c", value, hot.call, Stage.SMOKE, None, reasons, look, eta)


def _fridge(plan: Plan, reading: Told) -> Verdict:
    value = float(reading.slots["fridge_c"])
    check = cold_rules.fridge(min(max(value, -40.0), 60.0))
    call = Call.GO if check.kept else Call.ACT
    reason = Reason("fridge", check.citation.text(), {"limit_c": check.limit_c})
    return Verdict("fridge_c", value, call, plan.now.stage, None, (reason,))


def _mass(plan: Plan, reading: Told) -> Verdict:
    value = float(reading.slots["mass_g"])
    start = _first_mass(plan, reading)
    values: dict[str, float | str] = {}
    if start is not None:
        values["loss_pct"] = round(100.0 * (1.0 - value / start[0]), 1)
        if start[1] is not None:
            values["since"] = start[1].isoformat()
    dry = plan.stage(Stage.DRY)
    eta = None
    if plan.now.stage is Stage.DRY and dry and dry.begun:
        eta = Eta("pellicle", dry.earliest, dry.end, dry.latest)
    reason = Reason("weighed", COMMON, values)
    return Verdict("mass_g", value, Call.NOTED, plan.now.stage, reading.lot, (reason,), None, eta)


def _first_mass(plan: Plan, reading: Told) -> tuple[float, datetime | None] | None:
    """What it weighed first, and when that was read; no time for the raw fish as it was told."""
    earlier = [m for m in plan.batch.values("mass_g", reading.lot) if m.at < reading.at]
    if earlier:
        return float(earlier[0].slots["mass_g"]), earlier[0].at
    return (plan.making.mass_g, None) if "mass_g" not in plan.making.assumed else None


def _salometer(plan: Plan, reading: Told) -> Verdict:
    value = float(reading.slots["salometer_deg"])
    brine = plan.brine
    weighed = brine.salometer_deg if brine else None
    if brine and brine.sugar_g > 0 and weighed is not None:
        reason = Reason("sugar_on_the_salometer", OURS, {"weighed_deg": round(weighed, 1)})
        return Verdict("salometer_deg", value, Call.NOTED, plan.now.stage, None, (reason,))
    values = {"salt_pct": round(salometer_to_mass_pct(value), 1)}
    if weighed is not None:
        values["weighed_deg"] = round(weighed, 1)
    reason = Reason("salometer", "definition of the scale: 100 degrees are 26.395 % salt at 60 °F", values)
    return Verdict("salometer_deg", value, Call.NOTED, plan.now.stage, None, (reason,))


def _measured_salt(plan: Plan, reading: Told) -> Verdict:
    value = float(reading.slots["wps_pct"])
    needed = float(rule("airless")["wps_pct"])
    key = "wps_enough" if value >= needed else "wps_too_low"
    reason = Reason(key, citation("airless").text(), {"limit_pct": needed})
    return Verdict("wps_pct", value, Call.NOTED, plan.now.stage, None, (reason,))


def _weather(plan: Plan, reading: Told) -> Verdict:
    key = next(k for k in ("air_c", "rh_pct", "wind_m_s") if k in reading.slots)
    value = float(reading.slots[key])
    dry = plan.stage(Stage.DRY)
    eta = Eta("pellicle", dry.earliest, dry.end, dry.latest) if dry and not dry.done else None
    why = plan.lengths.cannot_dry if plan.lengths else None
    if why and dry and not dry.done:
        return Verdict(key, value, Call.ACT, Stage.DRY, None, (Reason(why, OURS, {}),))
    return Verdict(key, value, Call.NOTED, plan.now.stage, None, (Reason("air", COMMON, {}),), None, eta)


def _firmness(plan: Plan, reading: Told) -> Verdict:
    value = str(reading.slots["firmness"])
    return Verdict("firmness", value, Call.NOTED, plan.now.stage, reading.lot, (Reason("felt", COMMON, {}),))


_JUDGES: Mapping[str, Callable[[Plan, Told], Verdict]] = {
    "core_c": _core,
    "surface": _surface,
    "chamber_c": _chamber,
    "fridge_c": _fridge,
    "mass_g": _mass,
    "salometer_deg": _salometer,
    "wps_pct": _measured_salt,
    "air_c": _weather,
    "rh_pct": _weather,
    "wind_m_s": _weather,
    "firmness": _firmness,
}


def cooling_limits() -> tuple[float, float]:
    """The two temperatures of the cooling rule, for words that name them [°C]."""
    rule = cooling_rule()
    return rule.middle.c, rule.end.c
