"""Read what is still to come: ``brining tonight``, ``smoking saturday at 9``, ``out of the brine at 7 tomorrow``."""

from __future__ import annotations

from bot.understanding.describing import Description
from bot.understanding.items import Sheet
from bot.understanding.model import Context
from bot.understanding.tense import negated
from bot.understanding.timing import find_when, time_slot
from bot.understanding.vocabulary import strange
from bot.understanding.wordlists import words

_ENDING = words("plans", "ending")
_LEAVING = words("plans", "leaving")
_SETTING_OUT = frozenset({"going", "start", "starting", "putting", "goes", "brining", "salting"})
#: Words in front of "in at 9" that leave it to the fish.
_GOING = words("plans", "going_in")
_UNTIL = frozenset({"till", "until", "til", "untill", "to", "-", "'til", "thru"})


def read_plan(sheet: Sheet, clause: tuple[int, int], description: Description, context: Context) -> None:
    """Add the times of the steps to come to the description."""
    if strange(sheet, clause):
        return
    said = {word for text in sheet.words(*clause) for word in text.split()}
    stages = {key for i in range(*clause) if (key := _step(sheet, i))}
    slot = _slot(said, stages, context)
    if slot is None and said & _ENDING and "soak_start" in description.slots:
        slot = "soak_end"  # in the brine 9 pm, out 7 am
    first = find_when(sheet, clause, any_prep=bool(said & _ENDING))
    told = said & words("events", "looks_back") - {"got"}  # who got fish may brine it tonight
    if first is None or told or "since" in said or negated(list(said)) or "no" in said:
        return
    until = _prep(sheet, first) in _UNTIL
    if until and (slot == "soak_start" or said & _LEAVING or (slot is None and context.stage in {"soak", "salt"})):
        slot = "soak_end"
    when = sheet.items[first].when
    idle_now = when is not None and when.now and not said & _SETTING_OUT
    if slot == "smoke_at" and _prep(sheet, first) in {"for", "by"}:
        slot = "ready_by"  # "smoke it for sunday"
    if slot is None or _no_moment(sheet, first) or idle_now or (until and slot in {"start_at", "smoke_at"}):
        return
    _put(sheet, first, slot, description, context)
    second = find_when(sheet, (first + 1, clause[1]))
    if (
        slot == "soak_start"
        and second is not None
        and (_prep(sheet, second) in _UNTIL or sheet.text(second - 1) in _UNTIL)
    ):
        _put(sheet, second, "soak_end", description, context)


def _going_in(sheet: Sheet, clause: tuple[int, int], context: Context) -> str | None:
    """Return the slot of ``goes in at 9``, ``in at 8 tonight``: what comes next, where no place is said."""
    for i in range(*clause):
        timed = sheet.text(i) == "in" and i + 1 < clause[1] and _timed(sheet, i + 1)
        before = [w for text in sheet.words(clause[0], i) for w in text.split()]
        if timed and all(word in _GOING for word in before):
            soaks = context.stage in {"thaw", "trim"} or (context.stage == "soak" and context.stage_since is None)
            return "soak_start" if soaks else "smoke_at" if context.stage in {"rinse", "rest", "dry"} else None
    return None


def _timed(sheet: Sheet, i: int) -> bool:
    """True where a time stands, or a bare hour behind "at"."""
    return sheet.items[i].when is not None or sheet.text(i) in {"at", "around", "about", "@", "kl"}


def _prep(sheet: Sheet, i: int) -> str:
    when = sheet.items[i].when
    return (when.prep if when is not None else "") or sheet.items[i].prep


def _no_moment(sheet: Sheet, i: int) -> bool:
    """True for a bare "today"."""
    when = sheet.items[i].when
    return when is not None and when.day == 0 and when.hour is None and not when.part


def _put(sheet: Sheet, i: int, slot: str, description: Description, context: Context) -> None:
    slots, doubt = time_slot(sheet, i, slot, "future", context)
    description.put(i, **slots)
    description.doubts += [doubt] if doubt else []


def _step(sheet: Sheet, i: int) -> str | None:
    """Return the stage that an item names, or the place that the fish goes into or comes out of."""
    item = sheet.items[i]
    near = set(" ".join(sheet.words(max(0, i - 3), i)).split())
    lighting = {"light", "lighting", "start", "starting", "starts", "fire", "load", "loading", "on"}
    if item.key("place") == "smoke" and lighting & {*near, sheet.text(i + 1)}:
        return "smoke"
    return item.key("stage") or (item.key("place") if near & {"in", "into", "on", "out", "off", "from", "to"} else None)


def _slot(said: set[str], stages: set[str], context: Context) -> str | None:
    wet = stages & {"soak", "salt"}
    if said & {"start", "starting"} and not wet:
        return "smoke_at" if "smoke" in stages else "start_at"
    if said & _ENDING and (wet or "rinse" in stages or context.stage in {"soak", "salt"}):
        return "soak_end"
    if "rinse" in stages:
        return "soak_end"
    if wet:
        return "soak_start"
    if "smoke" in stages:
        return "smoke_at"
    return "start_at" if "dry" in stages or said & {"start", "starting"} else None
