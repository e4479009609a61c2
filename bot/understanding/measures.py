"""Which measures and which scale a person writes in, where the chat has not said."""

from __future__ import annotations

from collections.abc import Sequence

from bot.understanding.items import Item, Sheet
from bot.understanding.model import Heard
from bot.understanding.plausible import LIKELY_C, readings_c
from bot.understanding.quantities import Quantity, unit_words

#: A figure and the value that was heard of it are the same within this many kelvin.
_SAME_K = 0.05

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


def scales_of(sheet: Sheet, heard: Sequence[Heard]) -> frozenset[str]:
    """Return ``F`` and ``C`` as the temperatures of a message show them: named, or the only one that makes sense."""
    said = [(slot, float(value)) for h in heard for slot, value in h.slots.items() if slot in LIKELY_C]
    figures = [item.quantity for item in sheet.items if item.quantity is not None]
    return frozenset(scale for slot, value in said for q in figures for scale in _scales(q, slot, value))


def _scales(figure: Quantity, slot: str, value: float) -> set[str]:
    if figure.kind == "temperature" and figure.unit:
        return {figure.unit}
    found = readings_c(slot, figure.low if slot == "core_c" else figure.value)
    return {scale for scale, c in found.items() if len(found) == 1 and abs(c - value) < _SAME_K}
