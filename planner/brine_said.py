"""The ways in which people say how much salt and sugar a brine has, as values.

The names of the forms are the slots of a described batch; the ratios ``..._per_l`` are to a litre of
water.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal, get_args

from planner.salts import salt, sugar
from planner.spread import Spread

SaltForm = Literal[
    "salt_g",
    "salt_ml",
    "salt_g_per_l",
    "salt_ml_per_l",
    "salt_g_per_l_brine",
    "salt_pct",
    "salometer_deg",
]
SugarForm = Literal["sugar_g", "sugar_ml", "sugar_g_per_l", "sugar_ml_per_l", "sugar_per_salt"]


class OneStrength(ValueError):
    """Exactly one way of saying the salt is needed, and at most one of saying the sugar."""

    def __init__(self, came: tuple[str, ...]) -> None:
        self.came = came
        super().__init__(f"say it in one way, got {', '.join(came) or 'none'}")


@dataclass(frozen=True)
class SaltSaid:
    """Salt as it was said; ``kind`` matters where ``form`` is by volume."""

    form: SaltForm
    value: float
    kind: str = "kosher"

    def measured_g(self, water_ml: float) -> Spread | None:
        """Its mass beside ``water_ml`` of water; None where a share of the brine was said."""
        return _measured_g(self.form.removeprefix("salt_"), self.value, water_ml, salt(self.kind).g_per_ml)


@dataclass(frozen=True)
class SugarSaid:
    """Sugar as it was said; ``kind`` and ``by`` matter where a volume was meant."""

    form: SugarForm
    value: float
    kind: str = "white"
    by: Literal["mass", "volume"] = "mass"

    def measured_g(self, water_ml: float) -> Spread | None:
        """Its mass beside ``water_ml`` of water, as it is; None where parts to one of salt were said."""
        return _measured_g(self.form.removeprefix("sugar_"), self.value, water_ml, sugar(self.kind).g_per_ml)

    def per_salt(self, salt_kind: str) -> Spread:
        """Grams of it, as it is, to a gram of salt, where parts to one were said."""
        if self.by == "mass":
            return exact(self.value)
        of_sugar, of_salt = sugar(self.kind).g_per_ml, salt(salt_kind).g_per_ml
        per_gram = Spread(of_sugar.low / of_salt.high, of_sugar.mid / of_salt.mid, of_sugar.high / of_salt.low)
        return per_gram.scaled(self.value)


def salt_said(slots: Mapping[str, Any]) -> SaltSaid:
    """The one salt among described ``slots`` (their ``salt_kind`` included). Raises OneStrength."""
    forms = [form for form in get_args(SaltForm) if slots.get(form) is not None]
    if len(forms) != 1:
        raise OneStrength(tuple(forms))
    return SaltSaid(forms[0], float(slots[forms[0]]), slots.get("salt_kind") or "kosher")


def sugar_said(slots: Mapping[str, Any]) -> SugarSaid | None:
    """The sugar among described ``slots`` (``sugar_kind`` and ``by`` included). Raises OneStrength."""
    forms = [form for form in get_args(SugarForm) if slots.get(form) is not None]
    if len(forms) > 1:
        raise OneStrength(tuple(forms))
    if not forms:
        return None
    by: Literal["mass", "volume"] = "volume" if slots.get("by") == "volume" else "mass"
    return SugarSaid(forms[0], float(slots[forms[0]]), slots.get("sugar_kind") or "white", by)


def exact(value: float) -> Spread:
    """A quantity without a spread: it was weighed."""
    return Spread(value, value, value)


def _measured_g(measure: str, value: float, water_ml: float, g_per_ml: Spread) -> Spread | None:
    litres = water_ml / 1000.0
    match measure:
        case "g":
            return exact(value)
        case "ml":
            return g_per_ml.scaled(value)
        case "g_per_l":
            return exact(value * litres)
        case "ml_per_l":
            return g_per_ml.scaled(value * litres)
    return None
