"""Which of several running batches a reading or an event is about."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bot import facts
from bot.replies.part import Part
from bot.say.format import join
from bot.work import Work
from planner.plan import Plan
from planner.stages import Stage
from scheduler.turn import BatchFile

Slots = Mapping[str, Any]

_RAW = (Stage.THAW, Stage.SOAK, Stage.SALT)
_ON_RACKS = (Stage.RINSE, Stage.REST, Stage.DRY)
_HOT = (Stage.SMOKE, Stage.COOL, Stage.CHILL, Stage.PACK)


def batch_meant(work: Work, intent: str, slots: Slots) -> BatchFile | Part | None:
    """The batch that the words fit, a question where they fit several, None where nothing tells.

    What was just rung decides before anything else: people answer the reminder.
    """
    if len(work.running) < 2 or intent not in ("reading", "event"):
        return None
    fits = [file for file in work.running if _fits(work.plan(file), slots)]
    if len(fits) < 2:
        return fits[0] if fits else None
    rung = work.chat.memory.get("rung") or {}
    called = next((file for file in fits if file.number == rung.get("batch")), None)
    return called or _ask(fits, intent, slots)


def _fits(plan: Plan, slots: Slots) -> bool:
    """True if the batch is at a stage that these words can be about."""
    stage = plan.now.stage
    if "core_c" in slots or "chamber_c" in slots or slots.get("what") in ("pulled", "fuel", "water"):
        return stage in _HOT or (stage is Stage.DRY and "chamber_c" in slots)
    if "surface" in slots or "rh_pct" in slots:
        return stage in _ON_RACKS
    if "salometer_deg" in slots:
        return stage in _RAW
    told = slots.get("stage")
    if told is None:
        return True
    order = list(Stage)
    here, there = order.index(stage), order.index(Stage(told))
    return there == here or (bool(slots.get("started")) and 0 < there - here <= 3)


def _ask(fits: list[BatchFile], intent: str, slots: Slots) -> Part:
    buttons = tuple(
        (file.name[:1].upper() + file.name[1:], {"intent": intent, "slots": dict(slots), "batch": file.number})
        for file in fits[-4:]
    )
    names = join([file.name for file in fits[-4:]]).replace(" and ", " or ")
    return Part(f"Which batch: {names}?", (facts.question("batch"),), buttons)
