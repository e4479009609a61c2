# ruff: noqa: E501
"""Read what takes back or changes what was said before."""

from __future__ import annotations

from typing import Any

from bot.understanding.describing import read_description
from bot.understanding.items import Sheet
from bot.understanding.model import Context, Doubt, Heard, Slots
from bot.understanding.readings import read_readings, slot_of, temperature
from bot.understanding.recipes import read_recipe
from bot.understanding.timing import time_slot, when_of
from planner import units

_UNDO = (
    "undo", "scratch that", "scratch it", "strike that", "forget that", "forget it", "never mind that", "cancel that",
    "delete that", "ignore that", "take that back", "disregard", "ignore last", "ignore my last", "delete last",
    "undo that", "scrap that", "remove that", "wrong chat", "that was wrong", "delete the last one", "undo last",
    "cancel last", "take it back", "not that one", "disregard that", "disregard last", "drop that", "nvm that", "ignore previous reading",
)  # fmt: skip
_LEADS = (
    ("no",), ("nope",), ("nah",), ("sorry",), ("oops",), ("actually",), ("correction",), ("typo",), ("i", "meant"), ("meant",),
    ("i", "mean"), ("make", "that"), ("make", "it"), ("that", "was"), ("that's",), ("that", "should"), ("should", "be"), ("should", "have"),
    ("it", "was"), ("it's", "not"), ("not",), ("wait",), ("my", "bad"), ("whoops",), ("woops",), ("change", "that"), ("change", "it"),
    ("fix",), ("ooops",), ("err",), ("ah", "sorry"), ("wrong",), ("its", "not"), ("correct", "that"), ("that", "is"), ("those", "were"),
    ("they", "were"), ("was",), ("i", "said"), ("fat", "fingers"), ("change",), ("*",), ("edit",), ("misread",), ("read", "it", "wrong"),
)  # fmt: skip
_SCALE_WORDS = {
    "fahrenheit": "F",
    "farenheit": "F",
    "celsius": "C",
    "celcius": "C",
    "centigrade": "C",
    "f": "F",
    "c": "C",
}


def read_correction(sheet: Sheet, context: Context) -> tuple[Heard, list[Doubt]] | None:
    """Return the correction that the message is, or None."""
    words = [w for w in " ".join(sheet.words()).split() if w not in {",", ".", "!", ":", "-"}]
    text = " ".join(words)
    if text in _UNDO or any(text.startswith(u + " ") and len(words) <= len(u.split()) + 3 for u in _UNDO):
        return Heard("correct", {}), []
    scale = _scale_only(words, context)
    if scale is not None:
        return scale, []
    if not any(tuple(words[: len(lead)]) == lead for lead in _LEADS):
        return None
    return _swapped(sheet, words, context) or _amended(sheet, words, context)


def _scale_only(words: list[str], context: Context) -> Heard | None:
    """Read "that was fahrenheit": the figure said before, in the other scale."""
    if context.last is None or len(words) > 8 or any(ch.isdigit() for w in words for ch in w):
        return None
    named = [_SCALE_WORDS[w] for w in words if w in _SCALE_WORDS]
    if not named or not {"that", "was", "meant", "no", "in", "sorry", "it", "oops", "mean", "not"} & set(
        words
    ):
        return None
    wanted = named[0]
    if "not" in words:
        denied = next((_SCALE_WORDS[w] for w in words[words.index("not") + 1 :] if w in _SCALE_WORDS), None)
        wanted = ("C" if denied == "F" else "F") if denied else wanted
    changed = {k: _other_scale(v, wanted) for k, v in context.last.slots.items() if k.endswith("_c")}
    if not changed:
        return None
    old = {k: context.last.slots[k] for k in changed}
    return Heard("correct", changed, old=old)


def _other_scale(value_c: float, wanted: str) -> float:
    """Return what the figure would be had it been said in ``wanted``; it was taken in the other scale."""
    return units.celsius(value_c, "degF") if wanted == "F" else units.fahrenheit(value_c)


def _last_slot(context: Context, old: float | None) -> str | None:
    if context.last is None:
        return None
    keys = [
        k for k, v in context.last.slots.items() if isinstance(v, int | float) and not isinstance(v, bool)
    ]
    temps = [k for k in keys if k.endswith("_c")]
    return temps[0] if temps else keys[0] if len(keys) == 1 else None


def _swapped(sheet: Sheet, words: list[str], context: Context) -> tuple[Heard, list[Doubt]] | None:
    """Read "that was 141 not 114" and "not 114, 141"."""
    figures = [
        i for i in range(len(sheet.items)) if (a := sheet.amount(i)) and a.kind in {"bare", "temperature"}
    ]
    if len(figures) != 2 or "not" not in words:
        return None
    negated_at = next(i for i in range(len(sheet.items)) if "not" in sheet.text(i).split())
    wrong = figures[0] if negated_at < figures[0] else figures[1]
    right = figures[1] if wrong == figures[0] else figures[0]
    slot = (
        next((s for item in sheet.items if (s := slot_of(item))), None)
        or _last_slot(context, None)
        or "core_c"
    )
    if not slot.endswith("_c"):
        return None
    new, doubt = _in_scale(sheet, right, slot, context)
    old, _ = _in_scale(sheet, wrong, slot, context)
    return Heard("correct", new, old=old or None), [doubt] if doubt else []


def _in_scale(sheet: Sheet, i: int, slot: str, context: Context) -> tuple[dict[str, Any], Doubt | None]:
    amount = sheet.amount(i)
    assert amount is not None
    scale = amount.unit or _last_scale(slot, context)
    if scale and not amount.unit:
        value = amount.value if scale == "C" else units.celsius(amount.value, "degF")
        return {slot: value}, None
    return temperature(slot, amount, context)


def _last_scale(slot: str, context: Context) -> str | None:
    """Return the scale in which the corrected figure was likely said: the one in which it is a round figure."""
    value = context.last.slots.get(slot) if context.last is not None else None
    if not isinstance(value, int | float):
        return None
    f = units.fahrenheit(float(value))
    round_f, round_c = abs(f - round(f)) < 0.02, abs(value - round(value, 1)) < 0.002
    if round_f == round_c:
        return None
    return "F" if round_f else "C"


def _amended(sheet: Sheet, words: list[str], context: Context) -> tuple[Heard, list[Doubt]] | None:
    """Read "no, 3 kg", "I meant chum", "make that 6 am"."""
    slots: dict[str, Any] = {}
    doubts: list[Doubt] = []
    recipe = read_recipe(sheet)
    slots.update(recipe[0] if recipe else {})
    for reading in read_readings(sheet, (0, len(sheet.items)), context):
        slots.update(reading.slots)
        doubts += [reading.doubt] if reading.doubt else []
    described = read_description(sheet, context)
    slots.update(described.slots)
    doubts += described.doubts
    _amended_time(sheet, context, slots, doubts)
    _bare_figure(sheet, context, slots, doubts)
    if (
        "mass_g" in slots
        and context.last is not None
        and "salt_g" in context.last.slots
        and "mass_g" not in context.last.slots
    ):
        slots["salt_g"] = slots.pop("mass_g")
    if not slots and not doubts:
        return None
    return Heard("correct", slots), doubts


def _time_slot_of(last: Slots) -> str | None:
    return next(
        (k for k in ("at", "soak_start", "soak_end", "ready_by", "start_at", "caught_at") if k in last), None
    )


def _amended_time(sheet: Sheet, context: Context, slots: dict[str, Any], doubts: list[Doubt]) -> None:
    last = context.last
    for i, item in enumerate(sheet.items):
        if sheet.taken[i] or when_of(item) is None:
            continue
        slot = (_time_slot_of(last.slots) if last is not None else None) or "at"
        direction = "past" if slot in {"at", "soak_start", "caught_at"} else "future"
        found, doubt = time_slot(sheet, i, slot, direction, context)
        slots.update(found)
        doubts += [doubt] if doubt else []
        return


def _bare_figure(sheet: Sheet, context: Context, slots: dict[str, Any], doubts: list[Doubt]) -> None:
    """Give a lone figure to the slot that was said last."""
    if slots or doubts or context.last is None:
        return
    slot = _last_slot(context, None)
    figures = [
        i for i in range(len(sheet.items)) if (a := sheet.amount(i)) and a.kind in {"bare", "temperature"}
    ]
    if slot is None or len(figures) != 1:
        return
    if slot.endswith("_c"):
        found, doubt = _in_scale(sheet, figures[0], slot, context)
        slots.update(found)
        doubts += [doubt] if doubt else []
    elif slot in {"rh_pct", "salometer_deg", "pieces", "salt_pct"}:
        slots[slot] = sheet.items[figures[0]].quantity.value  # type: ignore[union-attr]
