"""What would be if: a longer soak, another start. The same sums as the plan, on one thing changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from planner import cold_rules
from planner.batch import Batch, read_batch
from planner.cold_rules import ColdCheck
from planner.entries import Entry, Kind
from planner.habits import Habits
from planner.hold import marks
from planner.lengths import lengths
from planner.levers import Outlook, Soaking, outlook
from planner.making import Making
from planner.plan import Plan, SaltInFish
from planner.planning import plan_batch
from planner.recipe import salting
from planner.rig.experience import NOTHING, Experience
from planner.stages import Stage


@dataclass(frozen=True)
class LongerSoak:
    """A soak that ends at another time: salt as planned and as it would be, and whether the cold allows it."""

    until: datetime
    hours: float
    planned: SaltInFish
    then: SaltInFish
    cold: ColdCheck
    fridge_read: bool


def longer_soak(plan: Plan, habits: Habits, until: datetime) -> LongerSoak | None:
    """Salt if the fish is pulled at ``until`` instead of as planned; None where nothing is soaking.

    The cold is judged by the rule for soaks over 4 h (decision 10).
    """
    row = plan.stage(Stage.SOAK) or plan.stage(Stage.SALT)
    if row is None or row.done or plan.wps is None or until <= row.start:
        return None
    hours = (until - row.start) / timedelta(hours=1)
    if hours > 200.0:
        return None
    making = plan.making
    then = _salt_after(plan.batch, making, habits, plan.at, hours, plan)
    check = cold_rules.soak(hours, min(max(making.fridge_c, -40.0), 60.0))
    return LongerSoak(until, hours, plan.wps, then, check, "fridge_c" not in making.assumed)


def _salt_after(
    batch: Batch, making: Making, habits: Habits, now: datetime, hours: float, plan: Plan
) -> SaltInFish:
    length = lengths(making, making.taste_wps, marks(making.work_to_c)[1])
    salt = salting(batch, making, habits, now, length.loss_pct.mid)
    row = plan.stage(Stage.SOAK) or plan.stage(Stage.SALT)
    assert row is not None
    if salt.brine is None:
        # The brine was mixed for the planned length: it stays as it is.
        planned = (row.end - row.start) / timedelta(hours=1)
        salt = salt.pulled_after(planned, length.loss_pct, 0.0, 0.0)
    smoke_h = max(s.mid for s in length.smoke.values())
    found = salt.pulled_after(hours, length.loss_pct, 6.0, smoke_h).in_fish
    assert found is not None
    return found


def salt_outlook(plan: Plan, habits: Habits, aim_wps_pct: float) -> Outlook | None:
    """Salt at pack against an aim, and what would change it; None for a fish that is salted dry."""
    row = plan.stage(Stage.SOAK)
    if row is None or plan.lengths is None:
        return None
    making, loss = plan.making, plan.lengths.loss_pct
    hours = (row.end - row.start) / timedelta(hours=1)
    salt = salting(plan.batch, making, habits, plan.at, loss.mid).pulled_after(hours, loss, 0.0, 0.0)
    if salt.brine is None or not 0.0 < hours < 200.0:
        return None
    temp_c = min(max(making.fridge_c, -2.0), 25.0)
    soaking = Soaking(making.thickest, salt.brine, making.mass_g, hours, temp_c, making.thawed)
    return outlook(soaking, loss, aim_wps_pct)


def with_slots(
    entries: tuple[Entry, ...],
    opened_at: datetime,
    slots: Mapping[str, Any],
    habits: Habits,
    now: datetime,
    known: Experience = NOTHING,
) -> Plan:
    """The plan if these slots had been told as well; the journal itself is left alone."""
    tried = Entry(len(entries) + 1, Kind.DESCRIBE, now, now, "", dict(slots))
    return plan_batch(read_batch((*entries, tried), opened_at), habits, now, known)

