"""Readings and courses as the points and bands that pictures draw."""

from __future__ import annotations

from collections.abc import Iterable

from bot.pictures.records import BandPoint, Point
from planner.plan import CoreAhead
from planner.readings import Reading


def points_of(readings: Iterable[Reading]) -> tuple[Point, ...]:
    """Readings in order of time."""
    return tuple(Point(r.at, r.value_c) for r in sorted(readings))


def band_of(course: Iterable[CoreAhead]) -> tuple[BandPoint, ...]:
    """A forecast."""
    return tuple(BandPoint(a.at, a.core_c.low, a.core_c.mid, a.core_c.high) for a in course)
