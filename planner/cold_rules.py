"""Temperatures of the cold stages: brine, salting, thawing, drying for cold smoke, the fridge."""

from __future__ import annotations

from dataclasses import dataclass

from planner.limits import citation, limit, rule
from planner.ranges import require_between
from planner.sources import Citation


@dataclass(frozen=True)
class ColdCheck:
    """One cold rule applied. ``kept`` False: too warm, or not read (``value_c`` None) where it must be."""

    rule: str
    kept: bool
    value_c: float | None
    limit_c: float
    citation: Citation


def _check(key: str, value_c: float | None) -> ColdCheck:
    if value_c is not None:
        require_between("value_c", value_c, -40.0, 60.0, "°C")
    kept = value_c is not None and limit(key).kept(value_c)
    return ColdCheck(key, kept, value_c, limit(key).c, citation(key))


def fridge(value_c: float | None) -> ColdCheck:
    """Fridge at 3.3 °C (38 °F) or colder, for raw and finished fish (1 NYCRR 262.3, Michigan 569.8)."""
    return _check("fridge", value_c)


def brine_at_start(value_c: float | None) -> ColdCheck:
    """Brine at 15.6 °C (60 °F) or colder when the fish goes in (1 NYCRR 262.5, Michigan 569.5)."""
    return _check("brine_start", value_c)


def soak(soak_h: float, value_c: float | None) -> ColdCheck:
    """Brining of ``soak_h`` (0..240 h) hours: over 4 h fish and brine lie at 3.3 °C (38 °F) or colder.

    Up to 4 h the limit of the brine's start holds. 1 NYCRR 262.5, Michigan Regulation 569.5.
    """
    require_between("soak_h", soak_h, 0.0, 240.0, "h")
    return _check("long_brine" if soak_h > rule("long_brine")["over_h"] else "brine_start", value_c)


def dry_salted(value_c: float | None) -> ColdCheck:
    """Dry-salted fish goes back to 3.3 °C (38 °F) or colder at once (1 NYCRR 262.5)."""
    return _check("dry_salted", value_c)


def thawing(value_c: float | None) -> ColdCheck:
    """Thawing at 3.3 °C (38 °F) or colder (Michigan 569.4)."""
    return _check("thaw", value_c)


def dry_for_cold_smoke(value_c: float | None) -> ColdCheck:
    """Drying before cold smoke at 4.4 °C (40 °F) or colder (AFDO smoked fish practices)."""
    return _check("dry_before_cold_smoke", value_c)
