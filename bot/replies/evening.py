"""The evening note: once on the evening before a day that holds something, what it holds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from bot import facts
from bot.crew import duty_of
from bot.replies.loose import drop, loose, put
from bot.replies.on import on
from bot.replies.part import Part, pen_of
from bot.say.answer import calls_of
from bot.say.evening import Call, evening_words
from bot.work import Work
from planner.evening import evening_before, today
from planner.ring import Ring
from planner.rings import wanted

#: What the reminder is called, and where its key begins.
EVENING_NOTE = "evening"
#: How many days ahead the next note is looked for.
_AHEAD = 7
#: Whoever has just been told the plan is not told it once more at once.
_JUST_TOLD = timedelta(minutes=30)
#: Later than this it is of no use.
_USEFUL = timedelta(hours=2)


@dataclass(frozen=True)
class _Next:
    day: date
    at: datetime


def keep_evening_note(work: Work) -> None:
    """Want the note of the next evening that has something to tell, and no other."""
    if work.forget or not (work.touched or work.closed or work.habits_changed or work.loose is not None):
        return
    found = _next(work)
    kept = next((ring for ring in loose(work) if ring.what == EVENING_NOTE), None)
    if kept is not None and (found is None or (kept.key, kept.due) != (_key(found.day), found.at)):
        drop(work, kept.key)
        kept = None
    if found is not None and kept is None:
        until = found.at + _USEFUL
        put(work, Ring(_key(found.day), found.at, EVENING_NOTE, "", useful_until=until, data={"day": str(found.day)}))


def evening_note(work: Work, ring: Ring) -> Part:
    """The note, with what is known now; nothing where the day holds nothing any more."""
    calls = list(_calls(work, date.fromisoformat(str(ring.data["day"]))))
    if not calls or not wants_note(work):
        return Part("")
    pen = pen_of(work)
    values = {"day": ring.data["day"], "calls": [{"at": facts.stamp(c.at, pen), "what": c.what} for c in calls]}
    duty = duty_of(work.chat.memory, calls[0].at)
    text = evening_words(calls, duty, pen, several=len(on(work)) > 1)
    buttons = (("Show it", {"say": "show the plan"}), ("No more of these", {"say": "no evening note"}))
    return Part(text, (facts.answer("evening", values),), buttons)


def wants_note(work: Work) -> bool:
    """True unless somebody switched it off."""
    return work.chat.memory.get("evening_note") is not False


def _next(work: Work) -> _Next | None:
    if not wants_note(work):
        return None
    known = {ring.key for ring in work.snapshot.loose}
    first = today(work.now, work.habits) + timedelta(days=1)
    for day in (first + timedelta(days=n) for n in range(_AHEAD)):
        at = evening_before(day, work.habits)
        soonest = work.now if _key(day) in known else work.now + _JUST_TOLD
        if at is not None and at > soonest and any(_calls(work, day)):
            return _Next(day, at)
    return None


def _calls(work: Work, day: date) -> Iterator[Call]:
    """What wants somebody that day, in order."""
    found = [
        Call(moment.at, moment.what, file.name)
        for file in on(work)
        for moment in calls_of(work.plan(file), wanted(work.plan(file), work.habits), work.now)
    ]
    asked = [
        Call(r.due, str(r.data.get("about") or "the call you asked for"), "") for r in loose(work) if r.what == "remind"
    ]
    seen: set[tuple[datetime, str]] = set()
    for call in sorted((*found, *asked), key=lambda call: call.at):
        minute = call.at.replace(second=0, microsecond=0), call.batch
        if today(call.at, work.habits) == day and minute not in seen:
            seen.add(minute)
            yield call


def _key(day: date) -> str:
    return f"{EVENING_NOTE}:{day}"
