"""Out: in order within a chat, retried, paced, and honest about what may have arrived twice."""

from __future__ import annotations

import asyncio
from datetime import timedelta

from scheduler.clock import SystemClock
from scheduler.delivery import Delivery, DeliveryTuning
from scheduler.messenger import ChatGone, ChatMoved, Refused, RetryAfter, Sent, Unsure
from scheduler.pacing import Pacing, Rate
from scheduler.runner import Tuning
from scheduler.store import Store
from scheduler.turn import Message, Outcome
from tests.scheduler.parts import HOUR, MINUTE, T0, Made, arrival, fresh_key, opening, ring, until


def saying(*messages: Message, **more):
    return Made(lambda seen, inbound: Outcome(messages=messages, **more))


async def say(at, *chats: str) -> None:
    for chat in chats or ("c1",):
        await at.store.take_in([arrival(fresh_key(), chat)])
    await at.runner.settle()


async def test_all_that_is_said_goes_out_in_order(desk):
    at = desk(saying(*(Message(str(i)) for i in range(20))))
    await say(at)
    assert at.out.texts == [str(i) for i in range(20)]


async def test_an_error_is_tried_again_and_the_order_kept(desk):
    at = desk(saying(Message("a"), Message("b")))
    at.out.fails["a"] = [OSError("cut"), OSError("cut")]
    await say(at)
    assert at.out.texts == []
    await at.runner.advance_to(T0 + MINUTE)
    assert at.out.texts == ["a", "b"]
    assert [o.attempt for o in at.out.outs] == [1, 2, 3, 1]


async def test_retry_after_is_obeyed_and_holds_up_that_chat_alone(desk):
    at = desk(saying(Message("a")))
    at.out.fails["a"] = [RetryAfter(30)]
    await say(at, "c1", "c2")
    assert at.out.sent == [(T0, "c2", "a")]
    await at.runner.advance_to(T0 + timedelta(seconds=29))
    assert len(at.out.sent) == 1
    await at.runner.advance_to(T0 + MINUTE)
    assert at.out.sent[1] == (T0 + timedelta(seconds=30), "c1", "a")


async def test_an_unsure_send_is_repeated_once_and_marked(desk):
    at = desk(saying(Message("a"), Message("b")))
    at.out.fails["a"] = [Unsure("no answer")] * 5
    await say(at)
    await at.runner.advance_to(T0 + HOUR)
    assert [(o.message.text, o.unsure) for o in at.out.outs] == [("a", False), ("a", True), ("b", False)]
    assert await at.store.outcomes("c1") == ["unsure", "sent"]


async def test_a_refused_message_makes_way(desk):
    at = desk(saying(Message("a"), Message("b")))
    at.out.fails["a"] = [Refused("too long")]
    await say(at)
    assert at.out.texts == ["b"]
    assert await at.store.outcomes("c1") == ["refused", "sent"]


async def test_a_message_that_nobody_takes_is_given_up_in_the_end(desk):
    tuning = Tuning(delivery=DeliveryTuning(expires=HOUR))
    at = desk(saying(Message("a"), Message("b")), tuning=tuning)
    at.out.fails["a"] = [OSError("down")] * 10_000
    await say(at)
    await at.runner.advance_to(T0 + HOUR)
    assert at.out.texts == []
    await at.runner.advance_to(T0 + HOUR + 10 * MINUTE)
    assert at.out.texts == ["b"]
    assert await at.store.outcomes("c1") == ["expired", "sent"]


async def test_a_chat_that_is_gone_is_left_alone_until_it_speaks(desk):
    at = desk(Made(opening(ring("pull", T0 + HOUR, protects=True))))
    at.out.fails["opened 1"] = [ChatGone("blocked")]
    await say(at)
    await at.runner.advance_to(T0 + 3 * HOUR)
    assert at.out.texts == []
    at.made.answers = lambda seen, inbound: Outcome(messages=(Message("back"),))
    await say(at)
    assert at.out.texts == ["back", "ring pull"]


async def test_a_chat_that_moved_takes_everything_along(desk):
    at = desk(Made(opening(ring("pull", T0 + HOUR))))
    at.out.fails["opened 1"] = [ChatMoved("c9")]
    await say(at)
    await at.runner.advance_to(T0 + 2 * HOUR)
    assert at.out.sent == [(T0, "c9", "opened 1"), (T0 + HOUR, "c9", "ring pull")]
    (file,) = (await at.store.snapshot("c9", T0)).batches
    assert [e.number for e in file.entries] == [1]
    assert (await at.store.snapshot("c1", T0)).batches == ()


async def test_a_pinned_message_is_replaced_in_place(desk):
    at = desk(saying(Message("plan A", pin="plan")))
    await say(at)
    at.made.answers = lambda seen, inbound: Outcome(messages=(Message("plan B", pin="plan"),))
    await say(at)
    await say(at, "c2")
    assert at.out.texts == ["plan A", "plan B"]  # c2 has no such message yet
    assert [(o.message.text, o.replaces) for o in at.out.edits] == [("plan B", f"m{at.out.outs[0].id}")]


async def test_a_pinned_message_that_is_gone_is_sent_afresh(desk):
    at = desk(saying(Message("plan A", pin="plan")))
    await say(at)
    at.made.answers = lambda seen, inbound: Outcome(messages=(Message("plan B", pin="plan"),))
    at.out.fails["edit plan B"] = [Refused("not found")]
    await say(at)
    assert at.out.texts == ["plan A", "plan B"]


async def test_a_chat_keeps_to_its_rate(desk):
    pacing = Pacing(chat=lambda chat: Rate(every_s=10, burst=2))
    at = desk(saying(*(Message(str(i)) for i in range(4))), tuning=Tuning(delivery=DeliveryTuning(pacing=pacing)))
    await say(at, "c1", "c2")
    await at.runner.advance_to(T0 + MINUTE)
    for chat in ("c1", "c2"):
        waits = [(moment - T0).total_seconds() for moment, to, _ in at.out.sent if to == chat]
        assert waits == [0, 0, 10, 20]


async def test_urgent_messages_go_first_among_chats(store, clock, desk):
    at = desk()
    for chat, urgent in (("a", False), ("b", False), ("c", True)):
        await store.take_in([arrival(f"u-{chat}", chat)])
        (item,) = await store.next_inbound(T0)
        outcome = Outcome(messages=(Message(chat, urgent=urgent),))
        await store.commit(outcome, item, await store.snapshot(chat, T0), T0)
        await clock.advance(timedelta(seconds=1))
    await at.runner.delivery.flush()
    assert at.out.texts == ["c", "a", "b"]


class Slow:
    """A messenger that keeps the chat "slow" waiting until it is let go."""

    def __init__(self) -> None:
        self.texts: list[str] = []
        self.go = asyncio.Event()
        self.others = asyncio.Event()
        self.most = self.flying = 0

    async def send(self, out):
        self.flying += 1
        self.most = max(self.most, self.flying)
        if out.chat == "slow":
            await self.go.wait()
        self.flying -= 1
        self.texts.append(f"{out.chat}:{out.message.text}")
        if sum(not t.startswith("slow") for t in self.texts) == 6:
            self.others.set()
        return Sent("m")

    async def edit(self, out):
        raise AssertionError("nothing is pinned")

    async def close(self):
        pass


async def test_a_slow_chat_holds_up_nobody_else(url):
    clock = SystemClock()
    store = await Store.open(url)
    for chat in ("slow", "a", "b"):
        for i in range(3):
            await store.take_in([arrival(f"{chat}{i}", chat)])
            (item,) = await store.next_inbound(clock.now())
            seen = await store.snapshot(chat, clock.now())
            await store.commit(Outcome(messages=(Message(str(i)),)), item, seen, clock.now())
    slow = Slow()
    delivery = Delivery(store, slow, clock, DeliveryTuning(patience_s=0.001))
    task = asyncio.create_task(delivery.run())
    async with asyncio.timeout(20):
        await slow.others.wait()
        assert not any(t.startswith("slow") for t in slow.texts)
        slow.go.set()
        await until(lambda: len(slow.texts) == 9)
        delivery.stop()
        await task
    for chat in ("slow", "a", "b"):
        assert [t for t in slow.texts if t.startswith(chat)] == [f"{chat}:{i}" for i in range(3)]
    await store.close()


async def test_one_message_is_in_flight_as_long_as_the_messenger_is_quick(url):
    clock = SystemClock()
    store = await Store.open(url)
    for i in range(30):
        await store.take_in([arrival(f"u{i}", f"c{i}")])
        (item,) = await store.next_inbound(clock.now())
        seen = await store.snapshot(f"c{i}", clock.now())
        await store.commit(Outcome(messages=(Message("hi"),)), item, seen, clock.now())
    quick = Slow()
    delivery = Delivery(store, quick, clock, DeliveryTuning(patience_s=5))
    task = asyncio.create_task(delivery.run())
    async with asyncio.timeout(20):
        await until(lambda: len(quick.texts) == 30)
        delivery.stop()
        await task
    assert quick.most == 1
    await store.close()
