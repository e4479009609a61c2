"""Which measures a person writes in, where the chat has not said."""

from __future__ import annotations

from bot.understanding.items import Item, Sheet
from bot.understanding.quantities import unit_words

#: A cup and a spoon are in every kitchen: they tell nothing.
_US = frozenset({"pound", "ounce", "inch", "pint", "quart", "gallon", "F"})
_METRIC = frozenset(
    {"gram", "hectogram", "kilogram", "millimeter", "centimeter", "milliliter", "deciliter", "liter", "C"}
)  # fmt: skip


def measures_of(sheet: Sheet) -> str | None:
    """Return ``us`` or ``metric`` where every unit in the message is of that one habit, else None."""
    said = {unit for item in sheet.items if (unit := _unit(item))}
    us, metric = said & _US, said & _METRIC
    if bool(us) == bool(metric):
        return None
    return "us" if us else "metric"


def _unit(item: Item) -> str | None:
    if item.quantity is not None:
        return item.quantity.unit or None
    # "in", "c" and the like are words of their own where no figure stands before them.
    named = unit_words().get(item.text) if len(item.text) > 2 else None
    return named[1] if named else None
