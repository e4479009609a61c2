"""Ticks, nights and days follow the local clock through every kind of zone."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.pictures.habits import Habit, local
from bot.pictures.timeaxis import TimeSpan, days, nights, span, ticks

# Clocks in Vancouver went from 02:00 PDT back to 01:00 PST on 1 November 2026: that night has 9 hours
# between 22:00 (05:00 UTC) and 06:00 (14:00 UTC).
FALL = TimeSpan(
    datetime(2026, 11, 1, 5, tzinfo=UTC),
    datetime(2026, 11, 1, 23, tzinfo=UTC),
    648,
    Habit("America/Vancouver", "us"),
)


def test_ticks_keep_local_hours_across_the_shift() -> None:
    # The span starts at 05:00 UTC; midnight PDT is 07:00 UTC, then 12:00, 16:00 and 20:00 UTC in PST.
    assert {word: x for x, word in ticks(FALL)} == {"12 am": 2, "4 am": 7, "8 am": 11, "noon": 15}


def test_a_night_is_as_long_as_its_clock_says() -> None:
    assert nights(FALL) == [(0, 9)]


def test_days_meet_at_local_midnight() -> None:
    assert days(FALL) == [("Sat 31", 0, 2), ("Sun 1", 2, 18)]


def test_a_night_that_does_not_cross_midnight() -> None:
    habit = Habit("UTC", "metric", (time(1), time(7)))
    over = TimeSpan(datetime(2026, 5, 4, tzinfo=UTC), datetime(2026, 5, 5, tzinfo=UTC), 648, habit)
    assert nights(over) == [(1, 7)]


@pytest.mark.parametrize("zone", ["Asia/Kathmandu", "Australia/Adelaide", "Pacific/Apia", "America/St_Johns"])
def test_ticks_are_whole_local_hours_where_the_offset_is_not(zone: str) -> None:
    start = datetime(2026, 5, 4, 3, 20, tzinfo=UTC)
    over = span([start, start + timedelta(hours=30)], 648, Habit(zone))
    assert ticks(over)
    for x, _ in ticks(over):
        assert local(over.start + timedelta(hours=x), over.habit).minute == 0


@given(
    st.integers(0, 15 * 365 * 24 * 60).map(lambda m: datetime(2020, 1, 1, tzinfo=UTC) + timedelta(minutes=m)),
    st.floats(0.02, 400),
    st.sampled_from(["America/Vancouver", "Asia/Kathmandu", "Europe/Oslo", "Africa/Casablanca"]),
    st.sampled_from(["us", "metric"]),
)
def test_ticks_rise_and_stay_on_the_axis(start: datetime, length_h: float, zone: str, units: str) -> None:
    over = span([start, start + timedelta(hours=length_h)], 556, Habit(zone, units))
    places = [x for x, _ in ticks(over)]
    assert places == sorted(set(places))
    assert all(0 <= x <= over.hours for x in places)
    for begin, end in nights(over):
        assert 0 <= begin < end <= over.hours
