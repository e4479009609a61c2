"""How two batches differ, the difference that matters most first."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from planner.sources import rules

#: Differences that are told.
MOST = 3


@dataclass(frozen=True)
class Difference:
    """One figure (a key of ``data/compare.toml``) as it is and as it was; ``weight`` in what anybody would notice."""

    key: str
    now: float
    then: float
    weight: float


def differences(now: Mapping[str, Any], then: Mapping[str, Any]) -> tuple[Difference, ...]:
    """What differs between two batches as they were made, by how much it matters; nothing that nobody would notice.

    Both are figures of :func:`planner.rig.making_of.made_in`; what only one of them has is no difference.
    """
    found = [
        Difference(key, float(now[key]), float(then[key]), _weight(rule, float(now[key]), float(then[key])))
        for key, rule in rules("compare").items()
        if key in now and key in then
    ]
    return tuple(sorted((d for d in found if d.weight >= 1.0), key=lambda d: -d.weight))


def _weight(rule: Mapping[str, Any], now: float, then: float) -> float:
    if "unit" in rule:
        return abs(now - then) / float(rule["unit"])
    if now <= 0.0 or then <= 0.0:
        return 0.0
    return abs(math.log(now) - math.log(then)) / math.log(float(rule["factor"]))
