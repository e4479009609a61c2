"""Buttons whose time is over: what they would note has been noted."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bot.replies.on import title
from bot.replies.part import Part, pen_of
from bot.say.answer import next_words
from bot.say.verdict import lost_words
from bot.work import Work
from planner.batch import Batch
from planner.rings import same_call, wanted
from planner.stages import Stage
from scheduler.turn import BatchFile

FROM_ANOTHER_TIME = 'That button is from another time. Ask "what\'s next".'


def old_button(work: Work, means: Mapping[str, Any]) -> Part | None:
    """Kind words for a button that counts no more, with what is next; None for one that does."""
    file = work.files.get(means.get("batch") or 0)
    if file is None or file not in work.running or not (_done(work, file, means) or _over(work, file, means)):
        return None
    pen, plan = pen_of(work), work.plan(file)
    name = f"{title(file)}: " if len(work.running) > 1 else ""
    now = lost_words(plan, pen) if plan.lost else next_words(plan, wanted(plan, work.habits), pen, name)
    return Part(f"That button is an old one; nothing is noted.\n{now}")


def _over(work: Work, file: BatchFile, means: Mapping[str, Any]) -> bool:
    """True for "I've got it" to a call that is neither the newest nor wanted any more.

    What was called for twice and then left is done all the same by whoever says so: any other button stands.
    """
    key = means.get("ring")
    if "on_it" not in means or key is None or key == (work.chat.memory.get("rung") or {}).get("key"):
        return False
    return not any(same_call(key, ring.key) for ring in wanted(work.plan(file), work.habits))


def _done(work: Work, file: BatchFile, means: Mapping[str, Any]) -> bool:
    """True for the start or end of something that was told already: told twice, it would move."""
    slots = means.get("slots", {})
    if means.get("intent") != "event" or slots.get("override") or slots.get("anyway"):
        return False
    batch, lot = work.batch(file), slots.get("lot")
    if means.get("back"):
        return batch.done_at(Stage.SMOKE, lot) is None  # it is in the heat again
    if slots.get("what") == "pulled":
        return batch.done_at(Stage.SMOKE, lot) is not None
    return "stage" in slots and _told(batch, Stage(slots["stage"]), lot, slots)


def _told(batch: Batch, stage: Stage, lot: str | None, slots: Mapping[str, Any]) -> bool:
    at = batch.started_at(stage, lot) if slots.get("started") else batch.done_at(stage, lot)
    return at is not None
