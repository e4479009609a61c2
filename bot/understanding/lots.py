"""Read counts of pieces, and sizes that differ within a batch."""

from __future__ import annotations

from typing import Any

from bot.understanding.items import Sheet
from bot.understanding.wordlists import words
from planner.units import millimetres

_COUNTED = words("lots", "counted")
_BETWEEN = words("lots", "between")
#: Words for pieces in other tongues that mean something else in English.
_SHORT_COUNTS = words("lots", "short_counts")
#: Forms that can name a lot of their own beside others.
PARTS = frozenset({"belly", "collar", "steak"})
_PARTS_OF_FISH = {"loin": "loin", "loins": "loin", "shoulder": "shoulder", "shoulders": "shoulder", "backs": "back"}
#: Of "12 small" the figure counts; of "141 small" it is a temperature.
_MOST_IN_A_LOT = 40


def counts(sheet: Sheet, i: int) -> bool:
    """True if the bare number at ``i`` counts pieces of fish."""
    if not _whole_number(sheet, i) or (i and sheet.items[i - 1].key("label")):
        return False
    if sheet.items[i].prep in {"at", "@"}:
        return False  # bellies at 160, collars 148
    if sheet.text(i + 1) == "of" and sheet.text(i + 2) in {"them", "em", "'em"}:
        return True
    if sheet.text(i + 1) in _SHORT_COUNTS and _count_ends(sheet, i + 2):
        return True
    if sheet.text(i - 1) == "x" and i > 1 and (sheet.items[i - 2].key("form") or sheet.items[i - 2].key("species")):
        return True  # collars x 8
    following = sheet.items[i + 2].quantity if i + 2 < len(sheet.items) else None
    if sheet.text(i + 1) in {"x", "@"} and following is not None and following.kind == "mass":
        return True  # 2 x 1.2 kg
    for j in range(i + 1, min(i + 6, len(sheet.items))):
        item = sheet.items[j]
        if sheet.text(j + 1) == "of" and j + 2 < len(sheet.items) and sheet.items[j + 2].key("wood"):
            return False  # 3 chunks of alder
        if item.key("form") or item.key("species") or item.text in _COUNTED:
            return True
        if not (item.key("lot") or item.key("state") or item.key("skin") or item.text in _BETWEEN):
            break
    few = sheet.items[i].quantity.value <= _MOST_IN_A_LOT  # type: ignore[union-attr]
    return few and i + 1 < len(sheet.items) and sheet.items[i + 1].key("lot") is not None


def _count_ends(sheet: Sheet, j: int) -> bool:
    """True where ``6 Stück`` is all: an amount, the end or a mark follows, not "6 stuck to the rack"."""
    return j >= len(sheet.items) or sheet.items[j].kind in {"end", "sym", "amount", "term"}


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
    behind = {"each", "apiece", "ea", "a piece", "per"} & set(sheet.words(i + 1, i + 3))
    each = behind or sheet.text(i - 1) in {"each", "je", "jeweils"}
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
    for i in range(len(sheet.items)):
        amount = sheet.amount(i)
        inches = amount is not None and amount.kind == "bare" and amount.number.fraction and bool(found)
        if amount is not None and (amount.kind == "length" or inches) and named is not None and named not in found:
            found[named] = (i, {"thickness_mm": millimetres(amount.value, "inch") if inches else amount.value})
            named = None
        elif _part_named(sheet, i) and not _thick_behind(sheet, i):
            named = _part_named(sheet, i)
    if len(found) < 2:
        return [], []
    return [lot for _, lot in found.values()], [i for i, _ in found.values()]


def _thick_behind(sheet: Sheet, i: int) -> bool:
    """True for the thick of "an inch thick"."""
    before = sheet.items[i - 1].quantity if i else None
    return sheet.items[i].key("lot") is not None and before is not None and before.kind == "length"


def _part_named(sheet: Sheet, i: int) -> str | None:
    """Return the size, or the part of a fish, that an item names."""
    item = sheet.items[i]
    form = item.key("form")
    return item.key("lot") or (form if form in PARTS else None) or _PARTS_OF_FISH.get(item.text)


def _masses_without_counts(sheet: Sheet) -> tuple[list[dict[str, Any]], list[int]]:
    """Read ``1 kg thick loins and 600 g tails``: masses of parts that were not counted."""
    found: dict[str, tuple[int, float]] = {}
    for i in range(len(sheet.items)):
        amount = sheet.amount(i)
        if amount is None or amount.kind != "mass":
            continue
        behind = range(i + 1, min(i + 5, len(sheet.items)))
        end = next((j for j in behind if sheet.items[j].quantity or sheet.text(j) == ","), behind.stop)
        name = next((n for j in range(i + 1, end) if (n := _part_named(sheet, j))), None)
        if name is None or name in found:
            return [], []
        found[name] = (i, amount.value)
    if len(found) < 2:
        return [], []
    return [{"mass_g": mass} for _, mass in found.values()], [i for i, _ in found.values()]


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
    _drop_total(lots, used)
    total = sum(lot["pieces"] for lot in lots[1:])
    if len(lots) > 2 and lots[0] == {"pieces": total}:
        lots, used = lots[1:], used[1:]
    sized = [lot for lot in lots if len(lot) > 1]
    if len(lots) < 2 or not (len(sized) >= 2 or _sizes_said(sheet, used)):
        lots, used = _sizes_without_counts(sheet)
    if not lots:
        lots, used = _masses_without_counts(sheet)
    if not lots:
        return None
    for i in used:
        sheet.take(i, i, "lots of different size", f"{len(lots)} lots")
    return lots, used[0]


def _drop_total(lots: list[dict[str, Any]], used: list[int]) -> None:
    """Give back a mass that only the last of several sized lots has: it is that of all."""
    if len(lots) > 1 and "mass_g" in lots[-1] and all("mass_g" not in lot and len(lot) > 1 for lot in lots[:-1]):
        del lots[-1]["mass_g"]
        used.pop()


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


def of_wood(sheet: Sheet, i: int) -> bool:
    """True for the chunks of "3 chunks of alder"."""
    behind = sheet.items[i + 1 : i + 3]
    return any(item.key("wood") or item.key("fuel") for item in behind) and all(
        item.text == "of" or item.senses for item in behind[:1]
    )
