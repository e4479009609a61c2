"""Several people at one batch: who takes a call, who takes over till when."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from bot import facts
from bot.crew import Duty, Person, duty_of, is_shared, kept_duty, last_duty, met, named
from bot.replies.loose import drop, put
from bot.replies.part import Part, pen_of
from bot.say.answer import CALL
from bot.say.crew import (
    GOOD,
    NO_HAND_OVER,
    NOBODY_ON,
    TILL_WHEN,
    back_words,
    hand_over_words,
    on_till,
    taken_words,
    watch_over_words,
)
from bot.work import Work
from planner.entries import Kind
from planner.ring import Ring
from planner.rings import same_call, wanted
from scheduler.turn import Inbound

#: The key of the loose reminder that ends a watch.
WATCH = "watch"


def meet(work: Work, inbound: Inbound) -> None:
    """Remember who speaks here, so that they can be called by name."""
    gained = met(work.chat.memory, speaker(work), group=inbound.chat_kind != "private")
    if gained:
        work.remember(**gained)


def speaker(work: Work) -> Person:
    """Who this turn is of."""
    return Person(work.who, work.sender)


def crew(work: Work, slots: Mapping[str, Any], words: str) -> Part:
    """Answer what was heard about who does what."""
    match slots["what"]:
        case "taken":
            return take(work, work.chat.memory.get("rung") or {})
        case "taken_back":
            return _end_watch(work)
        case "who":
            return _who_is_on(work)
    return _hand_over(work, slots, words)


def take(work: Work, rung: Mapping[str, Any]) -> Part:
    """Somebody has what was called for; it is rung again all the same until it is done, for them alone."""
    file = work.files.get(rung.get("batch", 0))
    if file is None or file not in work.running or "key" not in rung:
        work.remember(rung=None)
        return Part(GOOD)
    who = speaker(work)
    work.add(file, Kind.ANSWERED, {"key": rung["key"], "by": who.id, "name": who.name})
    plan = work.plan(file)
    ring = next((r for r in wanted(plan, work.habits) if same_call(r.key, rung["key"])), None)
    call = CALL[str(rung["what"])]
    said = facts.answer("taken", {"batch": file.number, "what": rung["what"], "by": who.name})
    if not is_shared(work.chat.memory):
        return Part("Good. Tell me what it reads." if ring and ring.protects else GOOD, (said,))
    return Part(taken_words(who, call, ring.due if ring else None, pen_of(work)), (said,))


def _hand_over(work: Work, slots: Mapping[str, Any], words: str) -> Part:
    if "until" not in slots:
        return Part(TILL_WHEN, (facts.question("until"),))
    until = datetime.fromisoformat(slots["until"])
    who = named(work.chat.memory, str(slots["to"])) if slots["to"] else speaker(work)
    before = duty_of(work.chat.memory, work.now)
    duty = Duty(who, before.before if before is not None else speaker(work), until)
    work.remember(duty=kept_duty(duty))
    put(work, Ring(WATCH, until, WATCH, ""))
    data = {"on_duty": who.name, "until": until.isoformat()}
    for file in work.running:
        work.add(file, Kind.MESSAGE, data, words=words)
    said = facts.answer("hand_over", {"to": who.name, "until": facts.stamp(until, pen_of(work))})
    return Part(hand_over_words(duty, bool(who.id), pen_of(work)), (said,))


def _who_is_on(work: Work) -> Part:
    duty, pen = duty_of(work.chat.memory, work.now), pen_of(work)
    said = facts.answer("on_duty", {"who": duty.who.name if duty else None})
    return Part(on_till(duty, pen.clock(duty.until)) if duty is not None else NOBODY_ON, (said,))


def _end_watch(work: Work) -> Part:
    duty = duty_of(work.chat.memory, work.now)
    work.remember(duty=None)
    drop(work, WATCH)
    if duty is None:
        return Part(NO_HAND_OVER)
    return Part(back_words(duty), (facts.answer("hand_over", {"to": None, "until": None}),))


def watch_over(work: Work) -> Part:
    """The time till which somebody took over has come: said where nobody sleeps."""
    duty = last_duty(work.chat.memory)
    work.remember(duty=None)
    if duty is None or work.habits.is_quiet(work.now):
        return Part("")
    return Part(watch_over_words(duty), (facts.answer("hand_over", {"to": None, "until": None}),))
