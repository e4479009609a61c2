"""Read that two readings stand the other way round: ``other way round, small 150 large 135``."""

from __future__ import annotations

from bot.understanding.items import Sheet
from bot.understanding.model import Context, Doubt, Heard
from bot.understanding.readings import read_readings
from bot.understanding.wordlists import words

_LONGEST = 16


def read_swap(sheet: Sheet, context: Context) -> list[tuple[Heard, list[Doubt]]] | None:
    """Return the correction of each lot that is named, or of the pair that was read last."""
    rest = _beside_cue(sheet)
    if rest is None or len(sheet.items) > _LONGEST:
        return None
    found = read_readings(sheet, rest, context) if rest[0] < rest[1] else []
    lots = {r.slots.get("lot") for r in found}
    if len(found) == 2 and len(lots) == 2 and None not in lots:
        return [(Heard("correct", r.slots), [r.doubt] if r.doubt else []) for r in found]
    if any(sheet.items[i].kind not in {"sym", "end"} for i in range(*rest)):
        return None
    paired = context.last is not None and context.last.intent == "reading" and "lot" in context.last.slots
    return [(Heard("correct", {"swapped": True}), [])] if paired and not found else None


def _beside_cue(sheet: Sheet) -> tuple[int, int] | None:
    """Return the stretch beside the words that swap, which begin or end the message; None if there are none."""
    end = len(sheet.items)
    while end and sheet.items[end - 1].kind == "end" and "?" not in sheet.text(end - 1):
        end -= 1
    for cue in sorted(words("corrections", "swaps"), key=len, reverse=True):
        said = cue.split()
        if sheet.words(0, len(said)) == said:
            return len(said), end
        if sheet.words(end - len(said), end) == said:
            return 0, end - len(said)
    return None
