"""Read counts of pieces, and sizes that differ within a batch."""

from __future__ import annotations

from typing import Any

from bot.understanding.items import Sheet
from bot.understanding.wordlists import words
from planner.units import millimetres

_COUNTED = words("lots", "counted")
_BETWEEN = words("lots", "between")
#: Of "12 small" the figure counts; of "141 small" it is a temperature.
_MOST_IN_A_LOT = 40


def counts(sheet: Sheet, i: int) -> bool:
    """True if the bare number at ``i`` counts pieces of fish."""
    if not _whole_number(sheet, i):
        return False
    if sheet.text(i + 1) == "of" and sheet.text(i + 2) in {"them", "em", "'em"}:
        return True
    if sheet.text(i - 1) == "x" and i > 1 and (sheet.items[i - 2].key("form") or sheet.items[i - 2].key("species")):
        return True  # collars x 8
    following = sheet.items[i + 2].quantity if i + 2 < len(sheet.items) else None
    if sheet.text(i + 1) in {"x", "@"} and following is not None and following.kind == "mass":
        return True  # 2 x 1.2 kg
    for j in range(i + 1, min(i + 6, len(sheet.items))):
        item = sheet.items[j]
        if item.key("form") or item.key("species") or item.text in _COUNTED:
            return True
        if not (item.key("lot") or item.key("state") or item.key("skin") or item.text in _BETWEEN):
            break
    few = sheet.items[i].quantity.value <= _MOST_IN_A_LOT  # type: ignore[union-attr]
    return few and i + 1 < len(sheet.items) and sheet.items[i + 1].key("lot") is not None


def _whole_number(sheet: Sheet, i: int) -> bool:
    amount = sheet.amount(i)
    if amount is None or amount.kind != "bare" or amount.number.fraction or amount.low != amount.high:
        return False
    return amount.value == int(amount.value) and 0 < amount.value <= 5000


def each_of(sheet: Sheet, i: int) -> int:
    """Return how many pieces a mass at ``i`` is said of: of ``2 sides, 1 lb each`` 2, else 1."""
    if sheet.text(i - 1) in {"x", "@"} and i > 1 and sheet.items[i - 2].quantity is not None:
        return int(sheet.items[i - 2].quantity.value)  # type: ignore[union-attr]
    if sheet.text(i - 1) == "of" and i > 2 and (sheet.items[i - 2].key("form") or sheet.text(i - 2) in _COUNTED):
        return _count_at(sheet, i - 3)  # 4 fillets of 180 g
    each = {"each", "apiece", "ea", "a piece", "per"} & set(sheet.words(i + 1, i + 3)) or sheet.text(i - 1) == "each"
    if not each:
        return 1
    return next((int(sheet.items[j].quantity.value) for j in range(i) if _counted(sheet, j)), 1)  # type: ignore[union-attr]


def _count_at(sheet: Sheet, j: int) -> int:
    """Return the count of pieces at ``j``, 1 if there is none."""
    return int(sheet.items[j].quantity.value) if _counted(sheet, j) else 1  # type: ignore[union-attr]


def _counted(sheet: Sheet, j: int) -> bool:
    """True if item ``j`` counts pieces, whether or not a rule has taken it."""
    taken, sheet.taken = sheet.taken, [False] * len(sheet.items)
    found = counts(sheet, j)
    sheet.taken = taken
    return found


def _sizes_without_counts(sheet: Sheet) -> tuple[list[dict[str, Any]], list[int]]:
    """Read ``thin ones half inch, thick ones inch and a half``: sizes of lots that were not counted."""
    found: dict[str, tuple[int, dict[str, Any]]] = {}
    named: str | None = None
    for i, item in enumerate(sheet.items):
        amount = sheet.amount(i)
        inches = amount is not None and amount.kind == "bare" and amount.number.fraction and bool(found)
        if amount is not None and (amount.kind == "length" or inches) and named is not None and named not in found:
            found[named] = (i, {"thickness_mm": millimetres(amount.value, "inch") if inches else amount.value})
            named = None
        elif item.key("lot") and not (i and (q := sheet.items[i - 1].quantity) and q.kind == "length"):
            named = item.key("lot")
    if len(found) < 2:
        return [], []
    return [lot for _, lot in found.values()], [i for i, _ in found.values()]


def read_lots(sheet: Sheet) -> tuple[list[dict[str, Any]], int] | None:
    """Read ``4 pieces 1 inch and 6 at half an inch``, ``6 thick ones and 4 thin``; None if the sizes do not differ."""
    lots: list[dict[str, Any]] = []
    used: list[int] = []
    for i, item in enumerate(sheet.items):
        amount = sheet.amount(i)
        if item.kind == "end" and lots and sheet.text(i) != ";":
            break
        if amount is None:
            continue
        if counts(sheet, i) or (lots and _whole_number(sheet, i) and _length_follows(sheet, i)):
            lots.append({"pieces": int(amount.value)})
            used.append(i)
        elif amount.kind == "bare" and amount.number.fraction and lots and any("thickness_mm" in lot for lot in lots):
            lots[-1].setdefault("thickness_mm", millimetres(amount.value, "inch"))  # only inches come in fractions
            used.append(i)
        elif amount.kind in {"length", "mass"} and lots and i - used[-1] <= 9:
            lots[-1].setdefault(
                "thickness_mm" if amount.kind == "length" else "mass_g",
                amount.value * (1 if amount.kind == "length" else _each(sheet, i, lots[-1])),
            )
            used.append(i)
    total = sum(lot["pieces"] for lot in lots[1:])
    if len(lots) > 2 and lots[0] == {"pieces": total}:
        lots, used = lots[1:], used[1:]
    sized = [lot for lot in lots if len(lot) > 1]
    if len(lots) < 2 or not (len(sized) >= 2 or _sizes_said(sheet, used)):
        lots, used = _sizes_without_counts(sheet)
    if not lots:
        return None
    for i in used:
        sheet.take(i, i, "lots of different size", f"{len(lots)} lots")
    return lots, used[0]


def _each(sheet: Sheet, i: int, lot: dict[str, Any]) -> int:
    return int(lot["pieces"]) if {"each", "apiece", "ea"} & set(sheet.words(i + 1, i + 3)) else 1


def _length_follows(sheet: Sheet, i: int) -> bool:
    j = i + 1
    while sheet.text(j) in {"at", "about", "around", "of", "are", "x", "@", "only"}:
        j += 1
    following = sheet.amount(j)
    return following is not None and (following.kind == "length" or following.number.fraction)


def _sizes_said(sheet: Sheet, used: list[int]) -> bool:
    """True if words of different size stand beside the counts."""
    near = [sheet.items[j].key("lot") for i in used for j in range(i + 1, min(i + 4, len(sheet.items)))]
    return len({key for key in near if key}) >= 2
