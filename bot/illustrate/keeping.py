"""What came out, when it was made and until when it keeps, for label, card and record."""

from __future__ import annotations

from datetime import date, datetime

from bot.illustrate.batches import Case
from planner.gates import shut
from planner.keeping import Keep
from planner.plan import Plan
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


#: Gates that have their own say in the date; without any other on record none is given.
_IN_THE_DATE = frozenset({"cold", "airless"})


def last_day(case: Case) -> date | None:
    """The chat's own date to eat or freeze it by; None where no date may be given."""
    until = kept(case).until
    if until is None or any(g.name not in _IN_THE_DATE for g in shut(case.plan.gates)):
        return None
    return case.day(until)


def finished_g(plan: Plan) -> float | None:
    """The weight after the smoke [g], where somebody weighed it."""
    out = plan.batch.last_done(Stage.SMOKE)
    weighed = plan.batch.values("mass_g", since=out) if out else []
    whole = [r for r in weighed if r.lot is None]
    return float(whole[-1].slots["mass_g"]) if whole else None
