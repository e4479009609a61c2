"""Read a brine or a salt mix, in any of the ways that people say it, into the contract's slots."""

from __future__ import annotations

from bot.understanding.ingredients import Part, Recipe, ingredient, per_unit
from bot.understanding.items import Sheet
from bot.understanding.mixes import read_mix
from bot.understanding.model import Context, Doubt
from bot.understanding.plausible import possible
from bot.understanding.relative_sugar import read_relative_sugar
from bot.understanding.strengths import read_strength
from bot.understanding.vocabulary import strange
from planner.units import millilitres

#: A message that says no more than a measure of salt is as short as this.
_LONE_SALT = 5
#: Behind these a volume is that of the water, whatever follows a comma.
_BEFORE_WATER = frozenset({"for", "to", "in", "per", "/", "on", "pr", "with"})
#: "5 litres of it", where "it" is the brine.
_IT = frozenset({"it", "that", "this"})
#: Stages in which a volume alone is the brine's water.
_MIXING = frozenset({None, "thaw", "trim", "soak"})


def read_recipe(sheet: Sheet, context: Context) -> Recipe | None:
    """Return the recipe that a message gives, or None; mark what it took."""
    recipe = Recipe({})
    if "pan" in sheet.words():
        return None  # water for the smoker, not for a brine
    read_mix(sheet, recipe)
    read_strength(sheet, recipe)
    _amounts(sheet, recipe, context)
    read_relative_sugar(sheet, recipe, context)
    if recipe.slots:
        _kinds(sheet, recipe)
    elif not recipe.doubts and not _kind_alone(sheet, recipe):
        return None
    for slot, value in list(recipe.slots.items()):
        if isinstance(value, float) and not possible(slot, value):
            del recipe.slots[slot]
            recipe.doubts.append(Doubt(slot, (), "implausible"))
    return recipe


def _kind(sheet: Sheet, i: int) -> str | None:
    """The kind of salt named at ``i``; "not kosher" names none."""
    return None if sheet.text(i - 1) == "not" else sheet.items[i].key("salt_kind")


def _kind_alone(sheet: Sheet, recipe: Recipe) -> bool:
    """Read ``using table salt``, ``dry brine``: the kind or the cure with no amounts."""
    for i, item in enumerate(sheet.items):
        kind, cure = _kind(sheet, i), item.key("cure")
        if kind and not (kind == "table" and item.text in {"table", "pickling"}) and item.text != "coarse":
            recipe.put(i, salt_kind=kind)
            sheet.take(i, i, "word for the salt", kind)
        if cure and (i == 0 or sheet.text(i - 1) not in {"the", "of"}):
            recipe.put(i, cure=cure)
            sheet.take(i, i, "word for the cure", cure)
    return bool(recipe.slots)


def _kinds(sheet: Sheet, recipe: Recipe) -> None:
    """Add the kind of salt and the cure, where they stand beside the amounts."""
    for i, item in enumerate(sheet.items):
        kind = _kind(sheet, i)
        if (
            kind
            and "salt_kind" not in recipe.slots
            and not (kind == "table" and sheet.text(i) in {"table", "pickling"})
        ):
            recipe.put(i, salt_kind=kind)
        cure = item.key("cure")
        if cure and "cure" not in recipe.slots:
            recipe.put(i, cure=cure)


def _amounts(sheet: Sheet, recipe: Recipe, context: Context) -> None:
    """Read amounts of salt, sugar and water, and what each is said to go into."""
    parts = _parts(sheet)
    if not any(p.what in {"salt", "sugar"} for p in parts):
        _water_alone(sheet, recipe, parts, context)
        return
    water = next((p for p in parts if p.what == "water"), None)
    per = _ratio(sheet, parts)
    absolute = _water_amount(sheet, parts, water, per)
    for part in parts:
        if part.what != "water":
            _put_part(recipe, part, per[0] if per else None, absolute)
    if per is None and absolute is None:
        _ask_for_water(sheet, recipe, parts, context)
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
        first = ingredient(sheet, i + 2)
        if first is None or sheet.text(first[2]) not in {"and", "&", "+", ","}:
            continue
        second = ingredient(sheet, first[2] + 1)
        if second is not None:
            return [
                Part(first[0], amount, i, first[2], first[1]),
                Part(second[0], amount, first[2], second[2], second[1]),
            ]
    return []


def _part_at(sheet: Sheet, i: int) -> Part | None:
    """Read ``1 cup of kosher salt``, ``salt 200 g``, ``salt: 200 g``, ``water 2 l``."""
    amount = sheet.amount(i)
    if amount is None or amount.kind not in {"mass", "volume"}:
        return None
    after = ingredient(sheet, i + 1)
    said = any(item.key("salt") for item in sheet.items[:i])
    if sheet.text(i + 1) == "," and (said or sheet.text(i - 1) in _BEFORE_WATER):
        after = None  # "60 g salt for 1 litre, fine sea salt"
    if after is not None and not sheet.taken[after[2] - 1]:
        return Part(after[0], amount, i, after[2], after[1])
    per = per_unit(sheet, i + 1)
    if per is None:
        return None
    behind = ingredient(sheet, per[1])  # "80 g/l salt"
    if behind is not None and behind[0] != "water":
        return Part(behind[0], amount, i, behind[2], behind[1])
    if any(item.key("sugar") for item in sheet.items):
        return None
    return Part("salt", amount, i, i + 1)  # "100 g per litre": what else


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


def _ratio(sheet: Sheet, parts: list[Part]) -> tuple[float, int] | None:
    """Return the ml of water that the ingredients are said to go into, where it was said as a ratio."""
    for part in parts:
        if part.what == "water":
            continue
        for j in (part.end, part.at + 1):
            per = per_unit(sheet, j)
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


def _ask_for_water(sheet: Sheet, recipe: Recipe, parts: list[Part], context: Context) -> None:
    """Ask what a lone measure of salt goes into: ``half a cup of salt``."""
    salt = [p for p in parts if p.what == "salt" and p.amount.kind == "volume"]
    if len(parts) != 1 or not salt or context.stage not in _MIXING or len(sheet.items) > _LONE_SALT:
        return
    if strange(sheet, (0, len(sheet.items))) or "cure" in recipe.slots or {"weighs", "weighed"} & set(sheet.words()):
        return
    usual = ("liter", "quart") if context.units == "metric" else ("quart", "gallon")
    options = tuple(
        (f"per {unit}", {"salt_ml_per_l": round(salt[0].amount.value / millilitres(1.0, unit) * 1000.0, 3)})
        for unit in usual
    )
    recipe.doubts.append(Doubt("salt_ml_per_l", options, "how much water"))


def _water_alone(sheet: Sheet, recipe: Recipe, parts: list[Part], context: Context) -> None:
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
        if sheet.text(j) in {"bucket", "pot", "tote", "tub", "cooler", "pail", "bin", "crock"}:
            continue  # a five gallon bucket is not five gallons of brine
        of_it = j > i + 1 and sheet.text(j) in _IT and bool({"salt_pct", "salometer_deg"} & recipe.slots.keys())
        brine = of_it or (j < len(sheet.items) and sheet.items[j].key("stage") == "soak")
        if brine:
            sheet.take(i, j, "recipe: volume of brine", f"{item.quantity.value:.0f} ml")
            recipe.put(i, brine_ml=item.quantity.value)
        elif recipe.slots or (context.stage in _MIXING and not strange(sheet, (0, len(sheet.items)))):
            sheet.take(i, i, "recipe: volume of water", f"{item.quantity.value:.0f} ml")
            recipe.put(i, water_ml=item.quantity.value)
