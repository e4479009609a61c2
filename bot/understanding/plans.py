"""Read what is still to come: ``brining tonight``, ``smoking saturday at 9``, ``out of the brine at 7 tomorrow``."""

from __future__ import annotations

from bot.understanding.describing import Description
from bot.understanding.items import Sheet
from bot.understanding.model import Context
from bot.understanding.tense import looks_ahead
from bot.understanding.timing import find_when, time_slot
from bot.understanding.vocabulary import strange
from bot.understanding.wordlists import words

_ENDING = words("plans", "ending")


def read_plan(sheet: Sheet, clause: tuple[int, int], description: Description, context: Context) -> None:
    """Add the time of a step to come, and how long it is to take, to the description."""
    said = {word for text in sheet.words(*clause) for word in text.split()}
    stages = {key for i in range(*clause) if (key := _step(sheet, i))}
    i = find_when(sheet, clause)
    if i is None or strange(sheet, clause):
        return
    slot = _slot(said, stages, context)
    when = sheet.items[i].when
    if when is not None and when.day == 0 and when.hour is None and not when.part:
        return  # "today" is no moment
    dated = when is not None and (when.day is not None or when.part or when.weekday is not None or when.now)
    if slot is None or not (looks_ahead(list(said)) or dated or said & {"start", "starting"}):
        return
    slots, doubt = time_slot(sheet, i, slot, "future", context)
    description.put(i, **slots)
    description.doubts += [doubt] if doubt else []


def _step(sheet: Sheet, i: int) -> str | None:
    """Return the stage that an item names, or the place that the fish goes into or comes out of."""
    item = sheet.items[i]
    near = set(" ".join(sheet.words(max(0, i - 3), i)).split())
    return item.key("stage") or (item.key("place") if near & {"in", "into", "on", "out", "off", "from", "to"} else None)


def _slot(said: set[str], stages: set[str], context: Context) -> str | None:
    wet = stages & {"soak", "salt"}
    if said & _ENDING and (wet or "rinse" in stages or context.stage in {"soak", "salt"}):
        return "soak_end"
    if "rinse" in stages:
        return "soak_end"
    if wet:
        return "soak_start"
    return "start_at" if stages & {"smoke", "dry"} or said & {"start", "starting"} else None
