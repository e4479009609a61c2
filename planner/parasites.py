"""Freezing against parasites: which fish need it, and for how long.

FDA Food Code 3-402.11 and Fish and Fishery Products Hazards and Controls Guidance, 4th ed., ch. 5.
Salt, smoke and cold smoking do not kill them; hot smoking to the floor does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from planner.limits import citation, limit, rule
from planner.ranges import require_between
from planner.readings import Reading, warmest_by_moment
from planner.sources import Citation

Product = Literal["hot", "cold"]


@dataclass(frozen=True)
class FreezeOption:
    """One way: so many ``hours`` at ``temp_c`` or colder, after it is solid where ``once_solid``."""

    key: str
    temp_c: float
    hours: float
    once_solid: bool
    citation: Citation


@dataclass(frozen=True)
class ParasiteNeed:
    """Whether freezing must come first. ``why``: ``may_carry``, ``exempt`` or ``hot_smoke``."""

    freeze_first: bool
    why: str
    options: tuple[FreezeOption, ...]
    citation: Citation


def parasite_need(product: Product, *, may_carry: bool) -> ParasiteNeed:
    """Judge a fish of which ``may_carry`` says whether it can carry parasites that harm people.

    ``may_carry`` is False for the exempt: the named tunas, and farmed fish fed on pellets without live
    parasites. Hot smoking to the floor kills them.
    """
    if product == "hot":
        return ParasiteNeed(False, "hot_smoke", (), citation("parasites.hot_smoke"))
    if not may_carry:
        return ParasiteNeed(False, "exempt", (), citation("parasites.exempt"))
    return ParasiteNeed(True, "may_carry", freeze_options(), citation("parasites.week"))


def freeze_options() -> tuple[FreezeOption, ...]:
    """-20 °C (-4 °F) for 7 days, or -35 °C (-31 °F) for 15 h once solid (Food Code 3-402.11)."""
    return tuple(
        FreezeOption(key, limit(f"parasites.{key}").c, float(rule(f"parasites.{key}")["hours"]), solid, where)
        for key, solid in (("week", False), ("deep", True))
        for where in (citation(f"parasites.{key}"),)
    )


def freezing_proven(freezer: Sequence[Reading], thickness_mm: float, now: datetime) -> FreezeOption | None:
    """The option that ``freezer`` readings prove by ``now``, or None.

    First and last reading at or below the option's temperature lie its hours apart, with none warmer
    between; the week's count allows no more than 25 h without a reading (our own rule). The deep
    option counts from the first reading given: give those from when the fish was solid. Fish thicker
    than 150 mm is not covered (FDA Hazards Guide ch. 5, from memory). ``thickness_mm`` 2..600.
    """
    require_between("thickness_mm", thickness_mm, 2.0, 600.0, "mm")
    if thickness_mm > rule("parasites.thickest")["mm"]:
        return None
    read = warmest_by_moment(freezer, now)
    return next((option for option in freeze_options() if _run_h(read, option) >= option.hours), None)


def _run_h(read: Sequence[Reading], option: FreezeOption) -> float:
    """Longest run [h] of readings cold enough for ``option``."""
    cold = limit(f"parasites.{option.key}")
    longest_gap = timedelta(hours=rule("parasites.proof")["gap_h"])
    best_h, since, last = 0.0, None, None
    for reading in read:
        if not cold.kept(reading.value_c):
            since = None
            continue
        if since is None or (last is not None and reading.at - last > longest_gap):
            since = reading.at
        last = reading.at
        best_h = max(best_h, (reading.at - since) / timedelta(hours=1))
    return best_h


def home_freezer_is_enough(freezer_c: float) -> bool:
    """True if a freezer at ``freezer_c`` is cold enough for the week's rule; a usual -18 °C is not."""
    return limit("parasites.week").kept(freezer_c)
