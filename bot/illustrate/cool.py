"""The cooling: cores on their way down, and the steps of the limit."""

from __future__ import annotations

from datetime import datetime

from bot.illustrate.batches import Case
from bot.illustrate.points import band_of, points_of
from bot.pictures.records import BandPoint, CoolLot, CoolPicture, Deadline
from bot.say import shown
from planner.cooks import cooling_course, core_readings
from planner.cooling_rule import Cooling
from planner.plan import LotCooling, Plan
from planner.readings import Reading
from planner.stages import Stage


def cool_picture(case: Case) -> CoolPicture:
    """The cooling of every lot that is out of the smoke, against the clock of the lot that presses most."""
    plan = case.plan
    pressing = _pressing(plan)
    out = [at for (stage, _), at in plan.batch.started.items() if stage is Stage.COOL]
    return CoolPicture(
        habit=case.habit,
        now=_as_of(case),
        title=shown.cool_title(case.name),
        started_at=(pressing.start if pressing and pressing.start else min(out, default=case.now)),
        lots=tuple(_lot(plan, cooling) for cooling in plan.coolings.values()),
        deadlines=_deadlines(plan, pressing) if pressing else (),
    )


def _pressing(plan: Plan) -> Cooling | None:
    """The cooling whose clock runs out first of those that are not done; else the last one."""
    running = [c.cooling for c in plan.coolings.values() if c.cooling.start]
    still = [c for c in running if c.done_at is None] or running[-1:]
    return min(still, key=_start) if still else None


def _as_of(case: Case) -> datetime:
    """Now, or the moment at which the last lot was shown to be cold."""
    cold = [c.cooling.done_at for c in case.plan.coolings.values()]
    known = [at for at in cold if at is not None]
    return max(known) if known and len(known) == len(cold) else case.now


def _start(cooling: Cooling) -> datetime:
    assert cooling.start is not None  # chosen by it
    return cooling.start


def _lot(plan: Plan, lot: LotCooling) -> CoolLot:
    read = _read(plan, lot)
    return CoolLot(shown.lot_name(lot.lot), points_of(read), _ahead(plan, lot, read))


def _read(plan: Plan, lot: LotCooling) -> list[Reading]:
    """From the last hot reading to the first cold one: what comes later is keeping."""
    start, end = lot.cooling.start, lot.cooling.done_at
    if start is None:
        start = plan.batch.started_at(Stage.COOL, lot.lot)
    return [r for r in core_readings(plan.batch, lot.lot, start) if end is None or r.at <= end]


def _ahead(plan: Plan, lot: LotCooling, read: list[Reading]) -> tuple[BandPoint, ...]:
    if lot.target_c is None or lot.cooling.done_at is not None:
        return ()
    return band_of(cooling_course(plan.making, lot.lot, read, lot.target_c))


def _deadlines(plan: Plan, cooling: Cooling) -> tuple[Deadline, ...]:
    """Both steps; a step is met by the first reading at or under it in time."""
    lot = next(c for c in plan.coolings.values() if c.cooling is cooling)
    read = _read(plan, lot)
    steps = ((cooling.rule.middle, cooling.first_leg_by), (cooling.rule.end, cooling.cold_by))
    return tuple(
        Deadline(by, limit.c, next((r.at for r in read if limit.kept(r.value_c)), None))
        for limit, by in steps
        if by is not None
    )
