# ruff: noqa: E501
"""Read a brine or a salt mix, in any of the ways that people say it, into the contract's slots."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from bot.understanding.items import Sheet
from bot.understanding.model import Context, Doubt
from bot.understanding.plausible import possible
from bot.understanding.quantities import Quantity, unit_words
from bot.understanding.wordlists import words
from planner import units

_PER = frozenset({"per", "/", "a", "an", "each", "every", "pr", "the", "pro"})
_OF = words("recipes", "of")
_TO = frozenset({"to", "in", "into", "with", "on", "for", "and", "+", "&"})
_FISH_WORDS = words("recipes", "fish_words")


@dataclass
class Recipe:
    """What has been read so far: slots, and the ingredients waiting for their water."""

    slots: dict[str, Any]
    first: int | None = None
    doubts: list[Doubt] = field(default_factory=list)

    def put(self, at: int, **slots: Any) -> None:
        """Add slots that stand at item ``at``."""
        self.slots.update(slots)
        self.first = at if self.first is None else min(self.first, at)


@dataclass(frozen=True)
class Part:
    """An amount of ``salt``, ``sugar`` or ``water``, from item ``at`` to ``end`` (exclusive)."""

    what: str
    amount: Quantity
    at: int
    end: int
    salt_kind: str | None = None


def read_recipe(sheet: Sheet, context: Context) -> Recipe | None:
    """Return the recipe that a message gives, or None; mark what it took."""
    recipe = Recipe({})
    _dry_ratio(sheet, recipe)
    _percents(sheet, recipe)
    _degrees(sheet, recipe, context)
    _amounts(sheet, recipe)
    if recipe.slots:
        _kinds(sheet, recipe)
    elif not _kind_alone(sheet, recipe):
        return None
    for slot, value in list(recipe.slots.items()):
        if isinstance(value, float) and not possible(slot, value):
            del recipe.slots[slot]
            recipe.doubts.append(Doubt(slot, (), "implausible"))
    return recipe


def _kind_alone(sheet: Sheet, recipe: Recipe) -> bool:
    """Read ``using table salt``, ``dry brine``: the kind or the cure with no amounts."""
    for i, item in enumerate(sheet.items):
        kind, cure = item.key("salt_kind"), item.key("cure")
        if kind and not (kind == "table" and item.text in {"table", "pickling"}) and item.text != "coarse":
            recipe.put(i, salt_kind=kind)
            sheet.take(i, i, "word for the salt", kind)
        if cure and (i == 0 or sheet.text(i - 1) not in {"the", "of"}):
            recipe.put(i, cure=cure)
            sheet.take(i, i, "word for the cure", cure)
    return bool(recipe.slots)


def _ingredient(sheet: Sheet, i: int) -> tuple[str, str | None, int] | None:
    """Read ``of kosher salt``, ``brown sugar``, ``water`` at ``i``: what, the kind of salt, the index behind."""
    j = i
    while j < len(sheet.items) and sheet.text(j) in _OF and j < i + 3:
        j += 1
    if j >= len(sheet.items):
        return None
    item = sheet.items[j]
    if item.key("salt_kind") and not (item.key("cure") and not item.key("salt_kind")):
        return "salt", item.key("salt_kind"), j + (2 if _is(sheet, j + 1, "salt") else 1)
    for what in ("salt", "sugar", "water"):
        if item.key(what):
            return what, None, j + 1
    return None


def _is(sheet: Sheet, i: int, category: str) -> bool:
    return i < len(sheet.items) and sheet.items[i].key(category) is not None


def _part_at(sheet: Sheet, i: int) -> Part | None:
    """Read ``1 cup of kosher salt``, ``salt 200 g``, ``salt: 200 g``, ``water 2 l``."""
    amount = sheet.amount(i)
    if amount is None or amount.kind not in {"mass", "volume"}:
        return None
    after = _ingredient(sheet, i + 1)
    if after is not None and not sheet.taken[after[2] - 1]:
        return Part(after[0], amount, i, after[2], after[1])
    if _per_unit(sheet, i + 1) is not None and not any(item.key("sugar") for item in sheet.items):
        return Part("salt", amount, i, i + 1)  # "100 g per litre": what else
    return None


def _part_before(sheet: Sheet, i: int) -> Part | None:
    """Read the amount at ``i`` as that of the ingredient just before it: ``salt 200 g``, ``salt = 200 g``."""
    amount = sheet.amount(i)
    if amount is None or amount.kind not in {"mass", "volume"}:
        return None
    j = i - 1
    while j >= 0 and sheet.text(j) in {":", "=", "-", "is", "was", "about", "~"}:
        j -= 1
    if j < 0 or sheet.taken[j]:
        return None
    item = sheet.items[j]
    for what in ("salt", "sugar", "water"):
        if item.key(what):
            kind = sheet.items[j - 1].key("salt_kind") if what == "salt" and j else None
            return Part(what, amount, j, i + 1, kind)
    if item.key("salt_kind"):
        return Part("salt", amount, j, i + 1, item.key("salt_kind"))
    return None


def _per_unit(sheet: Sheet, j: int) -> tuple[float, int] | None:
    """Read ``per gallon``, ``/l``, ``a quart``, ``to the gallon``, ``per 2 quarts``: ml of water and the index behind."""
    to = sheet.text(j) in {"to", "for", "in"}
    k = j + 1 if to else j
    amount = sheet.amount(k)
    if to and amount is not None and amount.kind == "volume" and sheet.text(k).split()[0] in {"a", "an"}:
        if sheet.text(j) == "in":
            return None
        return amount.value, _behind_water(sheet, k + 1)
    if amount is not None and amount.kind == "volume" and not to and sheet.text(k).split()[0] in {"a", "an"}:
        return amount.value, _behind_water(sheet, k + 1)
    if sheet.text(k) not in _PER or (to and sheet.text(k) == "/"):
        return None
    counted = sheet.amount(k + 1)
    if counted is not None and counted.kind == "volume":
        return counted.value, _behind_water(sheet, k + 2)
    kind, unit = unit_words().get(sheet.text(k + 1), ("", ""))
    imperial = sheet.text(k + 1) in {"imperial", "imp"}
    if imperial:
        kind, unit = unit_words().get(sheet.text(k + 2), ("", ""))
        unit = f"imperial_{unit}"
    if kind != "volume":
        return None
    return units.millilitres(1.0, unit), _behind_water(sheet, k + 2 + imperial)


def _behind_water(sheet: Sheet, j: int) -> int:
    k = j + 1 if sheet.text(j) == "of" else j
    return k + 1 if _is(sheet, k, "water") else j


def _amounts(sheet: Sheet, recipe: Recipe) -> None:
    """Read amounts of salt, sugar and water, and what each is said to go into."""
    parts = _parts(sheet)
    if not any(p.what in {"salt", "sugar"} for p in parts):
        _water_alone(sheet, recipe, parts)
        return
    water = next((p for p in parts if p.what == "water"), None)
    per = _ratio(sheet, parts)
    absolute = _water_amount(sheet, parts, water, per)
    for part in parts:
        if part.what != "water":
            _put_part(recipe, part, per[0] if per else None, absolute)
    for part in parts:
        sheet.take(
            part.at,
            part.end - 1,
            "recipe: an amount of an ingredient",
            f"{part.what} {part.amount.value:.4g}",
        )
    if absolute is not None:
        recipe.put(parts[0].at, water_ml=absolute)


def _parts(sheet: Sheet) -> list[Part]:
    """Return the amounts of ingredients; a message that names the first ingredient first goes on that way."""
    named_first = _named_first(sheet)
    found = _each(sheet)
    covered = {i for p in found for i in range(p.at, p.end)}
    for i in range(len(sheet.items)):
        if i in covered or sheet.amount(i) is None:
            continue
        rules = (_part_before, _part_at) if named_first else (_part_at, _part_before)
        part = next((p for rule in rules if (p := rule(sheet, i)) and not covered & set(range(p.at, p.end))), None)
        if part is not None:
            found.append(part)
            covered |= set(range(part.at, part.end))
    return sorted(found, key=lambda p: p.at)


def _named_first(sheet: Sheet) -> bool:
    """True for ``salt 200 g, water 2 l``: an ingredient stands before the first amount."""
    for i, item in enumerate(sheet.items):
        if item.quantity is not None and item.quantity.kind in {"mass", "volume"}:
            return False
        if item.key("salt") or item.key("sugar") or item.key("water") or item.key("salt_kind"):
            j = i + 1
            while sheet.text(j) in {":", "=", "-", "is", ","} or sheet.items[min(j, len(sheet.items) - 1)].key("salt"):
                if j >= len(sheet.items):
                    return False
                j += 1
            following = sheet.amount(j)
            return following is not None and following.kind in {"mass", "volume"}
    return False


def _each(sheet: Sheet) -> list[Part]:
    """Read ``1 cup each salt and brown sugar``, ``1 cup each of salt and sugar``."""
    for i in range(len(sheet.items)):
        amount = sheet.amount(i)
        if amount is None or amount.kind not in {"mass", "volume"} or sheet.text(i + 1) != "each":
            continue
        first = _ingredient(sheet, i + 2)
        if first is None or sheet.text(first[2]) not in {"and", "&", "+", ","}:
            continue
        second = _ingredient(sheet, first[2] + 1)
        if second is not None:
            return [
                Part(first[0], amount, i, first[2], first[1]),
                Part(second[0], amount, first[2], second[2], second[1]),
            ]
    return []


def _ratio(sheet: Sheet, parts: list[Part]) -> tuple[float, int] | None:
    """Return the ml of water that the ingredients are said to go into, where it was said as a ratio."""
    for part in parts:
        if part.what == "water":
            continue
        for j in (part.end, part.at + 1):
            per = _per_unit(sheet, j)
            if per is not None:
                sheet.take(
                    part.at,
                    min(per[1], len(sheet.items)) - 1,
                    "recipe: per volume of water",
                    f"{per[0]:.0f} ml",
                )
                return per
    return None


def _water_amount(sheet: Sheet, parts: list[Part], water: Part | None, per: tuple[float, int] | None) -> float | None:
    """Return the ml of water in all, where said: ``in 1 gal water``, ``6 qts``, ``made 3 gallons``."""
    if water is not None and not (per and sheet.taken[water.at]):
        return water.amount.value
    for i, item in enumerate(sheet.items):
        if item.quantity is None or item.quantity.kind != "volume" or sheet.taken[i]:
            continue
        if any(p.at <= i < p.end for p in parts):
            continue
        sheet.take(i, i, "recipe: volume of water", f"{item.quantity.value:.0f} ml")
        return item.quantity.value
    return None


def _put_part(recipe: Recipe, part: Part, per_ml: float | None, water_ml: float | None) -> None:
    base = per_ml if per_ml is not None else water_ml
    if part.salt_kind:
        recipe.put(part.at, salt_kind=part.salt_kind)
    if part.amount.kind == "mass":
        if per_ml is not None:
            recipe.put(part.at, **{f"{part.what}_g_per_l": part.amount.value / per_ml * 1000.0})
        else:
            recipe.put(part.at, **{f"{part.what}_g": part.amount.value})
    elif base:
        recipe.put(part.at, **{f"{part.what}_ml_per_l": part.amount.value / base * 1000.0})
    else:
        recipe.put(part.at)


def _water_alone(sheet: Sheet, recipe: Recipe, parts: list[Part]) -> None:
    """Read ``6 qts of brine`` and ``2 l water`` where the salt was said otherwise or not at all."""
    for part in parts:
        sheet.take(part.at, part.end - 1, "recipe: water", f"{part.amount.value:.0f} ml")
        recipe.put(part.at, water_ml=part.amount.value)
    for i, item in enumerate(sheet.items):
        if item.quantity is None or item.quantity.kind != "volume" or sheet.taken[i]:
            continue
        j = i + 1
        while sheet.text(j) in {"of", "the"}:
            j += 1
        brine = j < len(sheet.items) and sheet.items[j].key("stage") == "soak"
        if brine:
            sheet.take(i, j, "recipe: volume of brine", f"{item.quantity.value:.0f} ml")
            recipe.put(i, brine_ml=item.quantity.value)
        elif recipe.slots:
            sheet.take(i, i, "recipe: volume of water", f"{item.quantity.value:.0f} ml")
            recipe.put(i, water_ml=item.quantity.value)


def _dry_ratio(sheet: Sheet, recipe: Recipe) -> None:
    """Read ``4:1 brown sugar to salt``, ``4 parts sugar 1 part salt``, ``4 cups sugar to 1 cup salt``."""
    for i, item in enumerate(sheet.items):
        ratio = _colon_ratio(sheet, i) or _equal_parts(sheet, i) or _parts_ratio(sheet, i)
        if ratio is None or item.kind == "end":
            continue
        sugar_per_salt, end, by = ratio
        recipe.put(i, cure="dry", sugar_per_salt=sugar_per_salt)
        said = by or _measured_by(sheet)
        if said:
            recipe.put(i, by=said)
        sheet.take(i, end - 1, "recipe: sugar to salt", f"{sugar_per_salt:g}")
        return


def _measured_by(sheet: Sheet) -> str | None:
    words = set(sheet.words())
    if words & {"weight", "mass", "wt", "weighed", "grams"}:
        return "mass"
    return "volume" if words & {"volume", "vol", "cups", "measured", "scoop", "scoops"} else None


def _pair(sheet: Sheet, i: int) -> tuple[list[str], list[str | None], int]:
    """Read up to two ingredients from ``i``: ``brown sugar to salt``."""
    found: list[str] = []
    kinds: list[str | None] = []
    j = i
    while j < len(sheet.items) and len(found) < 2:
        ingredient = _ingredient(sheet, j)
        if ingredient is not None and ingredient[0] in {"salt", "sugar"}:
            found.append(ingredient[0])
            kinds.append(ingredient[1])
            j = ingredient[2]
        elif sheet.text(j) in {
            "to",
            ":",
            "and",
            "/",
            "&",
            "of",
            "by",
            "weight",
            "volume",
            "with",
            "-",
            ",",
            "mix",
            "ratio",
        }:
            j += 1
        else:
            break
    return found, kinds, j


def _colon_ratio(sheet: Sheet, i: int) -> tuple[float, int, str | None] | None:
    first, second = sheet.amount(i), sheet.amount(i + 2)
    if first is None or second is None or first.kind != "bare" or second.kind != "bare":
        return None
    if sheet.text(i + 1) not in {":", "to", "part", "parts"} or not first.value > 0 < second.value:
        return None
    found, _, end = _pair(sheet, i + 3)
    if len(found) < 2 or found[0] == found[1]:
        before, _, stop = _pair(sheet, max(i - 3, 0))
        if len(before) < 2 or before[0] == before[1] or stop > i + 1:
            return None
        found, end = before, i + 3
    ratio = first.value / second.value if found[0] == "sugar" else second.value / first.value
    return ratio, end, None


def _equal_parts(sheet: Sheet, i: int) -> tuple[float, int, str | None] | None:
    equal = sheet.text(i) in {"equal", "even"} and sheet.text(i + 1) in {"parts", "amounts", "part"}
    half = sheet.text(i) in {"50/50", "fifty"}
    if not equal and not half:
        return None
    found, _, end = _pair(sheet, i + 2)
    return (1.0, end, None) if set(found) == {"salt", "sugar"} else None


def _counted_part(sheet: Sheet, i: int) -> tuple[str, float, int, str | None] | None:
    """Read ``4 parts brown sugar`` or ``4 cups brown sugar``."""
    amount = sheet.amount(i)
    if amount is None:
        return None
    if amount.kind == "bare" and sheet.text(i + 1) in {"part", "parts", "scoop", "scoops", "pt", "pts"}:
        ingredient = _ingredient(sheet, i + 2)
        by = "volume" if "scoop" in sheet.text(i + 1) else None
    elif amount.kind in {"volume", "mass"}:
        ingredient = _ingredient(sheet, i + 1)
        by = amount.kind
    else:
        return None
    if ingredient is None or ingredient[0] == "water":
        return None
    return ingredient[0], amount.value, ingredient[2], by


def _parts_ratio(sheet: Sheet, i: int) -> tuple[float, int, str | None] | None:
    first = _counted_part(sheet, i)
    if first is None:
        return None
    j = first[2]
    joiner = sheet.text(j)
    while sheet.text(j) in {"to", "and", ",", "&", "+", ":", "for", "with", "per"}:
        j += 1
    second = _counted_part(sheet, j)
    if second is None or second[0] == first[0] or second[3] != first[3]:
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
    return not watery and not others and _per_unit(sheet, end) is None and joiner in {"to", "per", ":", "for"}


def _percents(sheet: Sheet, recipe: Recipe) -> None:
    """Read ``5 % brine``, ``2.5 % equilibrium``, ``3 % salt by weight of fish``."""
    cure = next((c for item in sheet.items if (c := item.key("cure"))), None)
    for i, item in enumerate(sheet.items):
        amount = sheet.amount(i)
        if amount is None or amount.kind != "percent" or _is(sheet, i + 1, "sugar"):
            continue
        near = sheet.items[max(0, i - 5) : i + 9]
        if any(n.key("label") == "rh" for n in sheet.items[max(0, i - 3) : i + 3]):
            continue
        salty = any(
            n.key("salt") or n.key("salt_kind") or n.key("cure") or n.key("stage") in {"soak", "salt"} for n in near
        )
        fishy = _of_fish(sheet, i)
        if not salty and not fishy:
            continue
        if cure in {"equilibrium", "dry"} or fishy:
            recipe.put(i, salt_per_fish_pct=amount.value)
            if "and" in fishy:
                recipe.put(i, cure="equilibrium")
        else:
            recipe.put(i, salt_pct=amount.value)
        sheet.take(i, i, "recipe: percent of salt", f"{amount.value:g} %")
        _ = item


def _of_fish(sheet: Sheet, i: int) -> str:
    """Return ``fish`` where the percent at ``i`` is said to be of the fish, ``fish and water`` of both."""
    words = sheet.words(i + 1, i + 11)
    if not _FISH_WORDS & set(words) and not any(
        item.quantity is not None and item.quantity.kind == "mass" for item in sheet.items[i + 1 : i + 9]
    ):
        return ""
    if not {"of", "to", "by", "the", "on", "per"} & set(words[:4]):
        return ""
    text = " ".join(words)
    if "brine" in words[:4] or ("water weight" in text and "fish" not in text):
        return ""
    both = "water" in words and ("fish" in words or "meat" in words)
    if words[:3] == ["by", "weight", words[2] if len(words) > 2 else ""] and "of" not in words and "fish" not in words:
        return ""
    if "weight" in words[:4] and "fish" not in words and "of" not in words:
        return ""
    return "fish and water" if both else "fish"


def _degrees(sheet: Sheet, recipe: Recipe, context: Context) -> None:
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
        if not (named or brine_after) or _is_read_off(sheet, i, context):
            continue
        recipe.put(i, salometer_deg=amount.number.value)
        sheet.take(i, i + (1 if brine_after else 0), "recipe: degrees salometer", f"{amount.number.value:g}")


def _is_read_off(sheet: Sheet, i: int, context: Context) -> bool:
    """True where degrees salometer were read off an instrument: that is a reading, not a recipe."""
    said = set(" ".join(sheet.words(max(0, i - 5), i + 5)).split())
    return bool(said & words("recipes", "read_off"))


def _brine_noun(sheet: Sheet, i: int) -> bool:
    return sheet.items[i].key("stage") == "soak" and sheet.text(i) in {"brine", "wet brine", "salt brine"}


def _kinds(sheet: Sheet, recipe: Recipe) -> None:
    """Add the kind of salt and the cure, where they stand beside the amounts."""
    for i, item in enumerate(sheet.items):
        kind = item.key("salt_kind")
        if (
            kind
            and "salt_kind" not in recipe.slots
            and not (kind == "table" and sheet.text(i) in {"table", "pickling"})
        ):
            recipe.put(i, salt_kind=kind)
        cure = item.key("cure")
        if cure and "cure" not in recipe.slots:
            recipe.put(i, cure=cure)
