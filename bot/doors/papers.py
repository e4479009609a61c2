"""A batch as the documents take it: what its journal proves, in words; its plan as events."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, time
from pathlib import Path

from bot.documents.records import BatchRecord, Gate, Override, PlanEvent, RecordImage
from bot.pictures.habits import Habit
from bot.say.format import Pen
from bot.say.notice import notice_words
from bot.say.plan import brine_line, salt_line
from bot.say.why import knows, reason_words
from bot.say.words import STAGE, fish, lot
from planner.batch import WHOLE, read_batch
from planner.entries import Entry, Kind, standing
from planner.habits import Habits
from planner.plan import Gate as PlannedGate
from planner.plan import Notice, Plan
from planner.planning import plan_batch
from planner.rings import wanted
from planner.verdict import Reason
from scheduler.turn import BatchFile, Chat

#: A calendar calls this long before a stage begins.
ALARM_MIN = 10


def document(file: BatchFile, chat: Chat, now: datetime, folder: Path) -> bytes:
    """The record as a PDF; ``folder`` is where photos are kept."""
    from bot.documents.batch_record import record_pdf

    return record_pdf(batch_record(file, chat, now, folder), "Letter" if chat.units == "us" else "A4")


def calendar(file: BatchFile, chat: Chat, now: datetime) -> bytes:
    """The plan as an iCalendar file; the same batch gives the same events, moved where the plan did."""
    from bot.documents.plan_calendar import plan_calendar

    told = sum(entry.kind is Kind.PLAN for entry in file.entries)
    uid = f"{chat.id}/{file.number}/{file.opened_at.isoformat()}"
    events = tuple(plan_events(plan_of(file, chat, now), chat, now))
    return plan_calendar(events, batch_uid=uid, name=file.name, stamp=now, sequence=told)


def plan_of(file: BatchFile, chat: Chat, now: datetime) -> Plan:
    """The plan as of ``now``."""
    return plan_batch(read_batch(file.entries, file.opened_at), Habits(chat.zone, chat.quiet), now)


def batch_record(file: BatchFile, chat: Chat, now: datetime, folder: Path) -> BatchRecord:
    """Everything that the record shows, reckoned from the journal as of ``now``."""
    plan, pen = plan_of(file, chat, now), Pen(now, chat.zone, chat.units)
    return BatchRecord(
        batch=str(file.number),
        name=file.name,
        species=fish(plan.batch.told.get("species")),
        habit=habit_of(chat),
        printed_at=now,
        entries=file.entries,
        summary=tuple(_summary(plan, pen)),
        gates=tuple(_gate(gate, pen) for gate in plan.gates),
        overrides=tuple(_overrides(file, pen)),
        photos=tuple(_photos(file, folder)),
    )


def habit_of(chat: Chat) -> Habit:
    """How the chat likes to see times and units; metric where it has shown no liking."""
    night = (time.fromisoformat(chat.quiet[0]), time.fromisoformat(chat.quiet[1]))
    return Habit(chat.zone, "us" if chat.units == "us" else "metric", night)


def plan_events(plan: Plan, chat: Chat, now: datetime) -> Iterator[PlanEvent]:
    """The stages still to come or under way, and every reminder that the plan wants."""
    for row in plan.stages:
        if row.done or row.end < now:
            continue
        of = f" ({lot(row.lot)})" if row.lot else ""
        key = f"{row.stage}/{row.lot}" if row.lot else str(row.stage)
        alarms = () if row.begun else (ALARM_MIN,)
        yield PlanEvent(key, f"{STAGE[row.stage]}{of}", row.start, row.end, alarms_min=alarms)
    for ring in wanted(plan, Habits(chat.zone, chat.quiet)):
        words = ring.what.replace("_", " ")
        yield PlanEvent(f"ring/{ring.key}", words.capitalize(), ring.due, ring.due, alarms_min=(0,))


def _summary(plan: Plan, pen: Pen) -> Iterator[tuple[str, str]]:
    making = plan.making
    yield "Fish", f"{pen.mass(making.mass_g)}, {pen.length(making.thickest.thickness_mm)} at the thickest"
    if plan.brine is not None:
        yield "Brine", brine_line(plan.brine, pen)
    if plan.wps is not None:
        yield "Salt", salt_line(plan)
    yield "Weight", f"about {plan.yield_pct:.0f} % of the raw weight is left (reckoned)"
    for row in plan.stages:
        if row.begun or row.done:
            of = f", {lot(row.lot)}" if row.lot else ""
            end = pen.day_time(row.end) if row.done else "under way"
            yield f"{STAGE[row.stage]}{of}", f"{pen.day_time(row.start)} → {end}"
    for notice in plan.warnings:
        if notice.lasting:
            yield "Note", notice_words(notice, pen)


def _gate(gate: PlannedGate, pen: Pen) -> Gate:
    """What opened it, or what is missing."""
    values = dict(gate.values) | ({"lot": gate.lot} if gate.lot not in (None, WHOLE) else {})
    reason = Reason(gate.missing or gate.name, gate.source, values)
    says = reason_words(reason, pen) if knows(reason.rule) else reason.rule.replace("_", " ")
    name = gate.name if gate.lot in (None, WHOLE) else f"{gate.name}, {lot(gate.lot)}"
    return Gate(name, gate.open, says, gate.source)


def _overrides(file: BatchFile, pen: Pen) -> Iterator[Override]:
    for entry in standing(file.entries):
        if entry.kind is Kind.CHOICE and entry.data.get("override"):
            values = {"at": entry.happened_at.isoformat(), "stage": str(entry.data.get("stage") or "")}
            yield Override(notice_words(Notice("went_on_anyway", "", values), pen), entry.number)


def _photos(file: BatchFile, folder: Path) -> Iterator[RecordImage]:
    """The photos that are still there; a lost file must not lose the record."""
    for entry in file.entries:
        path = _kept(entry, folder)
        if path is not None and path.is_file():
            yield RecordImage(path.read_bytes(), entry.words, entry.number)


def _kept(entry: Entry, folder: Path) -> Path | None:
    name = entry.data.get("photo")
    return folder / name if isinstance(name, str) and name else None
