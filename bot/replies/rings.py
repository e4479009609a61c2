"""A reminder that is due: said with the facts of now, answered with one tap."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from bot import facts
from bot.replies.part import Labelled, Part, pen_of
from bot.say.answer import CALL
from bot.say.format import join
from bot.say.ring import ring_words
from bot.work import Work
from planner.entries import Kind
from planner.ring import Ring
from planner.rings import times_rung, wanted
from scheduler.turn import Due


#: Calls are planned on whole minutes: one that has come and is worked on a moment later must not slip to the next.
_MINUTE = timedelta(minutes=1)


def ring_parts(work: Work, due: Due) -> list[Part]:
    """The reminder as one part; nothing where the plan no longer wants it."""
    pen = pen_of(work)
    ring = due.ring
    if due.batch is None:
        work.loose = [r for r in work.snapshot.loose if r.key != ring.key]
        fact = facts.reminder(ring, None, due.late_s, due.again, pen)
        return [Part("You asked me to call you now.", (fact,), urgent=True)]
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
    name = _title(file.name) if len(work.running) > 1 else ""
    text, buttons = ring_words(live, plan, pen, name=name, late=timedelta(seconds=due.late_s), again=again)
    for missed in due.merged:
        work.add(file, Kind.RING, _data(missed, again) | {"merged": True})
    if due.merged:
        text += f"\nMissed meanwhile: {join([CALL[r.what] for r in due.merged])}."
    work.add(file, Kind.RING, _data(live, again))
    work.remember(rung={"what": live.what, "stage": str(live.stage), "lot": live.lot, "batch": file.number})
    tied: tuple[Labelled, ...] = tuple(
        (label, {**means, "ring": live.key, "batch": file.number}) for label, means in buttons
    )
    fact = facts.reminder(ring, file.number, due.late_s, again, pen)
    said: list[Mapping[str, Any]] = [fact]
    if plan.exposure and (plan.making.species.histamine or plan.exposure.used_h > 0):
        said.append(facts.exposure(plan.exposure))
    return [Part(text, tuple(said), tied, urgent=live.protects)]


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
    """Call again in a while; what protects the fish is never put off for long."""
    number = means.get("batch")
    until = work.now + timedelta(minutes=minutes)
    if number in work.files and means.get("ring"):
        data = {"key": means["ring"], "until": until.isoformat()}
        work.add(work.files[number], Kind.ANSWERED, data)
    work.remember(rung=None)
    return Part(f"I'll call again {pen_of(work).clock(until)}.")


def _title(name: str) -> str:
    return name[:1].upper() + name[1:]
