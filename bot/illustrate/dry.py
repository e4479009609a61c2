"""The drying: weight as read and as expected, touch, air, and the warm clock."""

from __future__ import annotations

from datetime import timedelta

from bot.illustrate.batches import Case
from bot.pictures.records import BandPoint, Clock, DryPicture, Point, Touch
from bot.say import shown
from planner.plan import Plan, StagePlan
from planner.stages import Stage
from planner.verdict import Eta

#: A weighing this close to the racks is the one that the drying starts from.
_AROUND = timedelta(minutes=30)


def dry_picture(case: Case) -> DryPicture:
    """The drying as it goes, or as it is planned."""
    plan = case.plan
    row = plan.stage(Stage.DRY)
    assert row is not None  # every plan dries
    until = min((at for (stage, _), at in plan.batch.started.items() if stage is Stage.SMOKE), default=None)
    weighed = _weighed(plan, row)
    felt = [t for t in plan.batch.values("surface", since=row.start) if until is None or t.at <= until]
    return DryPicture(
        habit=case.habit,
        now=min(case.now, row.end) if row.done else case.now,
        title=shown.dry_title(case.name),
        started_at=row.start,
        mass_g=weighed,
        forecast_g=() if row.done else _ahead(plan, row, weighed),
        touches=tuple(Touch(t.at, str(t.slots["surface"])) for t in felt),
        pellicle=None if row.done else Eta("pellicle", row.earliest, row.end, row.latest),
        air_c=None if "air_c" in plan.assumed else plan.making.air.air_c,
        rh_pct=None if "rh_pct" in plan.assumed else plan.making.air.rh_pct,
        clocks=_clocks(case, row),
    )


def _weighed(plan: Plan, row: StagePlan) -> tuple[Point, ...]:
    """As weighed, from the told weight on where nobody weighed at the start."""
    if not row.begun:
        return ()
    read = plan.batch.values("mass_g", since=row.start - _AROUND)
    end = row.end if row.done else plan.at
    points = [Point(r.at, float(r.slots["mass_g"])) for r in read if r.lot is None and r.at <= end]
    told = _told_g(plan)
    if told is not None and not any(p.at <= row.start + _AROUND for p in points):
        points.insert(0, Point(row.start, told))
    return tuple(points)


def _told_g(plan: Plan) -> float | None:
    return None if "mass_g" in plan.making.assumed else plan.making.mass_g


def _ahead(plan: Plan, row: StagePlan, weighed: tuple[Point, ...]) -> tuple[BandPoint, ...]:
    """From the weight at hand straight to the one at the pellicle: a wet surface dries at a steady pace."""
    if plan.lengths is None:
        return ()
    start_g = weighed[0].value if weighed else _told_g(plan)
    if start_g is None or row.end <= plan.at:
        return ()
    loss = plan.lengths.pellicle.loss_pct
    last = weighed[-1] if weighed else Point(row.start, start_g)
    low, mid, high = (min(start_g * (1 - pct / 100), last.value) for pct in (loss.high, loss.mid, loss.low))
    if mid >= last.value:
        return ()  # lighter than expected at the pellicle already: from here on the touch tells more than the scale
    return (BandPoint(last.at, last.value, last.value, last.value), BandPoint(row.end, low, mid, high))


def _clocks(case: Case, row: StagePlan) -> tuple[Clock, ...]:
    """The warm clock as it stands, and when it is spent where the fish stays out."""
    clock = case.plan.exposure
    if clock is None:
        return ()
    running = row.begun and not row.done
    spent_at = case.now + timedelta(hours=clock.left_h) if running and not clock.spent else None
    return (Clock(shown.warm_clock(clock), clock.used_h, clock.limit_h, spent_at),)
