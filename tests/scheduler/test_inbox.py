"""In: stored before it is acknowledged, handled once, in order within a chat."""

from __future__ import annotations

from datetime import timedelta

from sqlalchemy import select

from scheduler.arrivals import Cursor
from scheduler.clock import FakeClock
from scheduler.inbox import DEATHS
from scheduler.runner import Runner
from scheduler.store import Store
from scheduler.tables import lanes
from scheduler.turn import Message, Outcome
from scheduler.turns import FAILURES
from tests.scheduler.parts import T0, Made, Noted, arrival, echo


async def test_an_event_counts_once(desk):
    at = desk()
    assert await at.store.take_in([arrival("u1", text="a"), arrival("u1", text="a")]) == 1
    assert await at.store.take_in([arrival("u1", text="a"), arrival("u2", text="b")]) == 1
    await at.runner.settle()
    assert await at.store.take_in([arrival("u1", text="a")]) == 0
    await at.runner.settle()
    assert at.out.texts == ["heard a", "heard b"]


async def test_the_cursor_is_kept_with_what_was_read(url, clock):
    store = await Store.open(url, clock=clock)
    assert await store.cursor("updates") is None
    await store.take_in([arrival("u1")], Cursor("updates", "17"))
    await store.take_in([], Cursor("updates", "18"))
    await store.close()
    again = await Store.open(url, clock=clock)
    assert await again.cursor("updates") == "18"
    assert [w.inbound.key for w in await again.next_inbound(T0)] == ["u1"]
    await again.close()


async def test_in_order_within_a_chat_and_chats_side_by_side(store):
    await store.take_in([arrival(f"a{i}", "a") for i in range(3)] + [arrival("b0", "b")])
    first = await store.next_inbound(T0, 5)
    assert [w.inbound.key for w in first] == ["a0", "b0"]
    assert await store.next_inbound(T0, 5) == []  # both chats are in hand
    seen = await store.snapshot("a", T0)
    await store.commit(Outcome(), first[0], seen, T0)
    assert [w.inbound.key for w in await store.next_inbound(T0, 5)] == ["a1"]


async def test_a_message_that_breaks_its_handler_is_set_aside_and_the_next_goes_on(desk):
    def answers(seen, inbound):
        if inbound.text == "bad":
            raise ValueError("no")
        return echo(seen, inbound)

    at = desk(Made(answers), sorry=lambda about: Message("sorry"))
    await at.store.take_in([arrival("u1", text="bad"), arrival("u2", text="good")])
    await at.runner.settle()
    assert at.out.texts == ["sorry", "heard good"]
    assert sum(i.text == "bad" for i in at.made.asked) == FAILURES
    assert at.runner.turns.tally.aside == 1
    (row,) = await at.store.aside()
    assert "ValueError: no" in row.trace
    assert row.what == "message"


async def test_a_failure_waits_before_it_is_tried_again_and_keeps_the_order(store):
    await store.take_in([arrival("u1"), arrival("u2")])
    (item,) = await store.next_inbound(T0)
    later = T0 + timedelta(seconds=30)
    await store.put_back(item, "trace", T0, later)
    assert await store.next_inbound(T0) == []
    assert await store.next_inbound_at() == later
    (again,) = await store.next_inbound(later)
    assert (again.inbound.key, again.failures) == ("u1", 1)


async def test_a_message_that_kills_the_process_is_set_aside(url, clock):
    for _ in range(DEATHS):
        store = await Store.open(url, clock=clock)
        await store.take_in([arrival("u1", text="deadly")])
        (item,) = await store.next_inbound(T0)
        if item.suspect:
            await store.begin_alone(item)
        await store.close()  # without an end to the message: as if killed
    store, made = await Store.open(url, clock=clock), Made()
    runner = Runner(store, made, Noted(clock), clock)
    await runner.settle()
    assert made.asked == []
    assert [a.what for a in await store.aside()] == ["message"]
    await store.close()


async def test_a_message_that_was_only_in_hand_at_deaths_is_answered(url, clock):
    for _ in range(2 * DEATHS):
        store = await Store.open(url, clock=clock)
        await store.take_in([arrival("u1")])
        assert len(await store.next_inbound(T0)) == 1
        await store.close()  # before its turn came
    store, made = await Store.open(url, clock=clock), Made()
    await Runner(store, made, Noted(clock), clock).settle()
    assert len(made.asked) == 1
    assert await store.aside() == []
    await store.close()


async def test_a_wait_from_a_clock_set_back_since_holds_nothing_up(store):
    await store.take_in([arrival("u1")])
    (item,) = await store.next_inbound(T0)
    await store.put_back(item, "trace", T0, T0 + timedelta(minutes=5))
    assert len(await store.next_inbound(T0 - timedelta(days=1))) == 1


async def test_a_turn_from_a_clock_set_back_since_does_not_starve_a_chat(store, clock):
    await store.take_in([arrival("early", "b")])
    await clock.advance(timedelta(days=1))
    await store.take_in([arrival("late", "a")])
    yesterday = FakeClock(T0 - timedelta(hours=1))
    store._clock = yesterday
    await store.beat()
    taken = await store.next_inbound(yesterday.now(), 9)
    assert {w.inbound.chat for w in taken} == {"a", "b"}
    rows = await store.look(lambda c: c.execute(select(lanes.c.since)).scalars().all())
    assert set(rows) == {yesterday.now()}


async def test_any_text_can_be_kept(desk):
    at = desk()
    odd = "nul \0, half a pair \ud800, \U0001f41f, " + "x" * 4096
    await at.store.take_in([arrival("u1", text=odd)])
    await at.runner.settle()
    (said,) = at.out.texts
    assert said.startswith("heard nul \ufffd, half a pair \ufffd")
    assert said.endswith("\U0001f41f, " + "x" * 4096)
