"""Read short replies by what was asked or rung for: "131", "done", "an hour ago", "both", "yes"."""

from __future__ import annotations

from bot.understanding.hearsay import told_by_others
from bot.understanding.items import Sheet
from bot.understanding.model import Context, Doubt, Heard, Slots
from bot.understanding.plausible import possible, readings_c
from bot.understanding.quantities import Quantity
from bot.understanding.readings import HOTTEST_LOOSE_CORE_C
from bot.understanding.rings import to_rung
from bot.understanding.temperatures import temperature
from bot.understanding.tense import negated
from bot.understanding.text import plain
from bot.understanding.timing import time_slot, when_of
from bot.understanding.tokens import tokens
from bot.understanding.unitless import BARE_UNITS, unitless
from bot.understanding.vocabulary import strange
from bot.understanding.wordlists import words
from planner import units

_YES = words("answers", "yes")
_NO = words("answers", "no")
_LONGEST = 12
Answer = tuple[Heard, list[Doubt]]
#: Words that may stand beside a lone figure without changing what it is.
_LIGHT = words("answers", "light")
_PAST_SLOTS = frozenset({"caught_at", "soak_start", "at"})


def read_option(text: str, context: Context) -> Heard | None:
    """Return the slots of the offered option whose label, or the one word that tells it apart, was typed."""
    typed = _parts(text)
    if not typed or not context.asked_options:
        return None
    if 1 < len(typed) <= _LONGEST_CHOICE:
        typed = _parts(" ".join(w for w in text.lower().replace(",", " ").split() if w not in _BEFORE_CHOICE)) or typed
    labels = [_parts(label) for label, _ in context.asked_options]
    hits = [n for n, label in enumerate(labels) if typed == label]
    hits = hits or [n for n, label in enumerate(labels) if len(typed) <= 2 and _tells_apart(typed, label, labels)]
    if len(labels) == 1 and all(word in _YES for word in typed):
        hits = [0]
    if len(hits) != 1:
        return None
    slots = context.asked_options[hits[0]][1]
    if not slots:
        return Heard("chat")
    return Heard("reading" if _is_reading(slots) else "describe", dict(slots))


_LONGEST_CHOICE = 7
#: Words that may stand before a choice: "sorry, I meant fahrenheit".
_BEFORE_CHOICE = words("answers", "before_choice")
_SHORTER = {"celsius": "c", "celcius": "c", "fahrenheit": "f", "farenheit": "f", "inches": "inch", "in": "inch",
            "morning": "am", "evening": "pm", "pounds": "pound", "lb": "pound", "lbs": "pound", "kg": "kilogram",
            "kilos": "kilogram", "cm": "centimeter", "mm": "millimeter", "night": "pm"}  # fmt: skip


def _parts(text: str) -> list[str]:
    found = [t.text for t in tokens(plain(text).text) if t.kind in {"word", "num", "clock"}]
    return [_SHORTER.get(word, word) for word in found]


def _tells_apart(typed: list[str], label: list[str], labels: list[list[str]]) -> bool:
    """True if what was typed stands in this label and in no other."""
    return all(t in label for t in typed) and sum(all(t in other for t in typed) for other in labels) == 1


def _is_reading(slots: Slots) -> bool:
    return bool(set(slots) & {"core_c", "chamber_c", "fridge_c", "surface", "firmness"})


def read_answer(sheet: Sheet, context: Context) -> list[Answer] | None:
    """Return what a short reply says, given what was asked or rung for."""
    if len(sheet.items) > _LONGEST:
        return None
    said = [w for text in sheet.words() for w in text.split() if any(c.isalnum() for c in w)]
    if not said or len(said) > 8:
        return None
    asked = _to_asked(sheet, said, context)
    if asked is not None:
        return [asked]
    rung = to_rung(sheet, said, context)
    if rung is not None:
        return rung
    loose = _to_stage(sheet, said, context)
    return [loose] if loose is not None else _several_cores(sheet, context)


def _to_asked(sheet: Sheet, said: list[str], context: Context) -> tuple[Heard, list[Doubt]] | None:
    slot = context.asked
    if slot is None or (slot.endswith("_c") and _no_answer(sheet, said)):
        return None
    if slot == "thickness_mm" and set(said) & {"inch"} and not any(item.quantity for item in sheet.items):
        return Heard("describe", {slot: units.millimetres(1.0, "inch")}), []
    for i, item in enumerate(sheet.items):
        amount = sheet.amount(i)
        if amount is not None and not (
            amount.kind in {"bare", "temperature"} and strange(sheet, (0, len(sheet.items)))
        ):
            found = _amount_for(slot, amount, context)
            if found is not None:
                return found
        if slot in _PAST_SLOTS | {"ready_by", "start_at", "soak_end"} and when_of(item, any_prep=True) is not None:
            slots, doubt = time_slot(sheet, i, slot, "past" if slot in _PAST_SLOTS else "future", context)
            return Heard("describe" if slot != "at" else "event", slots), [doubt] if doubt else []
        key = item.key(slot)
        if key is not None:
            return Heard("reading" if slot in {"surface", "firmness"} else "describe", {slot: key}), []
    if slot in {"fan", "water_pan"} and set(said) & (_YES | _NO):
        return Heard("describe", {slot: not set(said) & _NO}), []
    if slot == "skin" and set(said) & {"on", "off"}:
        return Heard("describe", {"skin": "on" if "on" in said else "off"}), []
    return None


def _no_answer(sheet: Sheet, said: list[str]) -> bool:
    """True where a temperature is hoped for, or is another's: no answer to what was asked."""
    return bool(set(said) & words("readings", "hoped")) or negated(said) or told_by_others(sheet)


_KIND = {
    "thickness_mm": "length",
    "mass_g": "mass",
    "salt_g": "mass",
    "sugar_g": "mass",
    "water_ml": "volume",
    "brine_ml": "volume",
}


def _amount_for(slot: str, amount: Quantity, context: Context) -> tuple[Heard, list[Doubt]] | None:
    """Return the answer that an amount gives to a question for ``slot``."""
    intent = (
        "reading" if slot in {"core_c", "chamber_c", "rh_pct", "fridge_c", "air_c", "salometer_deg"} else "describe"
    )
    if _KIND.get(slot) == amount.kind:
        return _checked(intent, slot, amount.value)
    if slot.endswith("_c") and amount.kind in {"temperature", "bare"}:
        slots, doubt = temperature(slot, amount, context)
        return Heard(intent, slots), [doubt] if doubt else []
    if slot in {"soak_h", "warm_h"} and amount.kind in {"time", "bare"}:
        return _checked(intent, slot, amount.value / 3600 if amount.kind == "time" else amount.value)
    if amount.kind in {"bare", "percent"} and slot in {
        "rh_pct",
        "pieces",
        "salometer_deg",
        "salt_pct",
        "salt_per_fish_pct",
    }:
        return _checked(intent, slot, amount.value)
    if amount.kind == "bare" and slot in BARE_UNITS:
        value, doubt = unitless(slot, amount, context)
        return (Heard(intent, {}), [doubt]) if doubt else _checked(intent, slot, value or 0.0)
    return None


def _checked(intent: str, slot: str, value: float) -> tuple[Heard, list[Doubt]]:
    if possible(slot, value):
        return Heard(intent, {slot: int(value) if slot == "pieces" else value}), []
    return Heard(intent, {}), [Doubt(slot, (), "implausible")]


def _lone_figure(sheet: Sheet) -> int | None:
    kinds = {"bare", "temperature", "percent"}
    found = [i for i in range(len(sheet.items)) if (a := sheet.amount(i)) and a.kind in kinds]
    return found[0] if len(found) == 1 else None


def _several_cores(sheet: Sheet, context: Context) -> list[Answer] | None:
    """Read ``161 and 158``: two cores, where nothing else is said."""
    figures = [i for i, item in enumerate(sheet.items) if item.quantity is not None]
    others = [item for item in sheet.items if item.quantity is None and item.kind != "end"]
    if context.stage not in {"smoke", "cool"} or not 2 <= len(figures) <= 4:
        return None
    if any(item.text not in _LIGHT | {"and", "&", ",", "/", "n"} for item in others):
        return None
    if any(sheet.items[i].quantity.kind not in {"bare", "temperature"} for i in figures):  # type: ignore[union-attr]
        return None
    if len({sheet.text(i) for i in figures}) < len(figures):
        return None  # 50/50
    found = [_loose_core(sheet, i, context) for i in figures]
    return [answer for answer in found if answer is not None] if all(found) else None


def _to_stage(sheet: Sheet, said: list[str], context: Context) -> tuple[Heard, list[Doubt]] | None:
    """Read a lone figure in the smoke, where nothing was asked: core or chamber."""
    figure = _lone_figure(sheet)
    if figure is None or context.stage not in {"smoke", "cool"}:
        return None
    if any(i != figure and item.kind != "end" and item.text not in _LIGHT for i, item in enumerate(sheet.items)):
        return None
    return _loose_core(sheet, figure, context)


def _loose_core(sheet: Sheet, figure: int, context: Context) -> Answer | None:
    """Read a figure with no label as a core, a chamber, or as one of them that must be asked."""
    amount = sheet.items[figure].quantity
    assert amount is not None
    if amount.kind == "percent":
        return None
    if amount.kind == "bare" and amount.value < 30:
        return None
    if amount.kind == "bare" and not readings_c("core_c", amount.low) and readings_c("chamber_c", amount.low):
        slots, doubt = temperature("chamber_c", amount, context)
        return Heard("reading", slots), [doubt] if doubt else []
    slots, doubt = temperature("core_c", amount, context)
    hot = slots.get("core_c", 0.0) > HOTTEST_LOOSE_CORE_C
    if hot:
        options = (("core", dict(slots)), ("chamber", {"chamber_c": slots["core_c"]}))
        return Heard("reading", {}), [Doubt("core_c", options, "core or chamber")]
    return Heard("reading", slots), [doubt] if doubt else []
