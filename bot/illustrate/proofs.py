"""Which entries opened a gate."""

from __future__ import annotations

from datetime import datetime
from itertools import takewhile

from planner.batch import WHOLE, Told
from planner.plan import Gate, LotCook, Plan
from planner.stages import Stage


def proofs(gate: Gate, plan: Plan) -> tuple[int, ...]:
    """Numbers of the readings that the open gate rests on, in order; none for one that is shut."""
    if not gate.open:
        return ()
    name = gate.lot or WHOLE
    match gate.name:
        case "hot" if name in plan.cooks:
            found = _hold(plan, plan.cooks[name])
        case "cooled" if name in plan.coolings:
            cooling = plan.coolings[name].cooling
            read = plan.batch.values("core_c", name, cooling.start)
            found = [r for r in read if cooling.done_at is None or r.at <= cooling.done_at]
        case "exposure":
            found = [r for key in ("fridge_c", "air_c") for r in plan.batch.values(key) if r.at <= _smoked(plan)]
        case "cold":
            found = _since_cooling(plan, "fridge_c", "core_c")[-1:]
        case "airless":
            found = [*plan.batch.values("wps_pct")[-1:], *_since_cooling(plan, "fridge_c")]
        case _:
            found = []
    return tuple(sorted(r.entry for r in found))


def _smoked(plan: Plan) -> datetime:
    """When the raw stages ended, or now."""
    return min((at for (stage, _), at in plan.batch.started.items() if stage is Stage.SMOKE), default=plan.at)


def _hold(plan: Plan, cook: LotCook) -> list[Told]:
    """The readings of the run that met the mark."""
    hold = cook.aim_hold
    if hold.met_at is None:
        return []
    start = plan.batch.started_at(Stage.SMOKE, cook.lot)
    until = [r for r in plan.batch.values("core_c", cook.lot, start) if r.at <= hold.met_at]
    return list(takewhile(lambda r: hold.mark.reached(float(r.slots["core_c"])), reversed(until)))


def _since_cooling(plan: Plan, *keys: str) -> list[Told]:
    since = min((at for (stage, _), at in plan.batch.started.items() if stage is Stage.COOL), default=None)
    found = [r for key in keys for r in plan.batch.values(key, since=since) if r.at <= plan.at]
    return sorted(found, key=lambda r: (r.at, r.entry))
