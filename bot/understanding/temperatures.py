"""Bring a figure to the value of its slot: scale, range, and what can be true."""

from __future__ import annotations

from typing import Any

from bot.understanding.model import Context, Doubt
from bot.understanding.plausible import possible, readings_c, settle
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
        return {}, _other_scale(slot, figure, amount.unit)
    found = settle(slot, figure, context)
    if len(found) == 1:
        return {slot: next(iter(found.values()))}, None
    meant = sorted((scale, value) for scale, value in found.items() if possible(slot, value))
    options = tuple((f"{figure:g} °{scale}", {slot: round(value, 3)}) for scale, value in meant)
    return {}, Doubt(slot, options, "scale" if found else "implausible")


def _other_scale(slot: str, figure: float, said: str) -> Doubt:
    """Return the doubt about a temperature that cannot be in the scale said, but can in the other: ``core 140 C``."""
    other = "F" if said == "C" else "C"
    value = readings_c(slot, figure).get(other)
    if value is None:
        return Doubt(slot, (), "implausible")
    return Doubt(slot, ((f"{figure:g} °{other}", {slot: round(value, 3)}),), "scale")


def value_of(slot: str, amount: Quantity, context: Context) -> tuple[dict[str, Any], Doubt | None]:
    """Return the slot's value in SI, or the doubt."""
    if slot.endswith("_c"):
        return temperature(slot, amount, context)
    value = amount.number.value if slot == "salometer_deg" else amount.value
    return ({slot: value}, None) if possible(slot, value) else ({}, Doubt(slot, (), "implausible"))
