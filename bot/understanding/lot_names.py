"""Which lot and which rack a reading is of."""

from __future__ import annotations

from typing import Any

from bot.understanding.items import Sheet
from bot.understanding.model import Context
from bot.understanding.reading import Reading


def lot_at(sheet: Sheet, i: int, context: Context) -> str | None:
    """Return the lot that the item names: one of the batch's own names first, else a size."""
    item = sheet.items[i]
    own = next(
        (lot for lot in context.lots if lot.lower() in {item.text, item.text.rstrip("s"), f"{item.text}s"}), None
    )
    if own is not None:
        return own
    hot = context.stage in {"smoke", "cool"}
    if hot and item.key("form") in {"belly", "collar"}:
        return item.text
    key = item.key("lot")
    before = sheet.items[i - 1].quantity if i else None
    sized = before is not None and before.kind == "length"  # an inch thick
    return None if key is None or sized else key


def rack_at(sheet: Sheet, i: int) -> Any:
    """Return the rack that the item names: top, middle, bottom or a number."""
    key = sheet.items[i].key("rack")
    if key is not None:
        return key
    if sheet.text(i) in {"top", "bottom"} and i + 1 < len(sheet.items) and sheet.items[i + 1].quantity is not None:
        return sheet.text(i)
    amount = sheet.items[i].quantity
    if (
        sheet.text(i - 1) in {"rack", "tray", "shelf"}
        and amount is not None
        and amount.kind == "bare"
        and 1 <= amount.value <= 20
    ):
        return int(amount.value)
    return None


def give_lots(sheet: Sheet, span: tuple[int, int], readings: list[Reading], context: Context) -> None:
    """Give each reading the lot and the rack named before it; behind it where the sentence is built so."""
    lots = [(i, lot) for i in range(*span) if (lot := lot_at(sheet, i, context))]
    racks = [(i, rack) for i in range(*span) if (rack := rack_at(sheet, i))]
    cores = [r for r in readings if r.slot in {"core_c", "surface"}]
    for name, marks in (("lot", lots), ("rack", racks)):
        if not marks or not cores:
            continue
        behind = marks[0][0] > cores[0].at
        for reading in cores:
            if behind:
                limit = min(reading.at + 6, next((r.at for r in readings if r.at > reading.at), span[1]))
                fitting = [value for i, value in marks if reading.at < i < limit]
            else:
                fitting = [value for i, value in marks if i < reading.at][-1:]
            if fitting:
                reading.slots[name] = fitting[0]
