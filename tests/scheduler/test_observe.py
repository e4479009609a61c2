"""Seen from outside: health and metrics on the loopback, without anybody's words."""

from __future__ import annotations

import asyncio
import urllib.error
import urllib.request

import pytest
from prometheus_client.parser import text_string_to_metric_families

from scheduler import observe
from scheduler.clock import FakeClock
from scheduler.health import Trouble, troubles
from scheduler.observe import Observer, observed
from scheduler.runner import Runner
from scheduler.turn import Outcome
from tests.scheduler.parts import HOUR, MINUTE, T0, Made, Noted, arrival, entry, opening, ring


async def fetch(port: int, path: str) -> tuple[int, str]:
    def get() -> tuple[int, str]:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}{path}", timeout=10) as answer:
                return answer.status, answer.read().decode()
        except urllib.error.HTTPError as error:
            return error.code, error.read().decode()

    return await asyncio.to_thread(get)


async def test_counts_and_times_can_be_read(store, clock, monkeypatch):
    monkeypatch.setattr(observe, "SAMPLE_S", 0.02)
    observer = Observer()
    made = Made(opening(ring("pull", T0 + HOUR), ring("turn", T0 + 9 * HOUR)))
    runner = Runner(store, made, Noted(clock), clock, meter=observer)
    async with observed(observer, runner, store, 0) as port:
        await store.take_in([arrival("u1", "person-7", text="secret")])
        await runner.settle()
        clock.set(T0 + HOUR + MINUTE)
        await runner.settle()
        await observer.sample(store, runner.turns.tally)
        status, text = await fetch(port, "/metrics")
        assert status == 200
        samples = {
            (s.name, s.labels.get("of")): s.value
            for family in text_string_to_metric_families(text)
            for s in family.samples
        }
        assert samples["brinebell_handled_total", None] == 1
        assert samples["brinebell_rung_total", None] == 1
        assert samples["brinebell_store_pending", None] == 1
        assert samples["brinebell_reminder_lateness_seconds_sum", None] == 60
        assert samples["brinebell_turn_seconds_count", "message"] == 1
        assert "secret" not in text
        assert "person-7" not in text
        assert await fetch(port, "/healthz") == (200, "ok\n")
        assert (await fetch(port, "/elsewhere"))[0] == 404
    with pytest.raises(OSError):
        await fetch(port, "/healthz")


async def test_health_is_lost_when_nothing_moves(store, clock, monkeypatch):
    monkeypatch.setattr(observe, "STALE_S", 0.0)
    observer = Observer()
    runner = Runner(store, Made(), Noted(clock), clock)
    async with observed(observer, runner, store, 0) as port:
        assert (await fetch(port, "/healthz"))[0] == 503


async def test_a_store_in_which_all_is_well_has_no_troubles(store, clock, url):
    assert [t for t in await troubles(store, clock) if t.what != "clock_of_server"] == []


async def test_what_somebody_should_look_at_is_found(store, clock):
    def broken(seen, inbound):
        raise ValueError

    runner = Runner(store, Made(broken), Noted(clock), clock)
    await store.take_in([arrival("u1")])
    await runner.settle()
    made = Made(opening(ring("pull", T0 + HOUR)))
    await store.take_in([arrival("u2")])
    await Runner(store, made, Noted(clock), clock).settle()
    found = await troubles(store, FakeClock(T0 + 2 * HOUR))
    assert Trouble("aside", 1) in found
    assert Trouble("late", 1) in found
    assert Trouble("clock_behind", 7200) in await troubles(store, FakeClock(T0 - 2 * HOUR))
    seen = await store.snapshot("c1", T0)
    ahead = entry(2, at=T0 + 9 * HOUR)
    await store.commit(Outcome(entries={1: (ahead,)}), None, seen, T0)
    assert Trouble("clock_behind", 9 * 3600) in await troubles(store, clock)
