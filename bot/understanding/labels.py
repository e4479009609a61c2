"""Words that say what a figure is of: core, chamber, air, fridge."""

from __future__ import annotations

from bot.understanding.items import Item, Sheet
from bot.understanding.model import Context
from bot.understanding.plausible import readings_c
from bot.understanding.quantities import Quantity
from bot.understanding.wordlists import words

_LABEL_SLOT = {
    "core": "core_c", "chamber": "chamber_c", "air": "air_c", "fridge": "fridge_c", "rh": "rh_pct", "wind": "wind_m_s",
    "salometer": "salometer_deg",
}  # fmt: skip
#: What was rung for -> the slot that a figure fills.
RUNG_SLOT = {
    "core": "core_c", "chamber": "chamber_c", "air": "air_c", "fridge": "fridge_c", "rh": "rh_pct",
    "salometer": "salometer_deg",
}  # fmt: skip
#: Words behind which a bare figure is an hour, never a reading.
_NO_READING = words("timing", "no_reading_preps")
#: Words of coming and going, behind which "at 10" is an hour.
_MOVED = words("readings", "moved")
_LIGHTING = words("readings", "lighting")
#: Labels that are everyday things too: an impossible figure beside one is about something else.
_EVERYDAY = words("readings", "everyday_labels")


def slot_of(item: Item) -> str | None:
    """Return the slot that a label names."""
    key = item.key("label")
    return _LABEL_SLOT.get(key) if key else None


def label_at(sheet: Sheet, i: int, context: Context) -> str | None:
    """Return the slot that the item labels."""
    before = sheet.items[i - 1].quantity if i else None
    if sheet.text(i) == "stuck" and before is not None and before.kind == "bare":
        return None  # 6 Stück
    weak = _weak_slot(sheet, i, context)
    return weak if sheet.text(i) == "outside" and weak else slot_of(sheet.items[i]) or weak


def label_elsewhere(sheet: Sheet, i: int, context: Context) -> bool:
    """True for a label that means something else in this stage, or always: the room while smoking, the sea."""
    if sheet.items[i].key("label") == "elsewhere":
        return True
    slot = label_at(sheet, i, context)
    drying = slot == "air_c" and any(item.key("stage") == "dry" or item.text.startswith("fan") for item in sheet.items)
    return slot is not None and not drying and _elsewhere(sheet, i, slot, context)


def _weak_slot(sheet: Sheet, i: int, context: Context) -> str | None:
    """Return core for "fish 128" in the smoke or after it; elsewhere fish is just fish."""
    if context.stage == "smoke" and {"inside", "outside"} <= set(sheet.words()):
        return {"inside": "core_c", "outside": "chamber_c"}.get(sheet.text(i))
    hot = context.stage in {"smoke", "cool"}
    heated = hot or (context.stage is None and (a := sheet.amount(i + 1)) is not None and a.low >= 100)
    if (
        heated
        and sheet.text(i) == "it"
        and (q := sheet.amount(i + 1)) is not None
        and q.kind in {"bare", "temperature"}
    ):
        return "core_c"  # internal temperature, for short
    if sheet.text(i) == "sal" and (q := sheet.amount(i + 1)) is not None and q.kind == "bare":
        return "salometer_deg"  # in front of a figure; behind one it is a unit
    weak = sheet.items[i].key("weak_label")
    if weak is None:
        return None
    if weak == "fridge":
        return _brine_temperature(sheet, i, context)
    near = [sheet.items[j].quantity for j in range(i + 1, min(i + 5, len(sheet.items)))]
    said = any(q is not None and q.kind == "temperature" and q.unit for q in near)
    if context.stage is None:  # nothing but heat makes fish so hot
        said = said or any(q is not None and q.kind == "bare" and 100 <= q.value <= 212 for q in near)
    return "core_c" if hot or said or context.stage == "chill" else None


def _brine_temperature(sheet: Sheet, i: int, context: Context) -> str | None:
    """Return the cold's slot for "the brine's at 36" while the fish lies in it."""
    if context.stage not in {None, "soak", "salt"} or any(item.key("label") == "salometer" for item in sheet.items):
        return None
    near = [sheet.items[j].quantity for j in range(i + 1, min(i + 5, len(sheet.items)))]
    figure = next((q for q in near if q is not None), None)
    cold = figure is not None and figure.kind in {"bare", "temperature"} and readings_c("fridge_c", figure.low)
    return "fridge_c" if cold and not {"in", "into", "at"} & set(sheet.words(max(0, i - 2), i)) else None


def _elsewhere(sheet: Sheet, i: int, slot: str, context: Context) -> bool:
    """True for an everyday word (room, box, bucket) that would be a label only in another stage."""
    usual = {
        "wind_m_s": {"dry"},
        "air_c": {"dry", "rinse", "rest"},
        "chamber_c": {"dry", "smoke"},
        "core_c": {"smoke", "cool", "chill"},
    }
    everyday = set(sheet.text(i).split()) <= _EVERYDAY
    return everyday and context.stage is not None and context.stage not in usual.get(slot, {context.stage})


def amount_at(sheet: Sheet, i: int) -> Quantity | None:
    """Return the free amount at ``i`` that can be a reading's figure."""
    amount = sheet.amount(i)
    if amount is None or amount.kind not in {"temperature", "bare", "percent", "salometer", "speed"}:
        return None
    return None if amount.number.fraction else amount


def fits(slot: str, amount: Quantity | None, item: Item) -> bool:
    """True if that kind of figure can be that label's."""
    if amount is None:
        return False
    if slot == "rh_pct":
        return amount.kind in {"percent", "bare"}
    if slot == "salometer_deg":
        return amount.kind in {"salometer", "temperature", "bare"} and amount.unit in {"", "salometer_degree"}
    if slot == "wind_m_s":
        return amount.kind == "speed"
    if amount.kind == "bare" and item.prep in _NO_READING:
        return item.prep == "from" and amount.low < amount.high  # from 120 to 131
    return amount.kind in {"temperature", "bare"}


def is_hour(sheet: Sheet, i: int, span: tuple[int, int], slot: str, context: Context) -> bool:
    """True for the 2 of "core at 2 was 141": an hour before a better figure."""
    item = sheet.items[i]
    if item.quantity is None or item.quantity.kind != "bare" or item.prep not in {"at", "@", "around", "about"}:
        return False
    if not 1 <= item.quantity.value <= 24 or item.quantity.number.fraction:
        return False
    moved = _MOVED & set(" ".join(sheet.words(max(span[0], i - 8), i)).split())
    if slot == "chamber_c" and item.quantity.value <= 12 and set(" ".join(sheet.words(*span)).split()) & _LIGHTING:
        return True
    on_its_way = slot in {"chamber_c", "core_c"} or context.stage in {None, "thaw", "smoke", "cool"}
    if moved and (on_its_way or moved & {"moved", "put", "went", "threw", "into", "out", "pulled"}):
        return True
    return any(fits(slot, amount_at(sheet, j), sheet.items[j]) for j in range(i + 1, span[1]))


def hour_like(item: Item) -> bool:
    """True for the 3 of "at 3", "till 3"."""
    return item.prep in _NO_READING | {"at", "@"} and item.quantity is not None and 1 <= item.quantity.value <= 24
