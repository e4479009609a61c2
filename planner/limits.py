"""Published temperature limits, and the rules they belong to.

Rules print a temperature in two scales, rounded: 145 °F and 62.8 °C, 160 °F and 71.1 °C. A
thermometer in either scale that shows the printed figure meets the rule, so both count as one limit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from types import MappingProxyType
from typing import Any

from planner.sources import Citation, cite, rules
from planner.units import celsius

#: Half of the last digit of a reading kept to 0.01 °C: 40 °F comes back as 4.44.
ROUNDING_C = 0.0051


@dataclass(frozen=True)
class Limit:
    """A temperature limit as printed: ``c`` in °C and ``f`` in °F, ``rule`` its key."""

    rule: str
    c: float
    f: float

    @cached_property
    def least_c(self) -> float:
        """Coldest reading [°C] that meets the limit as "at least"."""
        return min(self.c, celsius(self.f, "degF")) - ROUNDING_C

    @cached_property
    def most_c(self) -> float:
        """Warmest reading [°C] that meets the limit as "at most"."""
        return max(self.c, celsius(self.f, "degF")) + ROUNDING_C

    def reached(self, value_c: float) -> bool:
        """True if ``value_c`` is at or above the limit."""
        return value_c >= self.least_c

    def kept(self, value_c: float) -> bool:
        """True if ``value_c`` is at or below the limit."""
        return value_c <= self.most_c


@cache
def rule(key: str) -> Mapping[str, Any]:
    """Figures of a rule of ``data/safety.toml``; dots part the steps of ``key``. KeyError if unknown."""
    found: Any = rules("safety")
    for step in key.split("."):
        found = found[step]
    if "source" not in found:
        raise KeyError(f"{key} is a group of rules")
    return MappingProxyType(found)


@cache
def limit(key: str) -> Limit:
    """The temperature limit of rule ``key``."""
    found = rule(key)
    return Limit(key, float(found["c"]), float(found["f"]))


@cache
def citation(key: str) -> Citation:
    """Where rule ``key`` was published and whether that was read."""
    found = rule(key)
    return cite(found["source"], found["place"], found["status"])
