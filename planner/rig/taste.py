"""What somebody said of the last meal, and what it does to the next batch.

A taste moves a recipe, never a limit: an airless pack keeps the salt that its rule names, and a hot smoke
stays within the usual band of its chamber.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from planner.rig.finished import Finished
from planner.sources import rules


@dataclass(frozen=True)
class Taste:
    """The next batch's aims by what was said of batch ``of``: water-phase salt [%] and chamber [°C].

    ``was_pct`` and ``was_c`` are that batch's own, ``said`` the words that moved them.
    """

    of: str
    said: tuple[str, ...]
    was_pct: float
    wps_pct: float
    was_c: float | None = None
    chamber_c: float | None = None

    @property
    def salt_moved(self) -> bool:
        """True where the salt differs from that batch's."""
        return abs(self.wps_pct - self.was_pct) >= 0.05

    @property
    def chamber_moved(self) -> bool:
        """True where the chamber differs from that batch's."""
        return self.chamber_c is not None and self.was_c is not None and abs(self.chamber_c - self.was_c) >= 0.5


def taste_after(finished: Sequence[Finished]) -> Taste | None:
    """The aims after the newest batch that something was said of; None where nothing ever was."""
    said = [f for f in finished if f.tasted and "taste_wps_pct" in f.made]
    if not said:
        return None
    last = said[-1]
    data = rules("rig")["tasted"]
    moves = [data["words"][word] for word in last.tasted if word in data["words"]]
    was = float(last.made["taste_wps_pct"])
    wps = was
    for move in moves:
        wps *= move.get("salt", 1.0)
    was_c = last.made.get("chamber_aim_c")
    chamber = None
    if was_c is not None:
        chamber = _within(was_c + sum(m.get("chamber_k", 0.0) for m in moves), data["coolest_c"], data["warmest_c"])
    wps = _within(wps, data["mildest_pct"], data["saltiest_pct"])
    return Taste(last.name, last.tasted, was, round(wps, 2), was_c, chamber)


def changed_pct(wps_pct: float, change: str) -> float:
    """Water-phase salt [%] with ``less``, ``more``, ``much_less`` or ``much_more`` of it, within what is eaten."""
    data, step = rules("rig")["tasted"], rules("rig")["change"]["much" if change.startswith("much_") else "little"]
    moved = wps_pct * (1.0 - step if change.endswith("less") else 1.0 + step)
    return round(_within(moved, data["mildest_pct"], data["saltiest_pct"]), 2)


def _within(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)
