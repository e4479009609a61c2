"""The salt: across the piece now and at the pull, and over the soak."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

import numpy as np

from bot.illustrate.batches import Case
from bot.pictures.records import BandPoint, Point, SaltAt, SaltMark, SoakPicture
from bot.say import shown
from planner.plan import Plan, StagePlan
from planner.recipe import Salting
from planner.stages import Stage

_DEPTHS = 33
_MOMENTS = 17
_LONGEST_H = 239.0


def soak_picture(case: Case) -> SoakPicture:
    """The salt of the thickest piece; without profiles where no brine is known."""
    plan = case.plan
    row, salt = salted_row(plan), plan.salt
    if row is None or salt is None or (salt.brine is None and salt.rub is None):
        return SoakPicture(case.habit, case.now, shown.soak_title(case.name), ("", ""), (), (), None)
    faces = shown.FACES_SKIN if plan.making.thickest.open_faces == 1 else shown.FACES_BARE
    target = salt.target_pull_pct
    return SoakPicture(
        habit=case.habit,
        now=min(case.now, row.end) if row.done else case.now,
        title=shown.soak_title(case.name),
        faces=faces,
        now_profile=_profile(salt, plan, _hours(row, min(case.now, row.end)) if row.begun else 0.0),
        pull_profile=() if row.done else _profile(salt, plan, _hours(row, row.end)),
        pull_at=row.end,
        mean_pct=tuple(_means(salt, row)),
        core_pct=tuple(_middles(salt, plan, row)),
        mark=SaltMark(target, shown.wanted_salt(plan.making.taste_wps)),
    )


def salted_row(plan: Plan) -> StagePlan | None:
    """The stage in which the fish takes up salt."""
    return plan.stage(Stage.SOAK) or plan.stage(Stage.SALT)


def _hours(row: StagePlan, at: datetime) -> float:
    return min(max((at - row.start) / timedelta(hours=1), 0.0), _LONGEST_H)


def _profile(salt: Salting, plan: Plan, hours: float) -> tuple[SaltAt, ...]:
    """Salt from the first face to the other: one sealed by skin takes none up, two bare ones take it alike."""
    piece = plan.making.thickest
    depths = np.linspace(0.0, 1.0, _DEPTHS)
    places = depths if piece.open_faces == 1 else np.abs(2.0 * depths - 1.0)
    along = salt.after(hours).along(places) if hours else np.zeros(_DEPTHS)
    found = zip(depths * piece.thickness_mm, along, strict=True)
    return tuple(SaltAt(float(depth), float(pct)) for depth, pct in found)


def _moments(row: StagePlan) -> Iterator[tuple[datetime, float]]:
    """From the start, when there is no salt yet, to the pull."""
    for n in range(1, _MOMENTS):
        at = row.start + (row.end - row.start) * n / (_MOMENTS - 1)
        yield at, _hours(row, at)


def _means(salt: Salting, row: StagePlan) -> Iterator[BandPoint]:
    yield BandPoint(row.start, 0.0, 0.0, 0.0)
    for at, hours in _moments(row):
        mean = salt.after(hours).mean
        yield BandPoint(at, mean.low, mean.mid, mean.high)


def _middles(salt: Salting, plan: Plan, row: StagePlan) -> Iterator[Point]:
    yield Point(row.start, 0.0)
    for at, hours in _moments(row):
        yield Point(at, _profile(salt, plan, hours)[_DEPTHS // 2].wps_pct)
