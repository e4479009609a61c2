"""Read "like the last one, a little less salt": which batch a new one starts from, and what is changed."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Any

from bot.understanding.model import Heard

#: By the first three letters of their names.
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH = (
    r"(jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?|"
    r"oct(?:ober)?|nov(?:ember)?|dec(?:ember)?)"
)
_LAST = r"(?:the |my |our )?(?:last|previous) (?:one|time|batch|lot)|last time"
_THAT = rf"(?:the (?:one|batch|lot) |what (?:i|we) (?:did|made) |(?:i|we) did )?(?:in|from|of) {_MONTH}"
_LIKE = re.compile(
    rf"[,;]?\s*\b(?:(?:just |exactly |made |do it |same )?(?:like|as)|same (?:recipe )?as) (?:{_LAST}|{_THAT})\b"
    r"|\bsame again\b"
)
_SOME = r"(?P<much>much|a lot|way|far|lots)|a (?:little|bit|touch|tad)|slightly|somewhat"
_CHANGE = re.compile(
    rf"[,;]?\s*\b(?:(?:and|but|with|only|just) )*(?:{_SOME})? ?(?:(?P<less>less)|more) (?:salt|salty)\b(?: this time)?"
    r"|[,;]?\s*\b(?:(?:and|but|only|just) )*(?:a (?:little|bit|touch) )?saltier\b"
)
_ASKS = re.compile(r"^\s*(?:is|was|are|were|did|does|how|what|why|will|would|should|can|could)\b|\?\s*$")


@dataclass(frozen=True)
class Likeness:
    """What was said of an earlier batch, and the rest of the message."""

    slots: dict[str, Any]
    rest: str


def read_likeness(text: str) -> Likeness | None:
    """Return which batch is to be made again and how it is changed; None where the message names none."""
    found = None if _ASKS.search(text) else _LIKE.search(text)
    if found is None:
        return None
    rest = f"{text[: found.start()]} , {text[found.end() :]}"
    slots: dict[str, Any] = {"like": month_of(found.group(0)) or "last"}
    change = _CHANGE.search(rest)
    if change is not None:
        slots["salt_change"] = ("much_" if change["much"] else "") + ("less" if change["less"] else "more")
        rest = f"{rest[: change.start()]} , {rest[change.end() :]}"
    return Likeness(slots, re.sub(r"(\s*,)+\s*$|^(\s*,)+\s*", "", rest).strip())


def month_of(text: str) -> str | None:
    """The month that the words name, "jan" to "dec"; None where they name none."""
    found = re.search(rf"\b(?:in|from|of) {_MONTH}\b", text)
    return None if found is None else found[1][:3]


def with_likeness(heard: tuple[Heard, ...], likeness: Likeness) -> tuple[Heard, ...]:
    """The things heard, with the likeness in the first description."""
    for i, one in enumerate(heard):
        # "5 lb, like the last one" weighs the new batch, not the one that is packed.
        if one.intent == "describe" or (one.intent == "reading" and set(one.slots) == {"mass_g"}):
            told = replace(one, intent="describe", slots={**one.slots, **likeness.slots})
            return (*heard[:i], told, *heard[i + 1 :])
    # A reading that is as it was last time is a reading.
    useful = tuple(h for h in heard if h.intent != "chat")
    return useful or (Heard("describe", likeness.slots),)
