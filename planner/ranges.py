"""Refuse a number outside the range in which a sum holds."""

from __future__ import annotations

import math


class OutOfRange(ValueError):
    """A value lies outside the range in which a function is valid.

    The message names the argument, the range and what came.
    """

    def __init__(self, name: str, low: float, high: float, unit: str, got: float) -> None:
        self.name, self.low, self.high, self.unit, self.got = name, low, high, unit, got
        super().__init__(f"{name} must be {low:g} to {high:g} {unit}, got {got:g} {unit}")


def require_between(name: str, value: float, low: float, high: float, unit: str) -> float:
    """Return ``value`` if it is finite and within ``low``..``high``, else raise OutOfRange."""
    if not math.isfinite(value) or not low <= value <= high:
        raise OutOfRange(name, low, high, unit, value)
    return value
