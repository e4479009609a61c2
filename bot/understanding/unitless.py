"""Give a figure with no unit the one unit that makes sense, or say that it must be asked."""

from __future__ import annotations

from bot.understanding.model import Context, Doubt
from bot.understanding.quantities import Quantity
from planner import units

#: The units that a bare figure for a slot can have: unit, whose habit it is, and the figures that make sense in it.
BARE_UNITS: dict[str, tuple[str, tuple[tuple[str, str, float, float], ...]]] = {
    "thickness_mm": (
        "millimeter",
        (("inch", "us", 0.2, 5.0), ("centimeter", "metric", 0.5, 9.9), ("millimeter", "metric", 10.0, 120.0)),
    ),
    "mass_g": (
        "gram",
        (("pound", "us", 0.2, 400.0), ("kilogram", "metric", 0.1, 200.0), ("gram", "metric", 201.0, 20000.0)),
    ),
    "water_ml": (
        "milliliter",
        (("gallon", "us", 0.25, 60.0), ("quart", "us", 0.5, 60.0), ("liter", "metric", 0.25, 200.0)),
    ),
}


def unitless(slot: str, amount: Quantity, context: Context) -> tuple[float | None, Doubt | None]:
    """Return the value in SI of a figure that was said with no unit, or the doubt.

    A fraction is of an inch, a pound, a gallon; otherwise the chat's habit decides where it leaves one unit.
    """
    target, choices = BARE_UNITS[slot]
    fits = [
        (unit, system, amount.value * units.factor(unit, target))
        for unit, system, low, high in choices
        if low <= amount.value <= high and (system == "us" or not amount.number.fraction)
    ]
    usual = [f for f in fits if f[1] == context.units] or fits
    if len(usual) == 1:
        return usual[0][2], None
    options = tuple((f"{amount.value:g} {unit}", {slot: round(value, 3)}) for unit, _, value in usual)
    return None, Doubt(slot, options, "unit" if options else "implausible")
