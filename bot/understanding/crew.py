"""Read what several people say to each other through the tool: who takes a call, who takes over till when."""

from __future__ import annotations

import re

from bot.understanding.ahead import moment_ahead
from bot.understanding.model import Context, Heard
from bot.understanding.moments import iso

_LONGEST = 100

_TAKE = re.compile(
    r"(?:ok(?:ay)?,? )?(?:(?:i(?:'ve|'ll| have| will)? ?)?(?:got|get|take|have) (?:it|this|that|this one|that one)"
    r"|i'?m on it|on it|i'?ll do it|i will do it|mine|leave it to me|i'?m doing it|doing it now)"
)
_I = frozenset({"i", "me", "i'm", "i am", "i'll"})
_WHO = r"@?(?P<who>[^\W\d_][\w'.-]{0,20}(?: [^\W\d_][\w'.-]{0,20})?)"
_TILL = r"(?: (?P<until>(?:till|until|til|'til|for|to) .+))?"
_OFF = r"(?:i'?m (?:off|out|away|going to bed|going to sleep|asleep|knackered)(?: now)?[,.;]? (?:and |so |but )?)?"
_NOW = r"(?: (?:now|from now|from here|for me|please))?"
#: Whatever the name.
_OVER = tuple(
    re.compile(pattern + _NOW + _TILL)
    for pattern in (
        rf"{_OFF}{_WHO} (?:takes|take|is taking|am taking|'s taking|will take|can take|taking|'ll take) "
        r"(?:over|the watch|the next watch|it from here|the night|the night shift|the shift)",
        rf"{_OFF}(?:i'?m |i am |please )?(?:hand|handing|pass|passing)(?: it| this| the watch| the fish| everything)? "
        rf"(?:over |on )?to {_WHO}",
    )
)
#: Only for people who are known here, and with a time: "the fan is on till 6" is no hand-over.
_ON = tuple(
    re.compile(pattern + _NOW + _TILL)
    for pattern in (
        rf"{_OFF}{_WHO}(?: is|'s| am|'m) (?:on|on duty|on watch|in charge)",
        rf"{_OFF}{_WHO} (?:has|have|'s got|has got|got|watches|minds|is watching|'s watching) "
        r"(?:it|the watch|the fish|this)",
    )
)
_BACK = re.compile(
    r"(?:i'?m|i am) (?:back|up|awake|here)(?: again)?(?:,? i'?ve got it)?|i have it again|i'?ll have it back"
    r"|(?:cancel|end|stop|no|undo) (?:the |that )?hand-?\s?over|hand-?\s?over (?:is )?(?:over|off|done)"
)
_WHO_IS_ON = re.compile(r"who(?:'s| is| has|'s got| has got) (?:on|on duty|on watch|in charge|the watch)(?: now)?\??")


def read_crew(text: str, context: Context) -> Heard | None:
    """Return who takes the call or takes over, or None where the words say something else.

    ``what`` is ``taken``, ``handed_over`` (``to`` a name, empty for the person who speaks; ``until`` where a time
    was said), ``taken_back``, or ``who`` where that is asked.
    """
    said = " ".join(text.replace("’", "'").strip().rstrip(".!").split())
    lower = said.casefold()
    if not said or len(said) > _LONGEST:
        return None
    if context.rung is not None and _TAKE.fullmatch(lower):
        return Heard("event", {"what": "taken"}, topic="crew")
    if _WHO_IS_ON.fullmatch(lower):
        return Heard("ask", {"what": "who"}, topic="crew")
    if context.on_duty and _BACK.fullmatch(lower):
        return Heard("event", {"what": "taken_back"}, topic="crew")
    for patterns, known_only in ((_OVER, False), (_ON, True)):
        for pattern in patterns:
            found = re.compile(pattern.pattern, re.IGNORECASE).fullmatch(said)
            if found is not None and (heard := _handed(found, context, known_only)) is not None:
                return heard
    return None


def _handed(found: re.Match[str], context: Context, known_only: bool) -> Heard | None:
    who, until = found["who"], found["until"]
    myself = who.casefold() in _I
    known = next((name for name in context.people if name.casefold() == who.casefold()), None)
    if known_only and ((known is None and not myself) or until is None):
        return None
    slots = {"what": "handed_over", "to": "" if myself else known or who}
    if until is None:
        return Heard("event", slots, topic="crew")
    at = moment_ahead(until, context)
    return None if at is None else Heard("event", {**slots, "until": iso(at)}, topic="crew")
