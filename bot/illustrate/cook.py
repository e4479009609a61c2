"""The smoke: every lot's core as read and as expected, the chamber, the holds."""

from __future__ import annotations

from datetime import timedelta

from bot.illustrate.batches import Case
from bot.illustrate.points import band_of, points_of
from bot.pictures.records import BandPoint, CookLot, CookPicture
from bot.say import shown
from planner.cooks import chamber_readings, core_readings
from planner.hold import marks
from planner.plan import LotCook
from planner.stages import Stage

#: The forecast is drawn this far past the end of the hold, and no further than that where it has no end.
_PAST_HOLD = timedelta(minutes=20)
_FURTHEST = timedelta(hours=3)


def cook_picture(case: Case) -> CookPicture:
    """The smoke of all lots that are, or were, in it."""
    plan = case.plan
    floor, aim = marks(plan.making.work_to_c)
    begun = [at for (stage, _), at in plan.batch.started.items() if stage is Stage.SMOKE]
    out = plan.batch.last_done(Stage.SMOKE)
    chamber = chamber_readings(plan.batch, min(begun, default=None))
    return CookPicture(
        habit=case.habit,
        now=case.now if out is None else out,
        title=shown.cook_title(case.name),
        lots=tuple(_lot(case, cook) for cook in plan.cooks.values()),
        floor_c=floor.core_c,
        aim_c=aim.core_c,
        hold_min=aim.hold_min,
        chamber_c=points_of(r for r in chamber if out is None or r.at <= out),
    )


def _lot(case: Case, cook: LotCook) -> CookLot:
    batch = case.plan.batch
    out = batch.done_at(Stage.SMOKE, cook.lot)
    read = core_readings(batch, cook.lot, batch.started_at(Stage.SMOKE, cook.lot))
    over = out is not None or cook.aim_hold.met
    return CookLot(
        name=shown.lot_name(cook.lot),
        core_c=points_of(r for r in read if out is None or r.at <= out),
        forecast_c=() if over else _ahead(cook),
        floor_held_min=cook.floor_hold.best_min,
        aim_held_min=cook.aim_hold.best_min,
        floor=None if over else cook.floor,
        done=None if over else cook.hold_end,
    )


def _ahead(cook: LotCook) -> tuple[BandPoint, ...]:
    if not cook.course:
        return ()
    start = cook.course[0].at
    until = min(cook.hold_end.p50 + _PAST_HOLD, start + _FURTHEST) if cook.hold_end else start + _FURTHEST
    return band_of(a for a in cook.course if a.at <= until)
