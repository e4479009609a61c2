"""The gates before packing: each is opened by recorded facts alone.

Silence, a button and a claim open nothing; what is missing counts as not met. A person may pack all
the same: that is recorded elsewhere and never opens a gate.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from planner.airless import AirlessGate, airless_gate
from planner.batch import Batch
from planner.chamber_rule import ColdSmoke, cold_smoke
from planner.cooks import chamber_readings, core_readings
from planner.cooling_rule import CoolState, cooling_rule
from planner.exposure import Exposure
from planner.limits import citation, limit
from planner.making import Making
from planner.parasites import freezing_proven, parasite_need
from planner.plan import Gate, LotCook, LotCooling
from planner.readings import Reading
from planner.stages import Stage


def gates_before_pack(
    batch: Batch,
    making: Making,
    cooks: Mapping[str, LotCook],
    coolings: Mapping[str, LotCooling],
    exposure: Exposure,
    now: datetime,
) -> tuple[Gate, ...]:
    """All gates that stand before packing, open or shut, in the order of work."""
    gates = [_warm(exposure)]
    for lot in making.lots:
        if not making.cold_smoke:
            gates.append(_hot(cooks.get(lot.name), lot.name))
            gates.append(_cooled(coolings.get(lot.name), lot.name))
    if making.cold_smoke:
        gates.append(_window(batch, now))
        if making.species.parasites:
            gates.append(_frozen(batch, making, now))
    gates.append(_cold(batch, now))
    if making.pack == "airless":
        gates.append(_airless(batch, now))
    return tuple(gates)


def _warm(exposure: Exposure) -> Gate:
    return Gate(
        "exposure",
        not exposure.spent,
        "spent" if exposure.spent else None,
        exposure.citation.text(),
        values={"used_h": round(exposure.used_h, 2), "limit_h": exposure.limit_h},
    )


def _hot(cook: LotCook | None, lot: str) -> Gate:
    """Decision 1: the aim held; between floor and aim the gate stays shut unless the person works to it."""
    if cook is None:
        return Gate("hot", False, "not_smoked", citation("floor").text(), lot)
    hold = cook.aim_hold
    if hold.met:
        return Gate("hot", True, None, hold.mark.citation.text(), lot)
    missing = "aim_not_held" if cook.floor_hold.met else "floor_not_held"
    values = {"core_c": hold.mark.core_c, "held_min": round(hold.best_min, 1)}
    return Gate("hot", False, missing, hold.mark.citation.text(), lot, values)


def _cooled(cooling: LotCooling | None, lot: str) -> Gate:
    if cooling is None:
        return Gate("cooled", False, "not_cooled", cooling_rule().citation.text(), lot)
    state = cooling.cooling.state
    met = state is CoolState.DONE
    rule = cooling.cooling.rule
    values: dict[str, float | str] = {"middle_c": rule.middle.c, "end_c": rule.end.c}
    if cooling.target_c is not None:
        values["target_c"] = cooling.target_c
    if cooling.deadline is not None:
        values["by"] = cooling.deadline.isoformat()
    missing = None if met else f"cooling_{state}"
    return Gate("cooled", met, missing, cooling.cooling.citation.text(), lot, values)


def cold_smoke_of(batch: Batch, now: datetime) -> ColdSmoke | None:
    """The window of a cold smoke as it stands; None before the fish was in the smoke.

    Drying counts in the window (AFDO smoked fish practices) unless its air was read cold all along.
    """
    starts = [at for (stage, _), at in batch.started.items() if stage is Stage.SMOKE]
    if not starts:
        return None
    start = min(starts)
    dry = batch.started_at(Stage.DRY)
    if dry is not None and dry < start:
        air = [float(r.slots["air_c"]) for r in batch.values("air_c", since=dry) if r.at <= start]
        start = start if air and all(limit("dry_before_cold_smoke").kept(c) for c in air) else dry
    end = min(now, batch.last_done(Stage.SMOKE) or now)
    return cold_smoke([r for r in chamber_readings(batch, min(starts)) if r.at <= end], start, end)


def _window(batch: Batch, now: datetime) -> Gate:
    """Decision 17: at most 32.2 °C for at most 20 h, or at most 10 °C for at most 24 h."""
    source = citation("cold_smoke.mild").text()
    smoke = cold_smoke_of(batch, now)
    if smoke is None:
        return Gate("window", False, "not_cold_smoked", source)
    values = {"used_h": round(smoke.used_h, 1), "limit_h": smoke.limit_h, "left_h": round(smoke.left_h, 1)}
    missing = None
    if smoke.spent:
        missing = "cold_smoke_spent"
    elif smoke.too_warm:
        missing = "cold_smoke_too_warm"
    elif not smoke.read:
        missing = "chamber_not_read"
    return Gate("window", missing is None, missing, smoke.citation.text(), values=values)


def _frozen(batch: Batch, making: Making, now: datetime) -> Gate:
    """Decision 17: fish that may carry parasites was frozen by the rule before a cold smoke."""
    read = [r for r in core_readings(batch, None, None) if r.value_c < 0.0]
    proven = freezing_proven([*read, *fridge_readings(batch, None)], making.thickest.thickness_mm, now)
    where = parasite_need("cold", may_carry=True).citation
    return Gate("parasites", proven is not None, None if proven else "parasites_not_frozen", where.text())


def _cold(batch: Batch, now: datetime) -> Gate:
    """Storage at 3.3 °C: the newest reading of core or fridge since the fish cooled says so."""
    rule = limit("fridge")
    since = min((at for (s, _), at in batch.started.items() if s is Stage.COOL), default=None)
    fridge = fridge_readings(batch, since) if since else []
    core = core_readings(batch, None, since) if since else []
    read = [r for r in sorted([*fridge, *core]) if r.at <= now]
    source = citation("fridge").text()
    if not read:
        return Gate("cold", False, "cold_not_read", source)
    newest = read[-1]
    met = rule.kept(newest.value_c)
    values = {"read_c": newest.value_c, "limit_c": rule.c}
    return Gate("cold", met, None if met else "too_warm", source, values=values)


def airless_gate_of(batch: Batch, at: datetime) -> AirlessGate:
    """Decision 8 as it stood ``at`` a moment: a measured salt and a cold fridge, never an estimate."""
    measured = [r for r in batch.values("wps_pct") if r.at <= at]
    since = min((s_at for (s, _), s_at in batch.started.items() if s is Stage.COOL), default=None)
    wps = float(measured[-1].slots["wps_pct"]) if measured else None
    return airless_gate(wps, fridge_readings(batch, since) if since else [], at)


def _airless(batch: Batch, now: datetime) -> Gate:
    gate = airless_gate_of(batch, now)
    return Gate("airless", gate.open, gate.missing[0] if gate.missing else None, gate.citation.text())


def fridge_readings(batch: Batch, since: datetime | None) -> list[Reading]:
    """Fridge readings as the rules take them."""
    return [Reading(r.at, float(r.slots["fridge_c"])) for r in batch.values("fridge_c", since=since)]


def shut(gates: Sequence[Gate]) -> list[Gate]:
    """The gates that are not open."""
    return [gate for gate in gates if not gate.open]
