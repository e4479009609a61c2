"""How long it takes: the stage that was asked about, else the one that runs."""

from __future__ import annotations

from bot import facts
from bot.replies.describe import plan_part
from bot.replies.part import Part, pen_of
from bot.say.how_long import how_long_words
from bot.understanding.stage_named import stage_named
from bot.work import Work
from planner.plan import Plan, StagePlan
from planner.stages import Stage
from scheduler.turn import BatchFile


def how_long(work: Work, file: BatchFile, text: str) -> Part:
    """Answer from the plan; the whole plan where it is over the stage that was asked about."""
    pen, plan = pen_of(work), work.plan(file)
    rows = _asked(plan, text)
    if not rows or plan.lost:
        return plan_part(work, file)
    start, end = facts.stamp(rows[0].start, pen), facts.stamp(rows[-1].end, pen)
    answer = facts.answer("how_long", {"stage": str(rows[-1].stage), "start": start, "end": end})
    buttons = (("Why?", {"say": "why"}), ("Show it", {"say": "show the plan"}))
    return Part(how_long_words(rows, plan, pen), (answer, facts.plan(plan, file.number, pen)), buttons)


def _asked(plan: Plan, text: str) -> list[StagePlan]:
    named = stage_named(text)
    stage = Stage(named) if named else plan.now.stage
    if stage in (Stage.SOAK, Stage.SALT) and not plan.rows(stage):
        stage = Stage.SALT if stage is Stage.SOAK else Stage.SOAK
    return [row for row in plan.rows(stage) if not row.done]
