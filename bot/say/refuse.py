"""Why something was not taken, and one thing that would be."""

from __future__ import annotations

from bot.say.format import Pen
from planner.brine_said import OneStrength
from planner.ranges import OutOfRange
from planner.saltwater import OverSaturated


def refusal_words(problem: Exception, pen: Pen) -> str:
    """One line that names what cannot be, and one that could."""
    match problem:
        case OverSaturated():
            return (
                "Not taken: that is more salt than the water can hold, about 26 % is the end. "
                'Try "1 cup kosher per gallon" or "10 % brine".'
            )
        case OneStrength():
            return 'Not taken: say the salt in one way only, like "250 g salt in 3 L".'
        case OutOfRange(name=name, low=low, high=high, unit=unit, got=got):
            what, shown = _NAMES.get(name.split()[0], (name.replace("_", " "), None))
            limits = f"{low:g} to {high:g} {unit}"
            example = f' Try "{shown}".' if shown else ""
            return f"Not taken: {what} {got:g} {unit} cannot be, I can reckon with {limits}.{example}"
    return "Not taken: that does not fit together. Say it once more, one thing at a time."


_NAMES = {
    "thickness_mm": ("a thickness of", "1 inch thick"),
    "fish_mass_g": ("a weight of", "4 lb coho"),
    "air_c": ("air of", "air 15 C"),
    "rh_pct": ("humidity of", "65 % RH"),
    "temp_c": ("a temperature of", "fridge 3 C"),
    "water_ml": ("water of", "3 L water"),
    "hours": ("a time of", "12 h"),
}
