"""Bring a figure to the value of its slot: scale, range, and what can be true."""

from __future__ import annotations

from typing import Any

from bot.understanding.model import Context, Doubt
from bot.understanding.plausible import possible, settle
from bot.understanding.quantities import Quantity
from planner import units


def temperature(slot: str, amount: Quantity, context: Context) -> tuple[dict[str, Any], Doubt | None]:
    """Return the slot for a temperature, or the doubt where its scale is open or it cannot be true.

    Of a range the colder end counts for a core, the middle otherwise.
    """
    figure = amount.low if slot == "core_c" else amount.value
    if amount.unit:
        value = figure if amount.unit == "C" else units.celsius(figure, "degF")
        if possible(slot, value):
            return {slot: value}, None
        return {}, Doubt(slot, (), "implausible")
    found = settle(slot, figure, context)
    if len(found) == 1:
        return {slot: next(iter(found.values()))}, None
    options = tuple((f"{figure:g} °{scale}", {slot: round(value, 3)}) for scale, value in sorted(found.items()))
    return {}, Doubt(slot, options, "scale" if found else "implausible")


def value_of(slot: str, amount: Quantity, context: Context) -> tuple[dict[str, Any], Doubt | None]:
    """Return the slot's value in SI, or the doubt."""
    if slot.endswith("_c"):
        return temperature(slot, amount, context)
    value = amount.number.value if slot == "salometer_deg" else amount.value
    return ({slot: value}, None) if possible(slot, value) else ({}, Doubt(slot, (), "implausible"))
