"""The course of the core from now on, as the runs of a forecast have it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.spread import Spread
from planner.unknowns import at_moments, spread_of

Floats = NDArray[np.float64]

_STEP_S = 900.0


@dataclass(frozen=True)
class Ahead:
    """The core [degC] expected so many seconds after the start of the smoke, with its 80 % range."""

    at_s: float
    core_c: Spread


def course_from(time_s: Floats, core_c: Floats, later: Floats, weights: Floats, now_s: float) -> tuple[Ahead, ...]:
    """Every quarter of an hour from ``now_s`` to the end of the runs ``core_c`` (times, runs).

    ``later`` is by how much each run takes longer from now on than its sum says.
    """
    at_s = np.arange(now_s, float(time_s[-1]), _STEP_S)
    own_s = now_s + (at_s[:, None] - now_s) / later
    values = at_moments(time_s, core_c, own_s)
    return tuple(Ahead(float(s), _spread(row, weights)) for s, row in zip(at_s, values, strict=True))


def _spread(values: Floats, weights: Floats) -> Spread:
    found = spread_of(values, weights)
    assert found is not None  # temperatures are finite
    return found
