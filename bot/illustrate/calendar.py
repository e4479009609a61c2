"""The plan as a calendar file."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from bot.documents.plan_calendar import plan_calendar
from bot.documents.records import PlanEvent
from bot.illustrate.batches import Case
from bot.say.papers import LAST_DAY
from bot.say.words import STAGE, of_lot
from planner.stages import Stage

#: A calendar calls this long before a stage begins.
ALARM_MIN = 10


def calendar_file(case: Case) -> bytes:
    """The plan as iCalendar bytes; the same batch gives the same events, moved where the plan did."""
    # Any entry may move the plan, and a later calendar must count higher than an earlier one.
    told = len(case.file.entries)
    uid = f"{case.chat.id}/{case.file.number}/{case.file.opened_at.isoformat()}"
    return plan_calendar(
        tuple(plan_events(case)),
        batch_uid=uid,
        name=case.name,
        stamp=case.now,
        sequence=told,
        withdrawn=tuple(_withdrawn(case)),
    )


def plan_events(case: Case) -> Iterator[PlanEvent]:
    """The stages still to come or under way.

    Reminders are not among them: each reading asks for another one, and a calendar would keep them all.
    """
    for row in case.plan.stages:
        if row.done or row.end < case.now:
            continue
        key = f"{row.stage}/{row.lot}" if row.lot else str(row.stage)
        if row.stage is Stage.KEEP:
            # Weeks of keeping would hide everything else in a calendar: only its last day matters.
            yield PlanEvent(key, f"{case.name}: {LAST_DAY}", row.end, row.end, alarms_min=(24 * 60,))
            continue
        alarms = () if row.begun else (ALARM_MIN,)
        title = f"{case.name}: {STAGE[row.stage].lower()}{of_lot(row.lot)}"
        yield PlanEvent(key, title, row.start, max(row.end, row.start + timedelta(minutes=1)), alarms_min=alarms)


def _withdrawn(case: Case) -> Iterator[PlanEvent]:
    """A rest that an earlier plan may have had, and this one has not."""
    if case.plan.stage(Stage.REST) is None:
        yield PlanEvent(str(Stage.REST), f"{case.name}: {STAGE[Stage.REST].lower()}", case.now, case.now)
