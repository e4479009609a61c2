"""What is answered to an event: that it is noted, and what comes next and when."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from bot.say.cautions import at_risk
from bot.say.format import Pen, span
from bot.say.notice import notice_words
from bot.say.verdict import lost_words
from bot.say.words import STAGE, lot
from planner.batch import WHOLE
from planner.plan import Plan
from planner.stages import Stage


def event_words(data: Mapping[str, Any], at: datetime, plan: Plan, pen: Pen) -> str:
    """First line that it is noted, then what follows; for a batch that is lost, that it is."""
    text = _noted(data, at, plan, pen)
    return f"{text.splitlines()[0]}\n{lost_words(plan, pen)}" if plan.lost else text


def _noted(data: Mapping[str, Any], at: datetime, plan: Plan, pen: Pen) -> str:
    if "what" in data:
        return _what(data, at, plan, pen)
    stage = Stage(data["stage"])
    if data.get("started"):
        return _started(stage, at, plan, pen)
    return _done(stage, at, plan, pen)


def _what(data: Mapping[str, Any], at: datetime, plan: Plan, pen: Pen) -> str:
    when = pen.clock(at)
    match data["what"]:
        case "rotated":
            return f"Racks turned, {when}."
        case "fuel":
            return f"Fuel topped up, {when}."
        case "water":
            return f"Water topped up, {when}."
        case "fridge":
            return f"In the cold since {when}.{_after_fridge(plan, pen)}"
        case "pulled":
            return _pulled(data.get("lot"), pen.at(at), plan, pen)
    return f"Noted, {when}."


def _after_fridge(plan: Plan, pen: Pen) -> str:
    looks = [c.next_look for c in plan.coolings.values() if c.next_look]
    if looks:
        return f" Read the core {pen.soon(min(looks))}."
    pack = plan.stage(Stage.PACK)
    cooled = plan.coolings and all(c.cooling.done_at for c in plan.coolings.values())
    return f" Packing {pen.clock(pack.start)}." if pack and cooled else ""


def _pulled(name: str | None, when: str, plan: Plan, pen: Pen) -> str:
    text = f"{lot(name, start=True)} out {when}.{_in_moving_air(name, plan, pen)}"
    left = [lot(n).removeprefix("the ") for n in plan.cooks if n not in plan.coolings]
    if left:
        text += f"\nStill in: {', '.join(left)}."
    return text


def _in_moving_air(name: str | None, plan: Plan, pen: Pen) -> str:
    """By when the fish must be how cold, and when to read it; of several lots the first that is due."""
    due = sorted((c.next_look, n) for n, c in plan.coolings.items() if c.next_look)
    cooling = plan.coolings.get(name or WHOLE) or (plan.coolings[due[0][1]] if due else None)
    text = ""
    if cooling and cooling.deadline and cooling.target_c is not None:
        text += f"\nCool in moving air: {pen.limit(cooling.target_c)} by {pen.clock(cooling.deadline)}."
    if cooling and cooling.next_look:
        text += f" Read the core {pen.soon(cooling.next_look)}."
    return text


def _started(stage: Stage, at: datetime, plan: Plan, pen: Pen) -> str:
    row = plan.stage(stage)
    head = f"{_STARTED.get(stage, STAGE[stage] + ' since')} {pen.clock(at)}."
    if row is None:
        return head
    match stage:
        case Stage.SOAK | Stage.SALT:
            salt = f" The fish should be at about {plan.wps.pull_mean:.1f} % salt then." if plan.wps else ""
            return f"{head} Out {pen.clock(row.end)}.{salt}"
        case Stage.DRY:
            return f"{head} Tacky about {pen.clock(row.end)} {pen.spread(row.earliest, row.latest, row.end)}.{_fan(plan)}"
        case Stage.SMOKE if plan.batch.lot_done(Stage.SMOKE):
            return f"Noted, {pen.clock(at)}: but it was out too long to go on where it was. What it cooled stays on its clocks."
        case Stage.SMOKE:
            looks = [c.next_look for c in plan.cooks.values() if c.next_look]
            look = f" First core reading {pen.clock(min(looks))}." if looks else ""
            return f"{head}{look}\nHot long enough about {pen.clock(row.end)} {pen.spread(row.earliest, row.latest, row.end)}."
        case Stage.COOL:
            return f"{head}{_in_moving_air(None, plan, pen)}"
        case Stage.THAW:
            return f"{head} Thawed about {pen.clock(row.end)}."
    return head


def _fan(plan: Plan) -> str:
    found = plan.lengths.pellicle if plan.lengths else None
    if found is None or found.hours is None or found.fan_hours is None:
        return ""
    if plan.making.air.fan:
        return ""
    return f" A fan would make it {span(timedelta(hours=found.fan_hours.mid))} instead of {span(timedelta(hours=found.hours.mid))}."


def _done(stage: Stage, at: datetime, plan: Plan, pen: Pen) -> str:
    when = pen.clock(at)
    dry = plan.stage(Stage.DRY)
    match stage:
        case Stage.SOAK | Stage.SALT:
            medium = "salt" if stage is Stage.SALT else "brine"
            text = f"Out of the {medium} {pen.at(at)}."
            if plan.wps:
                text += f" Salt in its water about {plan.wps.pull_mean:.1f} %, deepest part {plan.wps.pull_core:.1f} %."
            if dry and dry.start - pen.now > timedelta(hours=1):
                return f"{text}\nRinse, pat dry, back in the cold; onto the racks {pen.clock(dry.start)}."
            return f"{text}\nRinse, pat dry, onto the racks, fan on."
        case Stage.RINSE:
            if dry and dry.start - pen.now > timedelta(hours=1):
                return f"Rinsed, {when}. Pat dry, back in the cold; onto the racks {pen.clock(dry.start)}."
            return f"Rinsed, {when}. Pat dry and onto the racks."
        case Stage.DRY:
            return f"Dry enough {pen.at(at)}. Into the smoke, and tell me when it is in."
        case Stage.COOL | Stage.CHILL:
            return f"Noted, {when}. A core or fridge reading is what proves it."
        case Stage.PACK:
            return _packed(pen.at(at), plan, pen)
        case Stage.THAW:
            return f"Thawed {pen.at(at)}. Into the brine while it is cold."
    return f"{STAGE[stage]} done, {when}."


def _packed(when: str, plan: Plan, pen: Pen) -> str:
    keep = plan.stage(Stage.KEEP)
    text = f"Packed {when}."
    if keep:
        text += f" Eat or freeze by {pen.day(keep.end)}, kept at {pen.limit(3.3)} or colder."
    for notice in plan.warnings:
        if notice.lasting:
            text += f"\n{notice_words(notice, pen)}"
    return f"{text}\n{at_risk(pen)}"


_STARTED = {
    Stage.SOAK: "In the brine since",
    Stage.SALT: "In the salt since",
    Stage.DRY: "On the racks since",
    Stage.SMOKE: "In the smoke since",
    Stage.THAW: "Thawing since",
    Stage.REST: "Resting in the cold since",
    Stage.COOL: "Cooling since",
    Stage.CHILL: "In the cold since",
}
