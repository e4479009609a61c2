"""A reminder that is due: said with the facts of now, answered with one tap."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import Any

from bot import facts
from bot.crew import Person, duty_of, is_shared, taker
from bot.replies.crew import WATCH, watch_over
from bot.replies.evening import EVENING_NOTE, evening_note
from bot.replies.loose import drop, put
from bot.replies.part import MOST_BUTTONS, Labelled, Part, pen_of
from bot.say.answer import CALL
from bot.say.format import join
from bot.say.ring import ASKED_FOR_BUTTONS, again_words, asked_for, ring_words, to_take
from bot.work import Work
from planner.batch import Batch
from planner.entries import Kind
from planner.ring import Ring
from planner.rings import AFTER_ANSWER, same_call, times_rung, wanted
from scheduler.turn import Due

#: Calls are planned on whole minutes: one that has come and is worked on a moment later must not slip to the next.
_MINUTE = timedelta(minutes=1)


def ring_parts(work: Work, due: Due) -> list[Part]:
    """The reminder as one part; nothing where the plan no longer wants it."""
    pen = pen_of(work)
    ring = due.ring
    if due.batch is None:
        return [part for ring in (*due.merged, ring) for part in [_loose(work, ring, due)] if part.text]
    file = work.files.get(due.batch)
    if file is None or file not in work.running:
        return []
    plan = work.plan(file)
    live = next((r for r in wanted(plan, work.habits) if r.key == ring.key), None)
    if live is None or live.due >= work.now + _MINUTE:
        # The plan has moved: matching again leaves the reminder where it belongs now.
        work.added.setdefault(file.number, [])
        return []
    again = times_rung(plan, ring.key)
    person = called(work, plan.batch, live.key)
    names = [person.name] if person else []
    names += [file.name] if len(work.running) > 1 else []
    text, buttons = ring_words(live, plan, pen, names=names, late=timedelta(seconds=due.late_s), again=again)
    if is_shared(work.chat.memory) and taker(plan.batch, live.key) is None:
        buttons = to_take(buttons, MOST_BUTTONS)
    for missed in due.merged:
        work.add(file, Kind.RING, _data(missed, again) | {"merged": True})
    if due.merged:
        text += f"\nMissed meanwhile: {join([CALL[r.what] for r in due.merged])}."
    work.add(file, Kind.RING, _data(live, again))
    rung = {"key": live.key, "what": live.what, "stage": str(live.stage), "lot": live.lot, "batch": file.number}
    work.remember(rung=rung)
    tied: tuple[Labelled, ...] = tuple(
        (label, {**means, "ring": live.key, "batch": file.number, "what": live.what}) for label, means in buttons
    )
    fact = facts.reminder(ring, file.number, due.late_s, again, pen) | _for(person)
    said: list[Mapping[str, Any]] = [fact]
    if plan.exposure and (plan.making.species.histamine or plan.exposure.used_h > 0):
        said.append(facts.exposure(plan.exposure))
    return [Part(text, tuple(said), tied, urgent=live.protects)]


def called(work: Work, batch: Batch, key: str) -> Person | None:
    """Whom a call is for: who has taken it, else who is on; None where it is for everyone."""
    duty = duty_of(work.chat.memory, work.now)
    return taker(batch, key) or (duty.who if duty is not None else None)


def _for(person: Person | None) -> dict[str, Any]:
    return {"for": {"name": person.name, "id": person.id}} if person is not None else {}


def _loose(work: Work, ring: Ring, due: Due) -> Part:
    """A reminder that hangs on no batch."""
    drop(work, ring.key)
    if ring.what == WATCH:
        return watch_over(work)
    if ring.what == EVENING_NOTE:
        return evening_note(work, ring)
    again = {"about": ring.data.get("about", "")}
    work.remember(rung={"key": ring.key, "what": "remind", "stage": None, "lot": None, "batch": None, **again})
    fact = facts.reminder(ring, None, due.late_s, due.again, pen_of(work))
    text = asked_for(ring)
    buttons = tuple((label, {**means, **again}) for label, means in ASKED_FOR_BUTTONS)
    return Part(text, (fact,), buttons, urgent=True)


def _data(ring: Ring, again: int) -> dict[str, Any]:
    return {
        "key": ring.key,
        "what": ring.what,
        "stage": str(ring.stage),
        "lot": ring.lot,
        "due": ring.due.isoformat(),
        "again": again,
    }


def snooze(work: Work, means: Mapping[str, Any], minutes: int) -> Part:
    """A button that puts a call off."""
    return put_off(work, means.get("ring"), means.get("batch"), work.now + timedelta(minutes=minutes), means)


def put_off(
    work: Work, key: str | None, number: int | None, until: datetime, about: Mapping[str, Any] = MappingProxyType({})
) -> Part:
    """Call again at a moment; what protects the fish is never put off for long."""
    file = work.files.get(number or 0)
    work.remember(rung=None)
    if file is None or key is None:
        data = {"about": about["about"]} if about.get("about") else {}
        put(work, Ring(f"remind:{until.isoformat()}", until, "remind", "", data=data))
        return Part(again_words(until, pen_of(work)))
    live = next((r for r in wanted(work.plan(file), work.habits) if same_call(r.key, key)), None)
    protects = live is not None and live.protects
    until = min(until, work.now + AFTER_ANSWER) if protects else until
    work.add(file, Kind.ANSWERED, {"key": key, "until": until.isoformat()})
    return Part(again_words(until, pen_of(work), protects=protects))
