"""When to look next at a skin that is drying."""

from __future__ import annotations

from datetime import datetime, timedelta

from planner.batch import Told
from planner.plan import Plan, StagePlan

#: Share of the time still expected after which a skin of this touch is felt again: *ours*.
_SHARE = {"wet": 0.6, "damp": 0.4}
_SOONEST = timedelta(minutes=15)


def surface_look(plan: Plan, dry: StagePlan) -> datetime:
    """When to touch next: first when it may be ready, then in shares of what is left."""
    touches = plan.batch.values("surface", since=dry.start)
    return dry.earliest if not touches else after_touch(touches[-1], dry.end)


def after_touch(touch: Told, expected: datetime) -> datetime:
    """When to touch again after a touch, given when the pellicle is expected."""
    left = max(expected - touch.at, timedelta(0))
    return touch.at + max(_SOONEST, left * _SHARE.get(str(touch.slots["surface"]), 0.5))
