"""How long something is said to last: the soak that is to come, or the time out of the cold."""

from __future__ import annotations

from bot.understanding.items import Sheet
from bot.understanding.wordlists import words

_WARM = words("describing", "warm")
_RINSING = frozenset({"rinsed", "fresh", "fresh water", "tap water"})


def duration_slot(sheet: Sheet, i: int) -> str | None:
    """Return ``soak_h`` or ``warm_h`` for the span at ``i``, None where it is of something else.

    ``brined 8 hrs``, ``soak for 10 h``, ``leave it in for 12 hours``;
    ``out of the fridge for 2 hours``, ``sat out an hour``.
    """
    if _lasts_the_soak(sheet, i):
        return "soak_h"
    before = f" {' '.join(sheet.words(max(0, i - 8), i))} "
    after = f" {' '.join(sheet.words(i + 1, i + 7))} "
    return "warm_h" if any(f" {cue} " in before or f" {cue} " in after for cue in _WARM) else None


def _lasts_the_soak(sheet: Sheet, i: int) -> bool:
    """True if the span at ``i`` is how long the soak is to take, not how long it has lasted, nor the rinse."""
    near = sheet.items[max(0, i - 4) : i + 4]
    before = set(" ".join(sheet.words(max(0, i - 6), i)).split())
    if before & {"been", "since"} or any(n.key("stage") == "rinse" or n.text in _RINSING for n in near):
        return False
    if {"before", "after", "past", "to", "til", "till"} & set(sheet.text(i + 1).split()[:1]):
        return False  # "5 minutes before midnight"
    if {"already", "far", "now"} & set(" ".join(sheet.words(i + 1, i + 6)).split()):
        return False  # so long it has lasted
    if {"leave", "leaving"} & before and {"in", "it", "them"} & before:
        return True
    if any(n.key("stage") in {"soak", "salt"} or n.text in {"brined", "soaked", "salted"} for n in near):
        return True
    recipe = any(n.key("salt") or n.key("salt_kind") or n.key("water") or n.key("sugar") for n in sheet.items)
    return (recipe and "for" in before) or _alone(sheet, i)


def _alone(sheet: Sheet, i: int) -> bool:
    """True for the last part of "80 g/l, 12 hours": a span that stands by itself between marks."""
    marks = {",", "-", "and", ";", "+", ""}
    ended = sheet.text(i + 1) in marks or (i + 1 < len(sheet.items) and sheet.items[i + 1].kind == "end")
    ratio = any(item.text in {"per", "/"} for item in sheet.items)
    return ended and ratio and i > 0 and sheet.text(i - 1) in marks
