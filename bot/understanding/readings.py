# ruff: noqa: E501, PLR0911
"""Read what was measured or felt: which value belongs to which label and which lot."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from bot.understanding.items import Item, Sheet
from bot.understanding.model import Context, Doubt
from bot.understanding.plausible import possible, readings_c, settle
from bot.understanding.quantities import Quantity
from planner import units

_LABEL_SLOT = {
    "core": "core_c", "chamber": "chamber_c", "air": "air_c", "fridge": "fridge_c", "rh": "rh_pct", "wind": "wind_m_s",
    "salometer": "salometer_deg",
}  # fmt: skip
#: What a temperature with no label is, by stage.
_STAGE_SLOT = {
    "smoke": "core_c", "cool": "core_c", "dry": "air_c", "soak": "fridge_c", "salt": "fridge_c", "rest": "fridge_c",
    "chill": "fridge_c", "keep": "fridge_c", "thaw": "fridge_c",
}  # fmt: skip
_RUNG_SLOT = {
    "core": "core_c",
    "chamber": "chamber_c",
    "air": "air_c",
    "fridge": "fridge_c",
    "rh": "rh_pct",
    "fish": "core_c",
}


@dataclass
class Reading:
    """One measured thing: its slots, where it stands, and what could not be settled."""

    slots: dict[str, Any]
    at: int
    doubt: Doubt | None = None
    slot: str = ""


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
    options = tuple(
        (f"{figure:g} °{scale}", {slot: round(value, 3)}) for scale, value in sorted(found.items())
    )
    return {}, Doubt(slot, options, "scale" if found else "implausible")


def read_readings(sheet: Sheet, span: tuple[int, int], context: Context) -> list[Reading]:
    """Return the readings in a sentence; mark what they took."""
    found = _labelled(sheet, span, context)
    found += _felt(sheet, span, context)
    return sorted(found, key=lambda r: r.at)


def slot_of(item: Item) -> str | None:
    """Return the slot that a label names."""
    key = item.key("label")
    return _LABEL_SLOT.get(key) if key else None


def _figure(sheet: Sheet, i: int) -> Quantity | None:
    """Return the amount at ``i`` if it can be a reading's figure."""
    amount = sheet.amount(i)
    if amount is None or amount.kind not in {"temperature", "bare", "percent", "salometer", "speed"}:
        return None
    return amount


def _fits(slot: str, amount: Quantity | None, item: Item) -> bool:
    """True if that kind of figure can be that label's."""
    if amount is None:
        return False
    if slot == "rh_pct":
        return amount.kind in {"percent", "bare"}
    if slot == "salometer_deg":
        return amount.kind in {"salometer", "temperature", "bare"} and amount.unit in {"", "salometer_degree"}
    if slot == "wind_m_s":
        return amount.kind == "speed"
    if amount.kind == "bare" and item.prep in {
        "since",
        "till",
        "until",
        "by",
        "for",
        "from",
        "til",
        "after",
        "before",
    }:
        return False
    return amount.kind in {"temperature", "bare"}


def _labelled(sheet: Sheet, span: tuple[int, int], context: Context) -> list[Reading]:
    readings: list[Reading] = []
    pending: tuple[int, str] | None = None
    loose: list[int] = []
    lot: str | None = None
    for i in range(*span):
        item = sheet.items[i]
        if sheet.taken[i]:
            continue
        slot = slot_of(item)
        if slot:
            late = _label_after(sheet, loose, i, slot, span)
            if late is not None:
                loose.remove(late)
                readings.append(_reading(sheet, late, slot, lot, context))
                pending = None
            else:
                pending = (i, slot)
            continue
        if item.key("lot") and not _thickness_word(sheet, i):
            lot = lot_name(item, context)
        amount = _figure(sheet, i)
        if amount is None:
            continue
        if (
            pending is not None
            and _fits(pending[1], amount, item)
            and not _is_time_of_day(sheet, i, span, pending[1])
        ):
            readings.append(_reading(sheet, i, pending[1], lot, context))
            pending = None
        else:
            loose.append(i)
    for i in loose:
        slot = _unlabelled_slot(sheet, i, lot, context, readings)
        if slot is not None:
            readings.append(_reading(sheet, i, slot, _lot_before(sheet, i, span, context), context))
    return readings


def _thickness_word(sheet: Sheet, i: int) -> bool:
    before = sheet.amount(i - 1)
    return before is not None and before.kind == "length"


def lot_name(item: Item, context: Context) -> str | None:
    """Return the lot that an item names."""
    return item.key("lot")


def _lot_before(sheet: Sheet, i: int, span: tuple[int, int], context: Context) -> str | None:
    for j in range(i - 1, span[0] - 1, -1):
        if sheet.items[j].key("lot") and not _thickness_word(sheet, j):
            return lot_name(sheet.items[j], context)
        if _figure(sheet, j) is not None and j < i - 1:
            break
    return None


def _is_time_of_day(sheet: Sheet, i: int, span: tuple[int, int], slot: str) -> bool:
    """True for the 2 of "core at 2 was 141": an hour before a better figure."""
    item = sheet.items[i]
    if (
        item.quantity is None
        or item.quantity.kind != "bare"
        or item.prep not in {"at", "@", "around", "about"}
    ):
        return False
    if not 1 <= item.quantity.value <= 24:
        return False
    return any(
        (amount := _figure(sheet, j)) is not None and _fits(slot, amount, sheet.items[j])
        for j in range(i + 1, span[1])
    )


def _label_after(sheet: Sheet, loose: list[int], i: int, slot: str, span: tuple[int, int]) -> int | None:
    """Return the loose figure that a label at ``i`` belongs to: ``128f core``, ``190 in the smoker``."""
    if (
        not loose
        or loose[-1] < i - 5
        or not _fits(slot, sheet.items[loose[-1]].quantity, sheet.items[loose[-1]])
    ):
        return None
    between = sheet.words(loose[-1] + 1, i)
    following = next((j for j in range(i + 1, min(i + 4, span[1])) if _figure(sheet, j) is not None), None)
    if any(w in {",", "and", ";", "/", "-"} for w in between) and following is not None:
        return None
    if (
        following is not None
        and not between
        and _fits(slot, sheet.items[following].quantity, sheet.items[following])
    ):
        label_next = any(slot_of(sheet.items[j]) for j in range(following + 1, min(following + 4, span[1])))
        return loose[-1] if label_next else None
    return loose[-1]


def _unlabelled_slot(
    sheet: Sheet, i: int, lot: str | None, context: Context, readings: list[Reading]
) -> str | None:
    """Return the slot that a figure without a label fills, by unit, stage and what was rung for."""
    item = sheet.items[i]
    amount = item.quantity
    assert amount is not None
    if amount.kind == "salometer":
        return "salometer_deg"
    if amount.kind == "percent":
        return "rh_pct" if context.stage == "dry" or any(r.slot == "air_c" for r in readings) else None
    if amount.kind == "speed":
        return "wind_m_s"
    rung = _RUNG_SLOT.get(context.rung.what) if context.rung else None
    by_stage = rung or _STAGE_SLOT.get(context.stage or "")
    if amount.kind == "temperature":
        return by_stage or ("core_c" if lot or context.lots else None)
    if item.prep in {"since", "till", "until", "by", "for", "from", "til", "after", "before"}:
        return None
    if by_stage is None or not (lot or _says_it_reads(sheet, i)) or not readings_c(by_stage, amount.low):
        return None
    if item.prep in {"at", "@"} and 1 <= amount.value <= 24 and by_stage == "core_c":
        return None
    return by_stage


def _says_it_reads(sheet: Sheet, i: int) -> bool:
    """True for ``it's 140``, ``reading 140``, ``now 140``, ``140 inside``, ``at 140 now``."""
    before = set(" ".join(sheet.words(max(0, i - 3), i)).split())
    after = set(" ".join(sheet.words(i + 1, i + 3)).split())
    verbs = {
        "it's",
        "its",
        "is",
        "reads",
        "reading",
        "says",
        "shows",
        "showing",
        "hit",
        "hits",
        "now",
        "temp",
        "temps",
        "at",
        "got",
    }
    return bool(before & verbs) or bool(after & {"inside", "now", "in", "degrees"})


def _reading(sheet: Sheet, i: int, slot: str, lot: str | None, context: Context) -> Reading:
    item = sheet.items[i]
    amount = item.quantity
    assert amount is not None
    sheet.take(i, i, "reading: figure of a label", f"{slot} {amount.number.value:g}")
    slots, doubt = _value(slot, amount, context)
    if lot:
        slots["lot"] = lot
    return Reading(slots, i, doubt, slot)


def _value(slot: str, amount: Quantity, context: Context) -> tuple[dict[str, Any], Doubt | None]:
    if slot.endswith("_c"):
        return temperature(slot, amount, context)
    value = amount.number.value if slot == "salometer_deg" else amount.value
    return ({slot: value}, None) if possible(slot, value) else ({}, Doubt(slot, (), "implausible"))


def _felt(sheet: Sheet, span: tuple[int, int], context: Context) -> list[Reading]:
    """Read how the surface or the flesh feels."""
    found: list[Reading] = []
    for i in range(*span):
        item = sheet.items[i]
        if sheet.taken[i]:
            continue
        surface = _surface(sheet, i, context)
        if surface is not None:
            found.append(
                Reading({"surface": surface, **_lot_slot(sheet, i, span, context)}, i, slot="surface")
            )
            sheet.take(i, i, "reading: surface", surface)
        elif item.key("firmness") and not _other_sense(sheet, i):
            found.append(
                Reading(
                    {"firmness": item.key("firmness"), **_lot_slot(sheet, i, span, context)},
                    i,
                    slot="firmness",
                )
            )
            sheet.take(i, i, "reading: firmness", str(item.key("firmness")))
    return found


def _lot_slot(sheet: Sheet, i: int, span: tuple[int, int], context: Context) -> dict[str, Any]:
    lot = _lot_before(sheet, i, span, context)
    return {"lot": lot} if lot else {}


def _other_sense(sheet: Sheet, i: int) -> bool:
    return sheet.text(i + 1) in {"copy", "freeze", "boiled", "drive"} or sheet.text(i) == "hard"


def _surface(sheet: Sheet, i: int, context: Context) -> str | None:
    surface = sheet.items[i].key("surface")
    if surface is None:
        return None
    words = set(" ".join(sheet.words(max(0, i - 5), i + 3)).split())
    felt = bool(
        words
        & {
            "surface",
            "feels",
            "feel",
            "touch",
            "still",
            "skin",
            "outside",
            "top",
            "it's",
            "its",
            "they're",
            "all",
            "are",
            "getting",
            "is",
            "bit",
            "nice",
            "pellicle",
            "now",
        }
    )
    if surface in {"tacky", "damp"}:
        return surface
    drying = context.stage == "dry" or (context.rung is not None and context.rung.what == "surface")
    return surface if drying or (felt and words & {"surface", "touch", "pellicle", "feels", "feel"}) else None
