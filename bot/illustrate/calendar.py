"""The plan as a calendar file."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from bot.documents.plan_calendar import plan_calendar
from bot.documents.records import PlanEvent
from bot.illustrate.batches import Case
from bot.say.answer import CALL
from bot.say.papers import LAST_DAY
from bot.say.words import STAGE, of_lot
from planner.batch import WHOLE
from planner.rings import wanted
from planner.stages import Stage

#: The looks that a calendar calls for as well, and the stage in which each begins.
_CHECKS = {
    "surface": Stage.DRY,
    "exposure": Stage.DRY,
    "core": Stage.SMOKE,
    "cool": Stage.COOL,
    "fridge": Stage.CHILL,
}
_BY_LOT = ("core", "cool")
#: A calendar calls this long before a stage begins.
ALARM_MIN = 10


def calendar_file(case: Case) -> bytes:
    """The plan as iCalendar bytes; the same batch gives the same events, moved where the plan did."""
    # Any entry may move the plan, and a later calendar must count higher than an earlier one.
    told = len(case.file.entries)
    uid = f"{case.chat.id}/{case.file.number}/{case.file.opened_at.isoformat()}"
    return plan_calendar(
        (*plan_events(case), *check_events(case)),
        batch_uid=uid,
        name=case.name,
        stamp=case.now,
        sequence=told,
        withdrawn=tuple(_withdrawn(case)),
    )


def plan_events(case: Case) -> Iterator[PlanEvent]:
    """The stages still to come or under way."""
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


def check_events(case: Case) -> Iterator[PlanEvent]:
    """The next look of each kind at each lot: the one after it moves the same event, so that none are left behind."""
    for ring in wanted(case.plan, case.habits):
        if ring.what in _CHECKS:
            for lot in ring.data.get("lots", (ring.lot,)):
                yield _check(case, ring.what, None if lot == WHOLE else lot, ring.due, alarms_min=(0,))


def _check(case: Case, what: str, lot: str | None, at: datetime, *, alarms_min: tuple[int, ...] = ()) -> PlanEvent:
    key = f"check/{what}/{lot}" if lot else f"check/{what}"
    return PlanEvent(key, f"{case.name}: {CALL[what]}{of_lot(lot)}", at, at, alarms_min=alarms_min)


def _withdrawn(case: Case) -> Iterator[PlanEvent]:
    """What an earlier calendar may have had and this one has not: a rest, looks at what is done with."""
    if case.plan.stage(Stage.REST) is None:
        yield PlanEvent(str(Stage.REST), f"{case.name}: {STAGE[Stage.REST].lower()}", case.now, case.now)
    standing = {event.key for event in check_events(case)}
    for what, stage in _CHECKS.items():
        if not any(row.begun for row in case.plan.rows(stage)):
            continue
        for lot in _lots(case) if what in _BY_LOT else (None,):
            gone = _check(case, what, lot, case.now)
            if gone.key not in standing:
                yield gone


def _lots(case: Case) -> tuple[str | None, ...]:
    return tuple(None if lot.name == WHOLE else lot.name for lot in case.plan.making.lots)
