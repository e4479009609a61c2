"""The small pure parts: lateness, pacing, clocks, columns."""

from __future__ import annotations

import asyncio
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.bell import Bell
from scheduler.clock import FakeClock, SystemClock
from scheduler.columns import micros, moment_of
from scheduler.lateness import GRACE, call
from scheduler.pacing import Rate, backoff_s
from tests.scheduler.parts import HOUR, T0, ring

late_rings = st.lists(
    st.builds(
        lambda n, late_s, protects, use_s: ring(
            f"r{n}",
            T0 - timedelta(seconds=late_s),
            protects=protects,
            useful_until=None if use_s is None else T0 + timedelta(seconds=use_s),
        ),
        st.integers(),
        st.integers(0, 100_000),
        st.booleans(),
        st.none() | st.integers(-50_000, 50_000),
    ),
    max_size=8,
)


@given(late_rings)
def test_every_due_reminder_has_one_fate(rings):
    calling = call(rings, T0)
    assert sorted([*calling.ring, *calling.drop, *calling.merged]) == list(range(len(rings)))


@given(late_rings)
def test_a_protecting_reminder_is_always_rung_itself(rings):
    calling = call(rings, T0)
    assert {i for i, r in enumerate(rings) if r.protects} <= set(calling.ring)


@given(late_rings)
def test_only_what_is_over_is_dropped_and_what_is_merged_is_told(rings):
    calling = call(rings, T0)
    for i in calling.drop:
        assert rings[i].useful_until < T0
    for i in calling.merged:
        assert calling.newest in calling.ring
        assert T0 - rings[i].due > GRACE
        assert rings[i].due <= rings[calling.newest].due


@given(late_rings)
def test_reminders_in_time_are_never_merged(rings):
    calling = call(rings, T0)
    assert all(T0 - rings[i].due > GRACE for i in calling.merged)


@given(
    st.integers(1, 8),
    st.lists(st.floats(0, 5), min_size=30, max_size=60),
)
def test_a_rate_holds_over_any_span(burst, thinking_s):
    rate, now, slot = Rate(1.0, burst), T0, T0
    sent = []
    for pause in thinking_s:
        now += timedelta(seconds=pause)
        sent.append(now)
        slot, now = rate.spend(slot, now)
    for i, first in enumerate(sent):
        for j in range(i, len(sent)):
            # In any window of w seconds no more than the burst and one for each second.
            assert j - i + 1 <= burst + (sent[j] - first).total_seconds() + 1e-6


def test_a_rate_does_not_wait_for_a_clock_that_was_set_back():
    rate = Rate(1.0, 3)
    slot, _ = rate.spend(T0, T0)
    _, go = rate.spend(slot, T0 - HOUR)
    assert go - (T0 - HOUR) <= timedelta(seconds=3)


@given(st.integers(1, 10_000))
def test_backoff_grows_to_a_bound_with_jitter(attempt):
    wait = backoff_s(attempt, first_s=1, most_s=300)
    whole = min(300, 2.0 ** min(attempt - 1, 30))
    assert whole / 2 <= wait <= whole


@given(st.integers(-(10**15), 10**16), st.integers(-14 * 60, 14 * 60))
def test_an_instant_survives_being_stored(micro, offset_min):
    moment = (T0 + timedelta(microseconds=micro)).astimezone(timezone(timedelta(minutes=offset_min)))
    assert moment_of(micros(moment)) == moment
    assert moment_of(micros(moment)).tzinfo is UTC


def test_an_instant_without_an_offset_is_refused():
    with pytest.raises(ValueError, match="offset"):
        micros(datetime(2026, 9, 11))  # noqa: DTZ001 - that is the point


async def test_a_fake_clock_wakes_sleepers_in_order_each_at_its_moment():
    clock, woken = FakeClock(T0), []

    async def sleeper(name: str, *hours: float) -> None:
        for hour in hours:
            await clock.sleep_until(T0 + hour * HOUR)
            woken.append((name, (clock.now() - T0) / HOUR))

    tasks = [asyncio.create_task(sleeper("a", 2, 3)), asyncio.create_task(sleeper("b", 1, 2.5))]
    await asyncio.sleep(0)
    await clock.advance(4 * HOUR)
    await asyncio.gather(*tasks)
    assert woken == [("b", 1), ("a", 2), ("b", 2.5), ("a", 3)]
    assert clock.now() == T0 + 4 * HOUR


async def test_a_fake_clock_never_goes_back():
    clock = FakeClock(T0)
    with pytest.raises(ValueError, match="cannot go back"):
        clock.set(T0 - HOUR)


async def test_the_system_clock_looks_again_so_that_a_suspend_or_step_is_seen(monkeypatch):
    now, slept = [T0], []

    async def sleep(seconds: float) -> None:
        slept.append(seconds)
        now[0] += HOUR  # the machine was suspended meanwhile

    clock = SystemClock()
    monkeypatch.setattr(clock, "now", lambda: now[0])
    monkeypatch.setattr(asyncio, "sleep", sleep)
    await clock.sleep_until(T0 + 2 * HOUR)
    assert slept == [30.0, 30.0]


def test_the_system_clock_is_aware():
    assert SystemClock().now().utcoffset() == timedelta(0)


@pytest.mark.parametrize("turns", range(4))
async def test_a_ring_at_the_moment_of_cancelling_keeps_nobody_alive(turns):
    bell = Bell()

    async def forever() -> None:
        while True:
            await bell.wait("in", 10)

    waiting = asyncio.create_task(forever())
    await asyncio.sleep(0.01)
    bell.ring("in")
    for _ in range(turns):
        await asyncio.sleep(0)
    waiting.cancel()
    await asyncio.wait([waiting], timeout=1)
    assert waiting.cancelled()
