"""A temperature that was read at a moment."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime

from planner.ranges import require_between


@dataclass(frozen=True, order=True)
class Reading:
    """One temperature, °C (-80 to 300), read ``at`` an aware moment.

    Raises ValueError for a moment without a zone and OutOfRange for what no probe here shows.
    """

    at: datetime
    value_c: float

    def __post_init__(self) -> None:
        if self.at.tzinfo is None:
            raise ValueError("a reading's moment needs a zone")
        require_between("value_c", self.value_c, -80.0, 300.0, "°C")


def coldest_by_moment(readings: Iterable[Reading], now: datetime) -> list[Reading]:
    """Readings up to ``now`` in order of time, of several at one moment the coldest."""
    return _one_by_moment(readings, now, min)


def warmest_by_moment(readings: Iterable[Reading], now: datetime) -> list[Reading]:
    """Readings up to ``now`` in order of time, of several at one moment the warmest."""
    return _one_by_moment(readings, now, max)


def _one_by_moment(
    readings: Iterable[Reading], now: datetime, pick: Callable[[Reading, Reading], Reading]
) -> list[Reading]:
    by_moment: dict[datetime, Reading] = {}
    for reading in readings:
        if reading.at <= now:
            by_moment[reading.at] = pick(by_moment.get(reading.at, reading), reading)
    return sorted(by_moment.values())
