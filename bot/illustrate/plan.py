"""The plan as a timeline."""

from __future__ import annotations

from collections.abc import Iterator

from bot.illustrate.batches import Case
from bot.pictures.records import PlanLimit, PlannedStage, PlanPicture
from bot.say import shown
from planner.batch import WHOLE
from planner.plan import Plan
from planner.stages import Stage


def plan_picture(case: Case) -> PlanPicture:
    """Every stage of the plan; what is over stands as it was."""
    plan = case.plan
    names = {lot.name: shown.lot_name(lot.name) for lot in plan.making.lots}
    return PlanPicture(
        habit=case.habit,
        now=case.now,
        title=shown.plan_title(case.name),
        stages=tuple(
            PlannedStage(row.stage, row.start, row.end, row.earliest, row.latest, names.get(row.lot or WHOLE))
            for row in plan.stages
        ),
        lots=tuple(names.values()) if len(names) > 1 else (),
        limits=tuple(_limits(case, plan)),
    )


def _limits(case: Case, plan: Plan) -> Iterator[PlanLimit]:
    """The limits that run, each by its moment."""
    clock = plan.exposure
    if clock and clock.spent_at and clock.spent_at > case.now:
        before = [row.stage for row in plan.stages if row.start <= clock.spent_at]
        yield PlanLimit(before[-1] if before else Stage.DRY, clock.spent_at, shown.warm_clock_spent(clock.limit_h))
    for name, cooling in plan.coolings.items():
        if cooling.deadline and cooling.target_c is not None:
            says = shown.due_cold(cooling.target_c, None if name == WHOLE else name, case.pen)
            yield PlanLimit(Stage.COOL, cooling.deadline, says)
    for name, cook in plan.cooks.items():
        counting = cook.aim_hold if cook.aim_hold.since else cook.floor_hold
        if not cook.aim_hold.met and counting.next_reading_by and counting.next_reading_by > case.now:
            says = shown.read_again(None if name == WHOLE else name)
            yield PlanLimit(Stage.SMOKE, counting.next_reading_by, says)
