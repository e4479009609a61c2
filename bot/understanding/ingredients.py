"""The ingredients of a brine or a salt mix, as they stand in a message."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from bot.understanding.items import Sheet
from bot.understanding.lexicon import is_known
from bot.understanding.model import Doubt
from bot.understanding.quantities import Quantity, unit_words
from bot.understanding.wordlists import words
from planner import units

_PER = words("recipes", "per")
_ARTICLES = words("recipes", "articles")
_OF = words("recipes", "of")


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


def ingredient(sheet: Sheet, i: int) -> tuple[str, str | None, int] | None:
    """Read ``of kosher salt``, ``brown sugar``, ``water`` at ``i``: what, the kind of salt, the index behind."""
    j = i
    while j < len(sheet.items) and sheet.text(j) in _OF and j < i + 3:
        j += 1
    if j >= len(sheet.items):
        return None
    j = _behind_names(sheet, j)
    item = sheet.items[j]
    if item.key("salt_kind") and not (item.key("cure") and not item.key("salt_kind")):
        return "salt", item.key("salt_kind"), j + (2 if says(sheet, j + 1, "salt") else 1)
    for what in ("salt", "sugar", "water"):
        if item.key(what):
            return what, None, j + 1
    return None


def _behind_names(sheet: Sheet, j: int) -> int:
    """Return the index behind up to two words that only name a make of salt: ``a cup of such style kosher``."""
    for k in range(j, min(j + 3, len(sheet.items))):
        if sheet.items[k].key("salt_kind") or (k > j and sheet.items[k].key("salt")):
            return k
        if sheet.items[k].kind != "word" or is_known(sheet.text(k)):
            break
    return j


def says(sheet: Sheet, i: int, category: str) -> bool:
    """True if item ``i`` says something in ``category``."""
    return i < len(sheet.items) and sheet.items[i].key(category) is not None


def per_unit(sheet: Sheet, j: int) -> tuple[float, int] | None:
    """Read ``per gallon``, ``/l``, ``to the gallon``, ``per 2 quarts``: ml of water and the index behind."""
    to = sheet.text(j) in {"to", "for", "in"}
    k = j + 1 if to else j
    amount = sheet.amount(k)
    if to and amount is not None and amount.kind == "volume" and sheet.text(k).split()[0] in {"a", "an"}:
        if sheet.text(j) == "in":
            return None
        return amount.value, behind_water(sheet, k + 1)
    if to and sheet.text(j) != "in" and amount is not None and amount.kind == "volume" and amount.number.value == 1:
        return amount.value, behind_water(sheet, k + 1)  # "60 g for 1 litre"
    if amount is not None and amount.kind == "volume" and not to and sheet.text(k).split()[0] in {"a", "an"}:
        return amount.value, behind_water(sheet, k + 1)
    one = unit_words().get(sheet.text(k), ("", ""))
    if sheet.text(j) == "to" and one[0] == "volume":
        return units.millilitres(1.0, one[1]), behind_water(sheet, k + 1)  # "to gal"
    if sheet.text(k) not in _PER or (to and sheet.text(k) == "/"):
        return None
    k += sheet.text(k + 1) in _ARTICLES
    counted = sheet.amount(k + 1)
    if counted is not None and counted.kind == "volume":
        return counted.value, behind_water(sheet, k + 2)
    kind, unit = unit_words().get(sheet.text(k + 1), ("", ""))
    imperial = sheet.text(k + 1) in {"imperial", "imp"}
    if imperial:
        kind, unit = unit_words().get(sheet.text(k + 2), ("", ""))
        unit = f"imperial_{unit}"
    if kind != "volume":
        return None
    return units.millilitres(1.0, unit), behind_water(sheet, k + 2 + imperial)


def behind_water(sheet: Sheet, j: int) -> int:
    """Return the index behind ``of water`` at ``j``, or ``j``."""
    k = j + 1 if sheet.text(j) == "of" else j
    return k + 1 if says(sheet, k, "water") else j
