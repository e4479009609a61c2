"""Where a function of one number crosses zero."""

from __future__ import annotations

from collections.abc import Callable
from math import copysign

_TRIES = 100
_CLOSE = 1e-14


def root(function: Callable[[float], float], low: float, high: float) -> float:
    """The zero between ``low`` and ``high``, where a continuous ``function`` has opposite signs.

    To the last digits of a float. M. Dowell, P. Jarratt, A modified regula falsi method, BIT 11
    (1971), the Illinois rule. scipy.optimize would do, and cost every start twenty megabytes.
    Raises ValueError where the signs are the same.
    """
    at_low, at_high = function(low), function(high)
    if at_low == 0.0:
        return low
    if at_high != 0.0 and copysign(1.0, at_low) == copysign(1.0, at_high):
        raise ValueError(f"no change of sign between {low:g} and {high:g}")
    least, most = min(low, high), max(low, high)
    for _ in range(_TRIES):
        if at_high == 0.0 or abs(high - low) <= _CLOSE * (abs(low) + abs(high)):
            break
        new = min(max(high - at_high * (high - low) / (at_high - at_low), least), most)
        at_new = function(new)
        if copysign(1.0, at_new) == copysign(1.0, at_high):
            at_low /= 2.0
        else:
            low, at_low = high, at_high
        if new == high:
            break
        high, at_high = new, at_new
    return high
