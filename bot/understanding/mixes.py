"""Read a mix by its parts: sugar to salt in a dry mix, salt to water in a brine."""

from __future__ import annotations

from bot.understanding.ingredients import Recipe, ingredient, per_unit
from bot.understanding.items import Sheet
from bot.understanding.model import Doubt
from bot.understanding.wordlists import words

_LINKS = words("recipes", "links")
_MASS = words("recipes", "by_mass")
_VOLUME = words("recipes", "by_volume")
Ratio = tuple[float, int, str | None]


def read_mix(sheet: Sheet, recipe: Recipe) -> None:
    """Read ``4:1 brown sugar to salt``, ``4 cups sugar to 1 cup salt``, ``1 part salt to 10 parts water``."""
    for i in range(len(sheet.items)):
        if not (sheet.items[i].quantity or sheet.items[i].when) and sheet.text(i) not in {"equal", "even", "half"}:
            continue
        if _salt_to_water(sheet, i, recipe):
            return
        ratio = _colon_ratio(sheet, i) or _equal_parts(sheet, i) or _parts_ratio(sheet, i)
        if ratio is None:
            continue
        sugar_per_salt, end, by = ratio
        recipe.put(i, cure="dry", sugar_per_salt=sugar_per_salt)
        said = by or _measured_by(sheet)
        if said:
            recipe.put(i, by=said)
        sheet.take(i, end - 1, "recipe: sugar to salt", f"{sugar_per_salt:g}")
        return


def _measured_by(sheet: Sheet) -> str | None:
    said = set(" ".join(sheet.words()).split())
    if said & _MASS:
        return "mass"
    return "volume" if said & _VOLUME else None


def _salt_to_water(sheet: Sheet, i: int, recipe: Recipe) -> bool:
    """Read ``1 part salt to 10 parts water``, ``salt to water 1:10 by weight``; how it is measured is asked."""
    pair = _two_figures(sheet, i)
    if pair is None:
        return False
    first, second, found, end = pair
    if set(found) != {"salt", "water"}:
        return False
    ratio = first / second if found[0] == "salt" else second / first
    by = _measured_by(sheet)
    choices = {"mass": ("by weight", "salt_g_per_l"), "volume": ("by volume", "salt_ml_per_l")}
    if by is not None:
        recipe.put(i, **{choices[by][1]: ratio * 1000.0})
    else:
        options = tuple((name, {slot: round(ratio * 1000.0, 3)}) for name, slot in choices.values())
        recipe.put(i)
        recipe.doubts.append(Doubt("salt_g_per_l", options, "by weight or by volume"))
    sheet.take(i, end - 1, "recipe: salt to water", f"{ratio:g}")
    return True


def _two_figures(sheet: Sheet, i: int) -> tuple[float, float, list[str], int] | None:
    """Read ``1 part salt to 10 parts water`` or ``1:10 salt to water``: both figures and what they are of."""
    when = sheet.items[i].when
    if when is not None and when.hour and when.minute and when.words.count(":") == 1 and not when.meridiem:
        return _around(sheet, i, float(when.hour), float(when.minute), 1)  # 1:10 looks like a time
    first = sheet.amount(i)
    if first is None or first.kind != "bare" or first.value <= 0:
        return None
    counted = _counted_part(sheet, i)
    if counted is not None:
        j = counted[2]
        while sheet.text(j) in {"to", "and", ",", "&", ":"}:
            j += 1
        second = _counted_part(sheet, j, loose=True)
        return None if second is None else (counted[1], second[1], [counted[0], second[0]], second[2])
    other = sheet.amount(i + 2)
    if other is None or other.kind != "bare" or other.value <= 0 or sheet.text(i + 1) not in {":", "to"}:
        return None
    return _around(sheet, i, first.value, other.value, 3)


def _around(
    sheet: Sheet, i: int, first: float, second: float, width: int
) -> tuple[float, float, list[str], int] | None:
    """Return both figures of a ratio at ``i`` with the two ingredients behind or before it."""
    found, end = _pair(sheet, i + width)
    if len(found) < 2:
        found, stop = _pair(sheet, max(i - 3, 0))
        end = i + width if stop <= i + 1 else -1
    return (first, second, found, end) if len(found) == 2 and end > 0 else None


def _pair(sheet: Sheet, i: int) -> tuple[list[str], int]:
    """Read up to two ingredients from ``i``: ``brown sugar to salt``."""
    found: list[str] = []
    j = i
    while j < len(sheet.items) and len(found) < 2:
        here = ingredient(sheet, j)
        if here is not None:
            found.append(here[0])
            j = here[2]
        elif sheet.text(j) in _LINKS:
            j += 1
        else:
            break
    return found, j


def _colon_ratio(sheet: Sheet, i: int) -> Ratio | None:
    first, second = sheet.amount(i), sheet.amount(i + 2)
    if first is None or second is None or first.kind != "bare" or second.kind != "bare":
        return None
    if sheet.text(i + 1) not in {":", "to", "-", "/"} or not first.value > 0 < second.value:
        return None
    found, end = _pair(sheet, i + 3)
    if set(found) != {"salt", "sugar"}:
        found, stop = _pair(sheet, max(i - 3, 0))
        if set(found) != {"salt", "sugar"} or stop > i + 1:
            return None
        end = i + 3
    ratio = first.value / second.value if found[0] == "sugar" else second.value / first.value
    return ratio, end, None


def _equal_parts(sheet: Sheet, i: int) -> Ratio | None:
    equal = sheet.text(i) in {"equal", "even"} and sheet.text(i + 1) in {"parts", "amounts", "part"}
    half = sheet.text(i) == "half" and sheet.text(i + 1) == "and"
    if not equal and not half:
        return None
    found, end = _pair(sheet, i + (3 if half else 2))
    return (1.0, end, None) if set(found) == {"salt", "sugar"} else None


def _counted_part(sheet: Sheet, i: int, loose: bool = False) -> tuple[str, float, int, str | None] | None:
    """Read ``4 parts brown sugar`` or ``4 cups brown sugar``; ``1 salt`` too if ``loose``."""
    amount = sheet.amount(i)
    if amount is None:
        return None
    if amount.kind == "bare" and sheet.text(i + 1) in {"part", "parts", "scoop", "scoops", "pt", "pts"}:
        found = ingredient(sheet, i + 2)
        by = "volume" if "scoop" in sheet.text(i + 1) else None
    elif amount.kind == "bare" and loose:
        found, by = ingredient(sheet, i + 1), None
    elif amount.kind in {"volume", "mass"}:
        found = ingredient(sheet, i + 1)
        by = amount.kind
    else:
        return None
    return None if found is None else (found[0], amount.value, found[2], by)


def _parts_ratio(sheet: Sheet, i: int) -> Ratio | None:
    first = _counted_part(sheet, i)
    if first is None:
        return None
    j = first[2]
    joiner = sheet.text(j)
    while sheet.text(j) in {"to", "and", ",", "&", "+", ":", "for", "with", "per"}:
        j += 1
    second = _counted_part(sheet, j, loose=first[3] is None)
    if second is None or {first[0], second[0]} != {"salt", "sugar"} or second[3] != first[3]:
        return None
    loose = first[3] is None or sheet.text(i + 1) in {"scoop", "scoops"}
    if not loose and not _is_dry(sheet, second[2], joiner):
        return None
    if first[3] == "mass" and joiner not in {"to", "per", ":", "for"}:
        return None
    sugar, salt = (first[1], second[1]) if first[0] == "sugar" else (second[1], first[1])
    return sugar / salt, second[2], first[3] and ("mass" if first[3] == "mass" else "volume")


def _is_dry(sheet: Sheet, end: int, joiner: str) -> bool:
    """True where two measures make a dry mix: no water is spoken of."""
    if any(item.key("cure") == "dry" for item in sheet.items):
        return True
    watery = any(item.key("water") or item.key("stage") == "soak" for item in sheet.items)
    others = any(
        item.quantity is not None and item.quantity.kind == "volume" for i, item in enumerate(sheet.items) if i >= end
    )
    return not watery and not others and per_unit(sheet, end) is None and joiner in {"to", "per", ":", "for"}
