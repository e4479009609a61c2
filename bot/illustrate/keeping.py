"""When the batch was made, and until when it keeps, for label, card and record."""

from __future__ import annotations

from datetime import datetime

from bot.illustrate.batches import Case
from planner.keeping import Keep
from planner.planning import keep_of
from planner.stages import Stage


def made_at(case: Case) -> datetime:
    """The end of the smoke, as told or as planned."""
    return case.plan.batch.last_done(Stage.SMOKE) or max(row.end for row in case.plan.rows(Stage.SMOKE))


def kept(case: Case) -> Keep:
    """The date for what was, or will be, packed, and what set it."""
    plan = case.plan
    stages = tuple(row for row in plan.stages if row.stage is not Stage.KEEP)
    return keep_of(stages, plan.batch, plan.making, case.now)
