"""Read how strong a brine is said to be: percent, degrees salometer, salt by the weight of the fish."""

from __future__ import annotations

from bot.understanding.ingredients import Recipe, says
from bot.understanding.items import Sheet
from bot.understanding.quantities import unit_words
from bot.understanding.wordlists import words
from planner import units

#: Brine in other tongues, where an English word means something else.
_BRINES = frozenset({"lake", "laken", "sole"})
_FISH_WORDS = words("recipes", "fish_words")


def read_strength(sheet: Sheet, recipe: Recipe) -> None:
    """Read ``5 % brine``, ``60 degree brine``, ``2.5 % equilibrium``, ``30 g salt per kg of fish``."""
    _per_mass(sheet, recipe)
    _percents(sheet, recipe)
    _degrees(sheet, recipe)


def _per_mass(sheet: Sheet, recipe: Recipe) -> None:
    """Read ``30 g salt per kg of fish``: salt by the weight of the fish."""
    for i in range(len(sheet.items)):
        amount = sheet.amount(i)
        if amount is None or amount.kind != "mass":
            continue
        j = next((k for k in range(i + 1, min(i + 5, len(sheet.items))) if sheet.text(k) in {"per", "/", "pr"}), None)
        if j is None:
            continue
        kind, unit = unit_words().get(sheet.text(j + 1), ("", ""))
        if kind != "mass" or not any(
            item.key("salt") or item.key("salt_kind") or item.key("cure") for item in sheet.items
        ):
            continue
        recipe.put(i, salt_per_fish_pct=amount.value / units.grams(1.0, unit) * 100.0)
        sheet.take(i, j + 1, "recipe: salt per weight of fish", f"{recipe.slots['salt_per_fish_pct']:g} %")
        return


def _percents(sheet: Sheet, recipe: Recipe) -> None:
    """Read ``5 % brine``, ``2.5 % equilibrium``, ``3 % salt by weight of fish``; the first such figure counts."""
    cure = next((c for item in sheet.items if (c := item.key("cure"))), None)
    for i in range(len(sheet.items)):
        amount = sheet.amount(i)
        if amount is None or amount.kind != "percent" or _of_sugar(sheet, i):
            continue
        fishy = _of_fish(sheet, i)
        if _of_air(sheet, i) or not (fishy or _salty(sheet, i)):
            continue
        if cure in {"equilibrium", "dry"} or fishy:
            recipe.put(i, salt_per_fish_pct=amount.value)
            _cure_of(sheet, i, fishy, recipe)
        else:
            recipe.put(i, salt_pct=amount.value)
        sheet.take(i, i, "recipe: percent of salt", f"{amount.value:g} %")
        return


def _cure_of(sheet: Sheet, i: int, fishy: str, recipe: Recipe) -> None:
    """Add the cure that a percent of the fish speaks of."""
    if "and" in fishy:
        recipe.put(i, cure="equilibrium")
    elif "cure" not in recipe.slots and any(item.text == "dry" for item in sheet.items):
        recipe.put(i, cure="dry")


def _of_sugar(sheet: Sheet, i: int) -> bool:
    """True for "4 % sugar" and "sugar 4 %"."""
    before = next(
        (sheet.items[j] for j in range(i - 1, max(-1, i - 3), -1) if sheet.text(j) not in {":", "at", "is", "="}), None
    )
    return says(sheet, i + 1, "sugar") or (before is not None and before.key("sugar") is not None)


def _of_air(sheet: Sheet, i: int) -> bool:
    return any(item.key("label") == "rh" for item in sheet.items[max(0, i - 3) : i + 3])


def _salty(sheet: Sheet, i: int) -> bool:
    """True if salt, a cure or the brine is spoken of near the percent at ``i``."""
    near = sheet.items[max(0, i - 5) : i + 9]
    return any(
        n.key("salt") or n.key("salt_kind") or n.key("cure") or n.key("stage") in {"soak", "salt"} or n.text in _BRINES
        for n in near
    )


def _of_fish(sheet: Sheet, i: int) -> str:
    """Return ``fish`` where the percent at ``i`` is said to be of the fish, ``fish and water`` of both."""
    said = " ".join(sheet.words(i + 1, i + 11)).split()
    if not _FISH_WORDS & set(said) and not any(
        item.quantity is not None and item.quantity.kind == "mass" for item in sheet.items[i + 1 : i + 9]
    ):
        return ""
    if not {"of", "to", "by", "the", "on", "per"} & set(said[:4]):
        return ""
    text = " ".join(said)
    if "brine" in said[:4] or ("water weight" in text and "fish" not in text):
        return ""
    both = "water" in said and ("fish" in said or "meat" in said)
    if said[:3] == ["by", "weight", said[2] if len(said) > 2 else ""] and "of" not in said and "fish" not in said:
        return ""
    if "weight" in said[:4] and "fish" not in said and "of" not in said:
        return ""
    return "fish and water" if both else "fish"


def _degrees(sheet: Sheet, recipe: Recipe) -> None:
    """Read ``60 degree brine``, ``80 sal``, ``60 degrees salometer``."""
    for i, _item in enumerate(sheet.items):
        amount = sheet.amount(i)
        if amount is None:
            continue
        named = amount.kind == "salometer"
        brine_after = (
            amount.kind == "temperature"
            and amount.unit == ""
            and i + 1 < len(sheet.items)
            and _brine_noun(sheet, i + 1)
        )
        if not (named or brine_after) or _is_read_off(sheet, i):
            continue
        recipe.put(i, salometer_deg=amount.number.value)
        sheet.take(i, i + (1 if brine_after else 0), "recipe: degrees salometer", f"{amount.number.value:g}")


def _is_read_off(sheet: Sheet, i: int) -> bool:
    """True where degrees salometer were read off an instrument: that is a reading, not a recipe."""
    said = set(" ".join(sheet.words(max(0, i - 5), i + 5)).split())
    return bool(said & words("recipes", "read_off"))


def _brine_noun(sheet: Sheet, i: int) -> bool:
    return sheet.items[i].key("stage") == "soak" and sheet.text(i) in {"brine", "wet brine", "salt brine"}
