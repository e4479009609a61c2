"""Readings at minutes from one start, for the tests of the rules of time and temperature."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import accumulate

from hypothesis import strategies as st

from planner.readings import Reading
from planner.units import celsius

T0 = datetime(2026, 9, 11, 6, tzinfo=UTC)
LATER = T0 + timedelta(days=60)


def after(minutes: float) -> datetime:
    """``minutes`` after the start."""
    return T0 + timedelta(minutes=minutes)


def read(*pairs: tuple[float, float]) -> list[Reading]:
    """Readings from (minute, °C)."""
    return [Reading(after(minute), value_c) for minute, value_c in pairs]


def read_f(*pairs: tuple[float, float]) -> list[Reading]:
    """Readings from (minute, °F)."""
    return [Reading(after(minute), celsius(value_f, "degF")) for minute, value_f in pairs]


def walks(values_c: list[float], size: int = 14) -> st.SearchStrategy[list[Reading]]:
    """Readings one after the other, 1 to 40 minutes apart, each of a few telling temperatures."""
    step = st.tuples(st.integers(1, 40), st.sampled_from(values_c))

    def walked(steps: list[tuple[int, float]]) -> list[Reading]:
        minutes = accumulate(gap for gap, _ in steps)
        return read(*((minute, value_c) for minute, (_, value_c) in zip(minutes, steps, strict=True)))

    return st.lists(step, max_size=size).map(walked)


def logs(low_c: float, high_c: float, last_min: int, size: int = 12) -> st.SearchStrategy[list[Reading]]:
    """Any readings between two temperatures up to ``last_min`` minutes after the start."""
    one = st.builds(
        lambda minute, value_c: Reading(after(minute), value_c),
        st.integers(0, last_min),
        st.floats(low_c, high_c).map(lambda value: round(value, 2)),
    )
    return st.lists(one, max_size=size)
