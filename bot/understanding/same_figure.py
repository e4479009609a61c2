"""Read a correction by the figure said before: the same figure in another unit, or another figure in its unit."""

from __future__ import annotations

from typing import Any

from bot.understanding.items import Item
from bot.understanding.model import Context, Doubt, Heard, Slots
from bot.understanding.plausible import possible
from bot.understanding.quantities import Quantity, unit_words
from bot.understanding.temperatures import temperature
from bot.understanding.wordlists import words
from planner import units

_SCALES = {
    "fahrenheit": "F", "farenheit": "F", "celsius": "C", "celcius": "C", "centigrade": "C", "f": "F", "c": "C",
    "metric": "C", "fahrenhiet": "F",
}  # fmt: skip
#: The units that a figure for a slot is likely said in, by the registry's names.
_SAID_IN = {
    "mass_g": ("mass", ("pound", "kilogram", "gram", "ounce"), "gram"),
    "salt_g": ("mass", ("pound", "kilogram", "gram", "ounce"), "gram"),
    "thickness_mm": ("length", ("inch", "centimeter", "millimeter"), "millimeter"),
    "water_ml": ("volume", ("gallon", "quart", "liter", "cup"), "milliliter"),
}  # fmt: skip
#: Slots whose figure has no unit to choose.
_PLAIN = frozenset({"rh_pct", "salometer_deg", "pieces", "salt_pct", "salt_per_fish_pct", "sugar_per_salt"})


def other_unit(said: list[str], context: Context) -> tuple[Heard, list[Doubt]] | None:
    """Read "that was fahrenheit", "kg not lb": the figure said before, in another scale or unit."""
    last: Slots = context.last.slots if context.last is not None else {}
    if not last or len(said) > 8 or any(ch.isdigit() for w in said for ch in w):
        return None
    if not words("corrections", "scale_cues") & set(said):
        return None
    scale = _wanted([_SCALES.get(w) for w in said], said)
    if scale is not None and any(k.endswith("_c") for k in last):
        return _other_scale(last, scale)
    wanted = _wanted(
        [unit_words().get(w, ("", None))[1] if len(w) > 1 or w in {"g", "l", "#"} else None for w in said], said
    )
    return _other_measure(last, wanted) if wanted is not None else None


def _wanted(named: list[str | None], said: list[str]) -> str | None:
    """Return what is meant of what is named: not what "not" stands before."""
    denied = next((n for n in named[said.index("not") :] if n), None) if "not" in said else None
    wanted = next((n for n in named if n and n != denied), None)
    if wanted is None and denied in {"F", "C"}:
        return "C" if denied == "F" else "F"
    return wanted


def _other_scale(last: Slots, scale: str) -> tuple[Heard, list[Doubt]]:
    changed: dict[str, float] = {}
    doubts: list[Doubt] = []
    for key in [k for k in last if k.endswith("_c")]:
        value = units.celsius(last[key], "degF") if scale == "F" else _tidy(units.fahrenheit(last[key]))
        if possible(key, value):
            changed[key] = value
        else:
            doubts.append(Doubt(key, (), "implausible"))
    return Heard("correct", changed, old={k: v for k, v in last.items() if k.endswith("_c")}), doubts


def _tidy(value: float) -> float:
    """Return a figure as it was said, free of the rounding on its way through SI."""
    return round(value, 1) if abs(value - round(value, 1)) < 0.01 else value


def _other_measure(last: Slots, wanted: str) -> tuple[Heard, list[Doubt]] | None:
    for slot, (kind, _, target) in _SAID_IN.items():
        if slot not in last or unit_words_kind(wanted) != kind:
            continue
        figure = _figure_of(slot, last[slot])
        if figure is None or figure[1] == wanted:
            return None
        value = figure[0] * units.factor(wanted, target)
        return Heard("correct", {slot: value}, old={slot: last[slot]}), []
    return None


def unit_words_kind(unit: str) -> str | None:
    """Return what a unit of the registry measures, as the lexicon has it."""
    return next((kind for kind, name in unit_words().values() if name == unit), None)


def _figure_of(slot: str, value: float) -> tuple[float, str] | None:
    """Return the figure and the unit in which a value was likely said: the one in which it is round."""
    _, said_in, target = _SAID_IN[slot]
    for unit in said_in:
        figure = value / units.factor(unit, target)
        if figure > 0.2 and any(abs(figure * step - round(figure * step)) < 0.0005 * step for step in (1, 4, 10)):
            return round(round(figure * 40) / 40, 3), unit
    return None


def in_unit_of_last(item: Item, context: Context) -> tuple[dict[str, Any], list[Doubt]] | None:
    """Return the slot that a lone figure corrects, in the unit of what was said last; None if there is none."""
    last: Slots = context.last.slots if context.last is not None else {}
    amount = item.quantity
    assert amount is not None
    if amount.kind == "temperature" or any(k.endswith("_c") for k in last):
        slot = next((k for k in last if k.endswith("_c")), None)
        return _temperature_of(slot, amount, last, context) if slot else None
    slot = next((k for k in last if k in _PLAIN or k in _SAID_IN), None)
    if slot is None or any(k in last for k in ("at", "soak_start", "ready_by")):
        return None
    if slot in _PLAIN:
        return {slot: int(amount.value) if slot == "pieces" else amount.value}, []
    said = _figure_of(slot, last[slot]) if amount.kind == "bare" else None
    if said is None:
        return None
    return {slot: amount.value * units.factor(said[1], _SAID_IN[slot][2])}, []


def _temperature_of(slot: str, amount: Quantity, last: Slots, context: Context) -> tuple[dict[str, Any], list[Doubt]]:
    scale = amount.unit or _scale_of(last[slot])
    if scale is None:
        slots, doubt = temperature(slot, amount, context)
        return slots, [doubt] if doubt else []
    value = amount.value if scale == "C" else units.celsius(amount.value, "degF")
    return ({slot: value}, []) if possible(slot, value) else ({}, [Doubt(slot, (), "implausible")])


def _scale_of(value: Any) -> str | None:
    """Return the scale in which a temperature was likely said: the one in which it is a whole figure."""
    f = units.fahrenheit(float(value))
    whole_f, whole_c = abs(f - round(f)) < 0.02, abs(value - round(value, 1)) < 0.0005
    if whole_f == whole_c:
        return None
    return "F" if whole_f else "C"
