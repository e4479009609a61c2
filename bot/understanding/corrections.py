"""Read what takes back or changes what was said before."""

from __future__ import annotations

from typing import Any

from bot.understanding.describing import read_description
from bot.understanding.items import Sheet
from bot.understanding.model import Context, Doubt, Heard, Slots
from bot.understanding.readings import read_readings, slot_of, temperature
from bot.understanding.recipes import read_recipe
from bot.understanding.tense import asks
from bot.understanding.timing import time_slot, when_of
from bot.understanding.wordlists import words
from planner import units

_UNDO = words("corrections", "undo")
_LEADS = tuple(tuple(lead.split()) for lead in sorted(words("corrections", "leads")))
#: Leads that change something only with a comma, a figure or a thing of the same kind behind them.
_LOOSE = words("corrections", "loose")
_SCALES = {
    "fahrenheit": "F", "farenheit": "F", "celsius": "C", "celcius": "C", "centigrade": "C", "f": "F", "c": "C",
    "metric": "C", "fahrenhiet": "F",
}  # fmt: skip
_TIME_SLOTS = ("at", "soak_start", "soak_end", "ready_by", "start_at", "caught_at")
_PAST = frozenset({"at", "soak_start", "caught_at"})
Correction = tuple[Heard, list[Doubt]]


def read_correction(sheet: Sheet, context: Context) -> Correction | None:
    """Return the correction that the message is, or None."""
    said = [w for w in " ".join(sheet.words()).split() if w not in {",", ".", "!", ":", "-", "…"}]
    text = " ".join(said)
    if text in _UNDO or any(text.startswith(u + " ") and len(said) <= len(u.split()) + 3 for u in _UNDO if " " in u):
        return Heard("correct", {}), []
    if "?" in sheet.text(len(sheet.items) - 1) or asks(said):
        return None
    scale = _scale_only(said, context)
    if scale is not None:
        return scale, []
    swapped = _swapped(sheet, said, context)
    if swapped is not None:
        return swapped
    return _amended(sheet, context) if _leads(sheet, said, context) else None


def _leads(sheet: Sheet, said: list[str], context: Context) -> bool:
    """True if the message begins as an amendment does, or turns one thing against another: ``chum, not coho``."""
    begun = _begun(said)
    if not begun:
        return context.last is not None and "not" in said[1:] and len(said) <= 8 and _names_last(sheet, context)
    if any(lead not in _LOOSE for lead in begun):
        return True
    if sheet.text(0) != begun[0].split()[0]:
        return False  # "no skin" is one word of the trade
    behind = sheet.text(len(begun[0].split()))
    if behind in {",", "-", ":", "…", ".", "!"} and begun[0] not in {"wait", "correct", "that's", "fix"}:
        return True
    return _names_last(sheet, context)


def _begun(said: list[str]) -> list[str]:
    """Return the words of amending that a message begins with, one after another."""
    found: list[str] = []
    rest = list(said)
    while rest:
        fits = [lead for lead in _LEADS if tuple(rest[: len(lead)]) == lead]
        if not fits:
            break
        lead = max(fits, key=len)
        found.append(" ".join(lead))
        rest = rest[len(lead) :]
    return found


def _names_last(sheet: Sheet, context: Context) -> bool:
    """True if the message names something of the kind that was said last."""
    if context.last is None:
        return False
    kinds = set(context.last.slots)
    if context.last.intent == "describe":
        kinds |= {"species", "form", "skin", "state", "salt_kind", "cure"}
    if any(category in kinds for item in sheet.items for category, _ in item.senses):
        return True
    if kinds & set(_TIME_SLOTS) and any(when_of(item) is not None for item in sheet.items):
        return True
    amounts = {item.quantity.kind for item in sheet.items if item.quantity is not None}
    return bool(
        ("mass" in amounts and kinds & {"mass_g", "salt_g", "sugar_g"})
        or ("length" in amounts and "thickness_mm" in kinds)
        or (amounts & {"bare", "temperature"} and any(k.endswith("_c") for k in kinds))
        or ("volume" in amounts and kinds & {"water_ml", "brine_ml", "salt_ml_per_l"})
        or (amounts & {"percent", "bare"} and any(k.endswith("_pct") for k in kinds))
        or ("bare" in amounts and kinds & {"pieces", "salometer_deg"})
    )


def _scale_only(said: list[str], context: Context) -> Heard | None:
    """Read "that was fahrenheit": the figure said before, in the other scale."""
    if context.last is None or len(said) > 8 or any(ch.isdigit() for w in said for ch in w):
        return None
    named = [_SCALES[w] for w in said if w in _SCALES]
    if not named or not words("corrections", "scale_cues") & set(said):
        return None
    wanted = named[0]
    if "not" in said:
        denied = next((_SCALES[w] for w in said[said.index("not") + 1 :] if w in _SCALES), None)
        wanted = {"C": "F", "F": "C"}.get(denied or "", wanted)
    changed = {k: _other_scale(v, wanted) for k, v in context.last.slots.items() if k.endswith("_c")}
    if not changed:
        return None
    return Heard("correct", changed, old={k: context.last.slots[k] for k in changed})


def _other_scale(value_c: float, wanted: str) -> float:
    """Return what the figure would be had it been said in ``wanted``; it was taken in the other scale."""
    return units.celsius(value_c, "degF") if wanted == "F" else units.fahrenheit(value_c)


def _last_slot(context: Context) -> str | None:
    if context.last is None:
        return None
    keys = [k for k, v in context.last.slots.items() if isinstance(v, int | float) and not isinstance(v, bool)]
    temperatures = [k for k in keys if k.endswith("_c")]
    return temperatures[0] if temperatures else keys[0] if len(keys) == 1 else None


def _swapped(sheet: Sheet, said: list[str], context: Context) -> Correction | None:
    """Read "that was 141 not 114", "not 114, 141", "141 instead of 114"."""
    figures = [i for i in range(len(sheet.items)) if (a := sheet.amount(i)) and a.kind in {"bare", "temperature"}]
    against = [i for i in range(len(sheet.items)) if {"not", "instead"} & set(sheet.text(i).split())]
    if len(figures) != 2 or not against or len(said) > 10:
        return None
    wrong = figures[0] if against[0] < figures[0] else figures[1]
    right = figures[1] if wrong == figures[0] else figures[0]
    slot = next((s for item in sheet.items if (s := slot_of(item))), None) or _last_slot(context)
    if slot is None:
        slot = "core_c" if context.stage in {"smoke", "cool"} else None
    if slot is None:
        return None
    new, doubt = _in_scale(sheet, right, slot, context)
    old, _ = _in_scale(sheet, wrong, slot, context)
    return Heard("correct", new, old=old or None), [doubt] if doubt else []


def _in_scale(sheet: Sheet, i: int, slot: str, context: Context) -> tuple[dict[str, Any], Doubt | None]:
    amount = sheet.amount(i)
    assert amount is not None
    if not slot.endswith("_c"):
        return {slot: amount.value}, None
    scale = amount.unit or _last_scale(slot, context)
    if scale and not amount.unit:
        return {slot: amount.value if scale == "C" else units.celsius(amount.value, "degF")}, None
    return temperature(slot, amount, context)


def _last_scale(slot: str, context: Context) -> str | None:
    """Return the scale in which the corrected figure was likely said: the one in which it is a round figure."""
    value = context.last.slots.get(slot) if context.last is not None else None
    if not isinstance(value, int | float):
        return None
    f = units.fahrenheit(float(value))
    round_f, round_c = abs(f - round(f)) < 0.02, abs(value - round(value, 1)) < 0.0005
    if round_f == round_c:
        return None
    return "F" if round_f else "C"


def _amended(sheet: Sheet, context: Context) -> Correction | None:
    """Read "no, 3 kg", "I meant chum", "make that 6 am"."""
    slots: dict[str, Any] = {}
    doubts: list[Doubt] = []
    _drop_denied(sheet)
    recipe = read_recipe(sheet, context)
    if recipe is not None:
        slots.update(recipe.slots)
        doubts += recipe.doubts
    for reading in read_readings(sheet, (0, len(sheet.items)), context):
        slots.update(reading.slots)
        doubts += [reading.doubt] if reading.doubt else []
    described = read_description(sheet, context, aims=False)
    slots.update(described.slots)
    doubts += described.doubts
    _amended_time(sheet, context, slots, doubts)
    _bare_figure(sheet, context, slots, doubts)
    _by_last(context, slots)
    if not slots and not doubts:
        return None
    return Heard("correct", slots), doubts


def _drop_denied(sheet: Sheet) -> None:
    """Mark what follows "not" as read, so that it is not taken for the new value: ``3 kg, not 4 lb``."""
    for i in range(1, len(sheet.items)):
        if sheet.text(i) == "not" and i + 1 < len(sheet.items) and i > 1:
            sheet.take(i, len(sheet.items) - 1, "correction: what it is not", "left out")
            return


def _by_last(context: Context, slots: dict[str, Any]) -> None:
    """Give a mass to the salt where salt, not fish, was weighed in what was said last; a lot stays the last one's."""
    last: Slots = context.last.slots if context.last is not None else {}
    if "mass_g" in slots and "mass_g" not in last:
        for key in ("salt_g", "sugar_g"):
            if key in last and not {"salt_g", "sugar_g"} & set(slots):
                slots[key] = slots.pop("mass_g")
                return


def _amended_time(sheet: Sheet, context: Context, slots: dict[str, Any], doubts: list[Doubt]) -> None:
    last: Slots = context.last.slots if context.last is not None else {}
    for i, item in enumerate(sheet.items):
        if sheet.taken[i] or when_of(item) is None:
            continue
        slot = next((k for k in _TIME_SLOTS if k in last), "at")
        found, doubt = time_slot(sheet, i, slot, "past" if slot in _PAST else "future", context)
        slots.update(found)
        doubts += [doubt] if doubt else []
        return


def _bare_figure(sheet: Sheet, context: Context, slots: dict[str, Any], doubts: list[Doubt]) -> None:
    """Give a lone figure to the slot that was said last: ``no, 141``, ``make that 6``."""
    if slots or doubts or context.last is None:
        return
    figures = [
        i for i in range(len(sheet.items)) if (a := sheet.amount(i)) and a.kind in {"bare", "temperature", "percent"}
    ]
    if len(figures) != 1:
        return
    slot = _last_slot(context)
    time_key = next((k for k in _TIME_SLOTS if k in context.last.slots), None)
    if slot is None and time_key is not None and when_of(sheet.items[figures[0]], any_prep=True) is not None:
        found, doubt = time_slot(sheet, figures[0], time_key, "past" if time_key in _PAST else "future", context)
    elif slot is None:
        return
    elif slot.endswith("_c"):
        found, doubt = _in_scale(sheet, figures[0], slot, context)
    elif slot == "mass_g" or slot.endswith(("_g", "_ml", "_mm")):
        return
    else:
        value = sheet.items[figures[0]].quantity.value  # type: ignore[union-attr]
        slots[slot] = int(value) if slot == "pieces" else value
        return
    slots.update(found)
    doubts += [doubt] if doubt else []
