"""A plan in words: the call first, then what to weigh, the stages on the clock, what was assumed."""

from __future__ import annotations

from datetime import timedelta

from bot.say.cautions import LOCAL_RULES, at_risk
from bot.say.format import Pen, join, percent, span
from bot.say.notice import notice_words
from bot.say.rig import learned_lines
from bot.say.verdict import lost_words
from bot.say.words import SLOT, STAGE, fish, lot
from planner.making import Making
from planner.plan import BrinePlan, Plan, StagePlan
from planner.stages import Stage

#: Notices that a short answer carries; the others are told on "why?".
_LOUD = 3


def plan_words(plan: Plan, pen: Pen, *, first: bool, before: Plan | None = None) -> str:
    """The plan as an answer; the cautions stand under the first one, and of ``before`` only what differs is said."""
    if plan.lost:
        return "\n".join([lost_words(plan, pen), *(["", LOCAL_RULES, at_risk(pen)] if first else [])])
    known = _blocks(before, pen) if before is not None and not before.lost else [[], [], []]
    sums, stages, assumed = (new if new != old else [] for new, old in zip(_blocks(plan, pen), known, strict=True))
    sums = [line for line in sums if line not in known[0]]
    lines = [headline(plan, pen), *sums]
    for block in (stages, assumed, [LOCAL_RULES, at_risk(pen)] if first else []):
        lines += ["", *block] if block else []
    return "\n".join(lines if len(lines) > 1 else [f"Noted. {lines[0]}", "The plan stays as it was."])


def _blocks(plan: Plan, pen: Pen) -> list[list[str]]:
    """What to weigh and what it comes to, the stages, what was assumed."""
    sums = [brine_line(plan.brine, pen)] if plan.brine and not _salted(plan) else []
    if plan.wps and not plan.batch.packed:
        sums.append(salt_line(plan))
    sums += [notice_words(notice, pen) for notice in plan.warnings[:_LOUD]]
    sums += learned_lines(plan, pen)
    assumed = assumed_line(plan, pen)
    return [sums, stage_lines(plan, pen), [assumed] if assumed else []]


def headline(plan: Plan, pen: Pen) -> str:
    """When it comes out of the salt, and when it is ready."""
    salt = plan.stage(Stage.SOAK) or plan.stage(Stage.SALT)
    when = f"ready to pack {pen.clock(plan.ready)}" if plan.ready else ""
    if salt is None or salt.done or plan.ready is None:
        return f"{when[:1].upper()}{when[1:]}." if when else "Here is the plan."
    medium = "salt" if salt.stage is Stage.SALT else "brine"
    if salt.begun:
        return f"Out of the {medium} {pen.clock(salt.end)}; {when}."
    if salt.start - pen.now < timedelta(minutes=20):
        return f"Into the {medium} now, out {pen.clock(salt.end)}; {when}."
    return f"Into the {medium} {pen.clock(salt.start)}, out {pen.clock(salt.end)}; {when}."


def brine_line(brine: BrinePlan, pen: Pen) -> str:
    """What to weigh for the brine, and how strong that is."""
    parts = [f"{pen.weigh(brine.salt_g)} salt"]
    if brine.sugar_g >= 1:
        parts.append(f"{pen.weigh(brine.sugar_g)} sugar")
    if brine.salt_pct is None or brine.salometer_deg is None:
        share = brine.salt_per_fish_pct or 0.0
        return f"Weigh {join(parts)} and rub it in: {percent(share)} of the fish."
    parts.append(f"{pen.volume(brine.water_ml)} water")
    strength = f"{percent(brine.salt_pct)}, {brine.salometer_deg:.0f}° salometer"
    return f"Weigh {join(parts)}: {strength}."


def salt_line(plan: Plan) -> str:
    """Salt in the water of the fish when it is packed, with its spread."""
    s = plan.wps
    if s is None:
        return ""
    return (
        f"Salt in the fish's water at packing: about {percent(s.mean)} ({s.low:.1f}–{s.high:.1f}), "
        f"deepest part {percent(s.core)}."
    )


def stage_lines(plan: Plan, pen: Pen) -> list[str]:
    """One line a stage, from the one that runs on; ranges where they matter."""
    lines = []
    for row in plan.stages:
        if row.done or row.stage in (Stage.RINSE, Stage.KEEP):
            continue
        lines.append(_stage_line(row, pen))
    keep = plan.stage(Stage.KEEP)
    if keep:
        lines.append(f"Keeps, cold: until {pen.day(keep.end)}")
    return lines


def _stage_line(row: StagePlan, pen: Pen) -> str:
    name = STAGE[row.stage] + (f" {lot(row.lot).removeprefix('the ')}" if row.lot else "")
    line = f"{name}: {pen.day_time(row.start)} → {_end(row, pen)}"
    half = (row.latest - row.earliest) / 2
    if half >= timedelta(minutes=10) and row.stage is not Stage.PACK:
        line += f" (±{span(_round(half))})"
    return line


def _end(row: StagePlan, pen: Pen) -> str:
    same = pen.day_time(row.start).split()[0] == pen.day_time(row.end).split()[0]
    return pen.time(row.end) if same else pen.day_time(row.end)


def _round(length: timedelta) -> timedelta:
    minutes = length / timedelta(minutes=1)
    step = 5 if minutes < 60 else 15 if minutes < 240 else 30
    return timedelta(minutes=max(step, round(minutes / step) * step))


def assumed_line(plan: Plan, pen: Pen) -> str:
    """What the tool put in itself, in one line."""
    words = [text for slot in plan.assumed if (text := _assumed(slot, plan.making, pen))]
    return f"I took: {', '.join(words)}. Tell me what differs." if words else ""


def _assumed(slot: str, making: Making, pen: Pen) -> str:  # noqa: PLR0912 - one line a slot
    match slot:
        case "thickness_mm":
            return f"{pen.length(making.thickest.thickness_mm)} thick"
        case "mass_g":
            return pen.mass(making.mass_g)
        case "skin":
            return "skin on" if making.thickest.open_faces == 1 else "no skin"
        case "fridge_c":
            return f"fridge at {pen.temp(making.fridge_c)}"
        case "air_c":
            return f"air {pen.temp(making.air.air_c)}"
        case "rh_pct":
            return f"{making.air.rh_pct:.0f} % humidity"
        case "fan":
            return "a fan"
        case "chamber_c":
            return f"chamber {pen.temp(making.chamber_c)}"
        case "salt_kind":
            return "table salt"
        case "taste":
            return "medium salty"
        case "form":
            return making.form
        case "species":
            return "a fish I don't know"
        case "water_ml":
            return ""
    return SLOT.get(slot, "")


def name_of(plan: Plan) -> str:
    """What the batch is called in a line of its own."""
    return fish(plan.batch.told.get("species"))


def _salted(plan: Plan) -> bool:
    row = plan.stage(Stage.SOAK) or plan.stage(Stage.SALT)
    return row is not None and row.done
