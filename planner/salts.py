"""How much a measured volume of salt or sugar weighs.

A cup of one salt can weigh more than twice a cup of another, so a volume is a mass with a spread; the
cure for the spread is to weigh.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from planner.sources import Citation, cite, table
from planner.spread import Spread
from planner.units import factor


class UnknownIngredient(KeyError):
    """No salt or sugar has this key."""

    def __init__(self, key: str, known: tuple[str, ...]) -> None:
        self.key, self.known = key, known
        super().__init__(f"no such kind: {key}; known are {', '.join(known)}")


@dataclass(frozen=True)
class Ingredient:
    """A salt or a sugar: ``g_per_ml`` heaped as at home, ``water`` grams of water per gram."""

    key: str
    english: str
    g_per_ml: Spread
    water: float
    citation: Citation


def salt(kind: str) -> Ingredient:
    """The salt ``kind`` of the contract (``table`` ... ``kosher``). Raises UnknownIngredient."""
    return _find("salt", kind)


def sugar(kind: str = "white") -> Ingredient:
    """The sugar ``kind`` (``white`` ``brown`` ``honey`` ...). Raises UnknownIngredient."""
    return _find("sugar", kind)


def kinds(group: str) -> tuple[str, ...]:
    """Keys of all of a ``group``: ``salt`` or ``sugar``."""
    return tuple(_group(group))


def _find(group: str, kind: str) -> Ingredient:
    found = _group(group)
    if kind not in found:
        raise UnknownIngredient(kind, tuple(found))
    return found[kind]


@cache
def _group(group: str) -> dict[str, Ingredient]:
    return {row["key"]: _ingredient(row) for row in table("ingredients") if row["group"] == group}


def _ingredient(row: dict[str, str]) -> Ingredient:
    cup = Spread(float(row["low"]), float(row["g_per_cup"]), float(row["high"]))
    return Ingredient(
        key=row["key"],
        english=row["english"],
        g_per_ml=cup.scaled(1.0 / factor("cup", "milliliter")),
        water=float(row["water"]),
        citation=cite(row["source"], row["place"], row["status"]),
    )
