"""Read wishes that a whole message is: a reminder with its matter, later, the evening note, a name, all our data."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from bot.understanding.ahead import moment_ahead
from bot.understanding.model import Context, Heard
from bot.understanding.moments import iso

_LONGEST = 160
#: "Snooze", "later": how long that is where nobody said; *ours*.
LATER = timedelta(minutes=20)

_PLEASE = r"(?:(?:please|pls|can you|could you|hey|ok|and) )*"
_REMIND = r"(?:remind|ping|nudge|poke|call|ring|alert|text|buzz) (?:me|us|everyone|everybody|all)"
_MATTER = r"(?:to|about|that|of|for) (?P<about>.+?)"
_AT = r"(?P<at>(?:in|at|by|on|around|about|after|tomorrow|tonight|this|next) .+?|tomorrow|tonight)"
_REMINDERS = tuple(
    re.compile(pattern, re.IGNORECASE)
    for pattern in (
        rf"{_PLEASE}{_REMIND} {_AT}(?: {_MATTER})?",
        rf"{_PLEASE}{_REMIND} {_MATTER} {_AT}",
        rf"{_PLEASE}{_AT},? {_PLEASE}{_REMIND}(?: {_MATTER})?",
    )
)
_LATER = re.compile(r"(?:snooze|later|not now|in a (?:bit|while|moment|minute)|(?:a )?bit later|busy)(?:,? please)?")
_NOTE = (
    r"(?:(?:the|that|this|these|those|your|any|more|my) )*(?:daily |nightly )?"
    r"(?:digests?|evening (?:notes?|digests?|messages?|summary|summaries|reports?))"
)
_NOTE_OFF = re.compile(
    rf"{_PLEASE}(?:no more|no|stop|stop sending(?: me| us)?|turn off|switch off|disable|without|skip|drop|cut) {_NOTE}"
    rf"|{_PLEASE}(?:turn|switch) {_NOTE} off|{_NOTE} off|{_PLEASE}(?:don't|do not) send(?: me| us)? {_NOTE}"
)
_NOTE_ON = re.compile(
    rf"{_PLEASE}(?:start|turn on|switch on|enable|send(?: me| us)?|give(?: me| us)?|i want|we want|resume) {_NOTE}"
    rf"(?: again)?|{_PLEASE}(?:turn|switch) {_NOTE} on|{_NOTE} on"
)
_NAME = re.compile(
    r"(?:let's |please )?(?:call|name|rename) (?:it|this|this one|this batch|the batch|that one)(?: to)? "
    r"[\"“]?(?P<name>[^\"“”]{1,30}?)[\"”]?",
    re.IGNORECASE,
)
#: "Call it a day", "call it done", "call it 140": no names.
_NO_NAME = frozenset(
    {"day", "night", "quits", "off", "done", "ready", "finished", "good", "enough", "over", "out", "in", "dry"}
    | {"tacky", "damp", "wet", "set", "even", "square", "yes", "no", "ok", "okay", "quarter", "half", "dozen"}
    | {"core", "fridge", "chamber"}
)
_ALL = r"(?:everything|all|all of it|all (?:(?:our|my|the|your) )?(?:data|records|batches|journals)|(?:our|my) data)"
_EXPORT = re.compile(
    rf"{_PLEASE}(?:export|download|send(?: me| us)?|give(?: me| us)?|get|save|i want|copy) {_ALL}"
    r"(?: you (?:have|keep|know)(?: about (?:me|us))?)?(?: as (?:a )?(?:zip|file))?(?:,? please)?"
)


def read_wish(text: str, context: Context) -> Heard | None:
    """Return the wish that a whole message is, or None where it says something else."""
    said = " ".join(text.replace("’", "'").strip().rstrip(".!?").split())
    lower = said.casefold()
    if not said or len(said) > _LONGEST:
        return None
    if context.rung is not None and context.asked is None and (until := _put_off(lower, context)) is not None:
        return Heard("ask", {"at": iso(until)}, topic="remind")
    if _NOTE_OFF.fullmatch(lower) or _NOTE_ON.fullmatch(lower):
        return Heard("setting", {"evening_note": _NOTE_ON.fullmatch(lower) is not None})
    if context.stage is not None and (named := _NAME.fullmatch(said)) and not _NO_NAME & set(_words(named["name"])):
        return Heard("describe", {"name": named["name"].strip(" '")}, topic="name")
    if _EXPORT.fullmatch(lower):
        return Heard("ask", {"show": "all"}, topic="show")
    return _reminder(said, context)


def _words(name: str) -> list[str]:
    return ["done" if word[:1].isdigit() else word for word in name.casefold().split()]


def _put_off(lower: str, context: Context) -> datetime | None:
    """Till when the newest call is put off: "later", "in 10 min"."""
    if _LATER.fullmatch(lower):
        return (context.now + LATER).astimezone(ZoneInfo(context.zone))
    return moment_ahead(lower, context) if lower.startswith("in ") else None


def _reminder(said: str, context: Context) -> Heard | None:
    """A reminder whose matter is said, or whose time stands first; the plain ones are read as questions are."""
    for pattern in _REMINDERS:
        found = pattern.fullmatch(said)
        at = moment_ahead(found["at"], context) if found else None
        if found is None or at is None:
            continue
        if found["about"] or pattern is not _REMINDERS[0] or not _TO_ME.search(said):
            return Heard("ask", {"at": iso(at)} | ({"about": found["about"]} if found["about"] else {}), topic="remind")
    return None


_TO_ME = re.compile(r"\bme\b", re.IGNORECASE)
