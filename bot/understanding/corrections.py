"""Read what takes back or changes what was said before."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from bot.understanding.describing import read_description
from bot.understanding.items import Sheet
from bot.understanding.labels import slot_of
from bot.understanding.lot_names import lot_at
from bot.understanding.model import Context, Doubt, Heard, Slots
from bot.understanding.readings import read_readings
from bot.understanding.recipes import read_recipe
from bot.understanding.retractions import takes_back
from bot.understanding.same_figure import in_unit_of_last, other_unit
from bot.understanding.tense import asks
from bot.understanding.timing import time_slot, when_of
from bot.understanding.when import When
from bot.understanding.wordlists import words

_UNDO = words("corrections", "undo")
_LEADS = tuple(tuple(lead.split()) for lead in sorted(words("corrections", "leads")))
#: Leads that change something only with a comma, a figure or a thing of the same kind behind them.
_LOOSE = words("corrections", "loose")
_TAILS = words("corrections", "tails")
#: A correction is short; a longer message tells something new.
_LONGEST = 20
#: Words before "didn't".
_LEADING = frozenset({"i", "we", "no", "actually", "sorry", "oops", "wait", "ah", "oh", "but", "well"})
_THEY = frozenset({"it", "it's", "its", "they", "they're", "fish", "the", "is", "are"})
#: A message that only says that something is not so is as short as this.
_SHORT = 10
_VERBS_OF = frozenset({"rotated", "fuel", "water", "pulled", "fridge", "soak", "rinse", "dry", "smoke", "pack"})
_SHOULD_HAVE = (["been"], ["said"], ["read"], ["written"], ["typed"])
_DENYING = frozenset({"not", "instead"})
_TIME_SLOTS = ("at", "soak_start", "soak_end", "ready_by", "start_at", "smoke_at", "caught_at")
_PAST = frozenset({"at", "soak_start", "caught_at"})
Correction = tuple[Heard, list[Doubt]]


def read_correction(sheet: Sheet, context: Context) -> Correction | None:
    """Return the correction that the message is, or None."""
    if len(sheet.items) > _LONGEST:
        return None
    said = [w for w in " ".join(sheet.words()).split() if w not in {",", ".", "!", ":", "-", "…"}]
    if _undoes(said, context) or _undoes_and_says_why(sheet) or takes_back(said):
        return Heard("correct", {}), []
    if _denies_last(said, context) or _not_there(sheet, said, context):
        return Heard("correct", {}, old={k: v for k, v in context.last.slots.items() if k in {"what", "stage"}}), []  # type: ignore[union-attr]
    if "?" in sheet.text(len(sheet.items) - 1) or asks(said):
        return None
    changed = other_unit(said, context)
    if changed is not None:
        return changed
    if not _amends(sheet, said, context):
        return None
    return _relabelled(sheet, said, context) or _amended(sheet, context)


def _undoes(said: list[str], context: Context) -> bool:
    text = " ".join(said)
    if text in _UNDO or (_begun(said) and any(text.endswith(f" {undo}") for undo in _UNDO if " last" in undo)):
        return True
    if said[-1:] == ["delete"] and _begun(said):
        return True
    if any(text.startswith(u + " ") and len(said) <= len(u.split()) + 3 for u in _UNDO if " " in u or u == "undo"):
        return "?" not in text and not any(w[:1].isdigit() for w in said)
    if context.last is None or context.last.intent != "event":
        return False
    return text in words("corrections", "did_not")


def _undoes_and_says_why(sheet: Sheet) -> bool:
    """True for "ignore that, the probe was in the air"."""
    first = next((i for i in range(len(sheet.items)) if sheet.text(i) in {",", "-", "…"}), 0)
    figures = any(item.quantity or item.when for item in sheet.items)
    return " ".join(sheet.words(0, first)) in _UNDO and not figures


def _denies_last(said: list[str], context: Context) -> bool:
    """True for "I didn't rotate, only fuel" where it was said before that the racks were rotated."""
    last = context.last
    if last is None or last.intent != "event" or "?" in said:
        return False
    rest = said[next((i for i, word in enumerate(said) if word not in _LEADING), len(said)) :]
    flat = [word.replace("'", "") for word in rest]
    if flat[:2] == ["did", "not"] or flat[:2] == ["have", "not"]:
        flat = ["didnt", *flat[2:]]
    if flat[:1] not in (["didnt"], ["havent"], ["hadnt"], ["never"]):
        return False
    what = str(last.slots.get("what") or last.slots.get("stage"))
    verbs = words("corrections", f"verbs_{what}") if what in _VERBS_OF else frozenset()
    if "started" in last.slots:
        verbs -= words("events", "pull")  # what went in was not taken out again
    return bool(set(flat[1:4]) & verbs)


def _not_there(sheet: Sheet, said: list[str], context: Context) -> bool:
    """True for "not in the smoker yet" where it was said before that it is."""
    last = context.last
    if last is None or last.intent != "event" or "started" not in last.slots or {"?", "out", "off", "from"} & set(said):
        return False
    if len(said) > _SHORT:
        return False
    stage = last.slots.get("stage")
    there = any(stage in {item.key("place"), item.key("stage")} for item in sheet.items)
    begins = said[next((i for i, w in enumerate(said) if w not in _LEADING | _THEY), len(said)) :][:1]
    return there and (begins == ["not"] or bool(set(said[:3]) & {"isn't", "isnt", "aren't", "arent"}))


def _amends(sheet: Sheet, said: list[str], context: Context) -> bool:
    """True if the message begins or ends as an amendment does, or turns one thing against another."""
    begun = _begun(said)
    if begun[-1:] == ["should have"] and said[said.index("have") + 1 : said.index("have") + 2] not in _SHOULD_HAVE:
        return False  # "should have pulled them": it was not done
    if not begun:
        ends = any(" ".join(said).endswith(" " + tail) for tail in _TAILS)
        denies = bool(_DENYING & set(said[1:]) or "wrong" in said) and len(said) <= 10
        denies = denies and not {"still", "yet"} & set(said)  # "still not at 145, only 137"
        placed = any(item.key("place") for item in sheet.items)  # "in the fridge" is an event
        units_only = len(said) <= 3 and said[:1] == ["in"] and not placed
        return (
            context.last is not None and (ends or denies or units_only) and (_names_last(sheet, context) or units_only)
        )
    if begun[0] == "should be" and any(i.prep == "by" or (i.when and i.when.prep == "by") for i in sheet.items):
        return False  # "should be 145 by 4" is a guess
    if any(lead not in _LOOSE for lead in begun):
        return True
    if sheet.text(0) != begun[0].split()[0] or _says_not_done(sheet, begun):
        return False  # "no skin" is one word of the trade
    behind = sheet.text(len(begun[0].split()))
    if behind in {",", "-", ":", "…", ".", "!"} and begun[0] not in {"wait", "correct", "that's", "fix"}:
        return True
    return _names_last(sheet, context)


def _says_not_done(sheet: Sheet, begun: list[str]) -> bool:
    """True for "not taking it out before 8": what follows "not" is a deed, not a value."""
    following = sheet.items[min(len(begun), len(sheet.items) - 1)]
    return begun[-1] == "not" and following.kind == "word" and following.text not in {"a", "the", "at", "from", "in"}


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
    if context.last.intent == "reading" and any(slot_of(item) or item.key("lot") for item in sheet.items):
        return True
    timed = context.last.intent in {"reading", "event"} or kinds & set(_TIME_SLOTS)
    if timed and any(item.when is not None and not _only_today(item.when) for item in sheet.items):
        return True
    return _amount_of_last(sheet, kinds)


def _only_today(when: When) -> bool:
    """True for "no water pan today": the day is no other time."""
    return when.day == 0 and when.hour is None and not when.part


def _amount_of_last(sheet: Sheet, kinds: set[str]) -> bool:
    amounts = {item.quantity.kind for item in sheet.items if item.quantity is not None}
    of_kind = {
        "mass": {"mass_g", "salt_g", "sugar_g"}, "length": {"thickness_mm", "lots"},
        "volume": {"water_ml", "brine_ml", "salt_ml_per_l"}, "percent": {"rh_pct", "salt_pct", "salt_per_fish_pct"},
    }  # fmt: skip
    if any(kind in amounts and kinds & slots for kind, slots in of_kind.items()):
        return True
    if amounts & {"bare", "temperature"} and any(k.endswith("_c") for k in kinds):
        return True
    return "bare" in amounts and bool(
        kinds & {"pieces", "salometer_deg", "rh_pct", "mass_g", "thickness_mm", *_TIME_SLOTS}
    )


def _relabelled(sheet: Sheet, said: list[str], context: Context) -> Correction | None:
    """Read "that was the chamber", "it was the big ones": the figure stands, its label or lot changes."""
    last: Slots = context.last.slots if context.last is not None and context.last.intent == "reading" else {}
    if not last or any(item.quantity for item in sheet.items) or any(item.when for item in sheet.items):
        return None
    against = next((i for i in range(len(sheet.items)) if sheet.text(i) in _DENYING and i > 0), len(sheet.items))
    slot = next((s for item in sheet.items[:against] if (s := slot_of(item))), None)
    old_slot = next((k for k in last if k.endswith("_c")), None)
    if slot is not None and slot == old_slot:
        return None
    if slot is not None and old_slot is not None and slot.endswith("_c"):
        return Heard("correct", {slot: last[old_slot]}, old={old_slot: last[old_slot]}), []
    lot = next((lot for i in range(against) if (lot := lot_at(sheet, i, context))), None)
    return (Heard("correct", {"lot": lot}), []) if lot else None


def _amended(sheet: Sheet, context: Context) -> Correction | None:
    """Read "no, 3 kg", "I meant chum", "make that 6 am", "that was 141 not 114"."""
    denied = _denied(sheet)
    old: dict[str, Any] = {}
    if denied is not None:
        part = Sheet(sheet.items[denied[0] : denied[1]])
        old = _values(part, context)[0]
        for i in range(*denied):
            sheet.taken[i] = True
    slots, doubts = _values(sheet, context)
    if not slots and not doubts:
        return None
    return Heard("correct", slots, old={k: v for k, v in old.items() if k in slots} or None), doubts


def _denied(sheet: Sheet) -> tuple[int, int] | None:
    """Return the stretch that is said not to be so: ``not 4 lb``, ``instead of coho``, ``114 was wrong``."""
    end = len(sheet.items)
    for i in range(end):
        if sheet.text(i) in _DENYING:
            stop = next((j for j in range(i + 1, end) if sheet.text(j) in {",", ";", "-", "but", "."}), end)
            later = any(item.quantity or item.senses or item.when for item in sheet.items[stop:])
            earlier = any(item.quantity or item.senses or item.when for item in sheet.items[:i])
            return (i, stop) if later or earlier else None
        if sheet.text(i) == "wrong" and i > 1 and sheet.items[0].quantity is not None:
            return (0, i + 1)
    return None


def _values(sheet: Sheet, context: Context) -> tuple[dict[str, Any], list[Doubt]]:
    """Return all values in a stretch, and those open."""
    slots: dict[str, Any] = {}
    doubts: list[Doubt] = []
    _bare_figure(sheet, context, slots, doubts)
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
    _time(sheet, context, slots, doubts)
    _lot(sheet, context, slots)
    _by_last(context, slots)
    return slots, doubts


def _bare_figure(sheet: Sheet, context: Context, slots: dict[str, Any], doubts: list[Doubt]) -> None:
    """Give a lone figure to the slot that was said last, in its unit: ``no, 141``, ``make it 5``."""
    if context.last is None or any(slot_of(item) for item in sheet.items):
        return
    figures = [
        i for i in range(len(sheet.items)) if (a := sheet.amount(i)) and a.kind in {"bare", "temperature", "percent"}
    ]
    if len(figures) != 1:
        return
    found = in_unit_of_last(sheet.items[figures[0]], context)
    if found is not None:
        slots.update(found[0])
        doubts += found[1]
        sheet.take(figures[0], figures[0], "correction: a figure for what was said last", ", ".join(found[0]))


def _time(sheet: Sheet, context: Context, slots: dict[str, Any], doubts: list[Doubt]) -> None:
    last: Slots = context.last.slots if context.last is not None else {}
    slot = next((k for k in _TIME_SLOTS if k in last), "at")
    for i, item in enumerate(sheet.items):
        lone_hour = slot in last and not slots and not doubts
        if sheet.taken[i] or when_of(item, any_prep=lone_hour) is None:
            continue
        found, doubt = time_slot(sheet, i, slot, _direction(slot, last, context), context)
        slots.update(found)
        doubts += [doubt] if doubt else []
        return


def _direction(slot: str, last: Slots, context: Context) -> str:
    """Return where a corrected time lies: a start that was still to come may be moved to another time ahead."""
    before = last.get(slot)
    ahead = slot == "soak_start" and before is not None and datetime.fromisoformat(before) > context.now
    return "past" if slot in _PAST and not ahead else "future"


def _lot(sheet: Sheet, context: Context, slots: dict[str, Any]) -> None:
    if any(k.endswith("_c") for k in slots) and "lot" not in slots:
        lot = next(
            (lot for i in range(len(sheet.items)) if not sheet.taken[i] and (lot := lot_at(sheet, i, context))), None
        )
        slots.update({"lot": lot} if lot else {})


def _by_last(context: Context, slots: dict[str, Any]) -> None:
    """Give a mass to the salt or the sugar where that, not fish, was weighed in what was said last."""
    last: Slots = context.last.slots if context.last is not None else {}
    if "mass_g" in slots and "mass_g" not in last:
        for key in ("salt_g", "sugar_g"):
            if key in last and not {"salt_g", "sugar_g"} & set(slots):
                slots[key] = slots.pop("mass_g")
                return
