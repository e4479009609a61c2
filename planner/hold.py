"""Hot enough for long enough: what spot readings prove.

Two marks. The floor is the commercial rule, 62.8 °C (145 °F) for 30 continuous minutes in the coldest
part (Michigan Regulation 569, R 285.569.7); without it no gate opens. The aim is the home guidance,
71.1 °C (160 °F) for 30 minutes (PNW 238).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from planner.limits import ROUNDING_C, citation, limit, rule
from planner.ranges import require_between
from planner.readings import Reading, coldest_by_moment
from planner.sources import Citation

#: Hottest mark a person may choose to work to [°C].
HOTTEST_MARK_C = 95.0


@dataclass(frozen=True)
class Mark:
    """A core temperature and how long it must be held; ``core_c`` is the coldest reading that counts."""

    name: str
    core_c: float
    hold_min: float
    citation: Citation

    def reached(self, value_c: float) -> bool:
        """True if ``value_c`` is at or above the mark."""
        return value_c >= self.core_c


@dataclass(frozen=True)
class Hold:
    """What the readings of one lot prove about one mark.

    ``met`` never turns back with later readings. ``since`` is the first reading of the run that is
    still going; ``held_min`` what that run proves so far, ``best_min`` what the longest run proves.
    ``broken_by`` says what ended the newest run before it was long enough: ``core_below``,
    ``chamber_below`` or ``gap``. ``next_reading_by`` is the latest moment for the next reading of a
    run that is still going, ``due_at`` the first at which a reading can complete it.
    """

    mark: Mark
    met: bool = False
    met_at: datetime | None = None
    since: datetime | None = None
    held_min: float = 0.0
    best_min: float = 0.0
    broken_by: str | None = None
    broken_at: datetime | None = None
    next_reading_by: datetime | None = None
    due_at: datetime | None = None


def marks(work_to_c: float | None = None) -> tuple[Mark, Mark]:
    """Return floor and aim.

    ``work_to_c`` is the mark a person chose, from the floor to 95 °C: below the home guidance's it
    lowers the aim, never below the floor. Raises OutOfRange otherwise.
    """
    floor, aim = _mark("floor"), _mark("aim")
    if work_to_c is None:
        return floor, aim
    require_between("work_to_c", work_to_c, floor.core_c, HOTTEST_MARK_C, "°C")
    if work_to_c < limit("floor").most_c:
        return floor, replace(floor, name="aim")
    return floor, replace(aim, core_c=work_to_c - ROUNDING_C)


def _mark(key: str) -> Mark:
    return Mark(key, limit(key).least_c, float(rule(key)["hold_min"]), citation(key))


def longest_gap() -> timedelta:
    """Longest time between two readings of one run. Our own rule."""
    return timedelta(minutes=rule("hold_proof")["gap_min"])


def hold_status(core: Sequence[Reading], chamber: Sequence[Reading], mark: Mark, now: datetime) -> Hold:
    """What ``core`` readings of one lot, taken up to ``now``, prove about ``mark``.

    A run is a row of core readings at or above the mark with no gap over 35 min and no chamber reading
    below the mark from its first to its last. Thirty minutes from first to last meet the mark. The
    colder counts where two readings share a moment. How spot readings prove a continuous hold is our
    own rule; the hold itself is R 285.569.7.
    """
    hold = Hold(mark)
    last: datetime | None = None
    for at, broken_by in _looks(core, chamber, mark, now):
        hold = _close_if_late(hold, last, at)
        if broken_by is not None:
            hold = _broken(hold, broken_by, at)
        else:
            hold, last = _held(hold, at), at
    hold = _close_if_late(hold, last, now)
    if hold.met:
        return replace(hold, broken_by=None, broken_at=None)
    if hold.since is None or last is None:
        return hold
    due_at = hold.since + timedelta(minutes=mark.hold_min)
    return replace(hold, next_reading_by=last + longest_gap(), due_at=due_at)


def _looks(
    core: Sequence[Reading], chamber: Sequence[Reading], mark: Mark, now: datetime
) -> list[tuple[datetime, str | None]]:
    """Moments that bear on a run, each with what it breaks; a moment that breaks holds nothing."""
    looks: dict[datetime, str | None] = {}
    for reading in coldest_by_moment(core, now):
        looks[reading.at] = None if mark.reached(reading.value_c) else "core_below"
    for reading in coldest_by_moment(chamber, now):
        if not mark.reached(reading.value_c):
            looks[reading.at] = looks.get(reading.at) or "chamber_below"
    return sorted(looks.items(), key=lambda look: look[0])


def _close_if_late(hold: Hold, last: datetime | None, at: datetime) -> Hold:
    if last is not None and at - last > longest_gap():
        return _broken(hold, "gap", last + longest_gap())
    return hold


def _broken(hold: Hold, why: str, at: datetime) -> Hold:
    if hold.since is None:
        return hold
    return replace(hold, since=None, held_min=0.0, broken_by=why, broken_at=at)


def _held(hold: Hold, at: datetime) -> Hold:
    since = hold.since or at
    held_min = (at - since).total_seconds() / 60.0
    met = held_min >= hold.mark.hold_min
    return replace(
        hold,
        since=since,
        held_min=held_min,
        best_min=max(hold.best_min, held_min),
        met=hold.met or met,
        met_at=at if met and hold.met_at is None else hold.met_at,
    )
