"""Read sugar that is told by the salt just said: ``half that sugar``, ``same of sugar``, ``half as much``."""

from __future__ import annotations

from bot.understanding.ingredients import Recipe
from bot.understanding.items import Sheet
from bot.understanding.model import Context, Slots
from bot.understanding.wordlists import words

#: What salt is told in, and the slot of as much sugar.
_SLOTS = {"salt_ml_per_l": "sugar_ml_per_l", "salt_g_per_l": "sugar_g_per_l", "salt_g": "sugar_g"}
_SHARES = {
    "half": 0.5, "halve": 0.5, "quarter": 0.25, "third": 1 / 3, "same": 1.0, "equal": 1.0, "equally": 1.0,
    "likewise": 1.0, "twice": 2.0, "double": 2.0, "triple": 3.0, "ditto": 1.0,
}  # fmt: skip
#: Words that may stand between the share and the sugar.
_BETWEEN = words("recipes", "between_share")
_SO_FAR = 7


def read_relative_sugar(sheet: Sheet, recipe: Recipe, context: Context) -> None:
    """Add the sugar that is told as a share of the salt, in the salt's own measure."""
    if any(slot in recipe.slots for slot in (*_SLOTS.values(), "sugar_per_salt")):
        return
    salt = _salt(recipe.slots, context)
    sugars = [i for i, item in enumerate(sheet.items) if item.key("sugar") and not sheet.taken[i]]
    if salt is None or len(sugars) != 1:
        return
    share = _share_before(sheet, sugars[0]) or _share_behind(sheet, sugars[0])
    if share is None:
        return
    factor, first, last = share
    slot, value = salt
    recipe.put(first, **{_SLOTS[slot]: value * factor})
    sheet.take(first, last, "recipe: sugar as a share of the salt", f"{factor:g}")


def _salt(slots: Slots, context: Context) -> tuple[str, float] | None:
    """Return the salt of this message, else that of the message before."""
    last: Slots = context.last.slots if context.last is not None and context.last.intent == "describe" else {}
    for said in (slots, last):
        found = next(((slot, float(said[slot])) for slot in _SLOTS if slot in said), None)
        if found is not None:
            return found
    return None


def _share_before(sheet: Sheet, sugar: int) -> tuple[float, int, int] | None:
    """Read ``half that brown sugar``, ``the same amount of sugar``, ``half as much sugar``."""
    for i in range(sugar - 1, max(-1, sugar - _SO_FAR), -1):
        share = _share(sheet, i)
        if share is not None:
            return share, i, sugar
        if sheet.text(i) not in _BETWEEN:
            return None
    return None


def _share_behind(sheet: Sheet, sugar: int) -> tuple[float, int, int] | None:
    """Read ``sugar half of that``, ``sugar the same``, ``as much sugar``."""
    if sheet.words(max(0, sugar - 2), sugar) == ["as", "much"]:
        return 1.0, sugar - 2, sugar
    for i in range(sugar + 1, min(len(sheet.items), sugar + 4)):
        share = _share(sheet, i)
        if share is not None:
            behind = sheet.text(i + 1)
            return (share, sugar, i) if behind in _BETWEEN | {""} or sheet.items[i + 1].kind in {"end", "sym"} else None
        if sheet.text(i) not in _BETWEEN | {"is", ":", "at"}:
            return None
    return None


def _share(sheet: Sheet, i: int) -> float | None:
    """Return the share that an item says: a word, or a bare fraction."""
    amount = sheet.amount(i)
    if amount is not None:
        return amount.value if amount.kind == "bare" and (amount.number.fraction or amount.value < 1.0) else None
    if sheet.taken[i]:
        return None
    return next((_SHARES[word] for word in sheet.text(i).split() if word in _SHARES), None)
