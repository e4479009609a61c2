"""On time: matched to what is wanted, rung once, late ones by the stated policy."""

from __future__ import annotations

from datetime import timedelta

import pytest

from scheduler.errors import LeaseLost
from scheduler.turn import Message, Outcome
from scheduler.turns import FAILURES
from tests.scheduler.parts import HOUR, MINUTE, T0, Made, arrival, call, fresh_key, opening, ring


async def want(at, *rings, batch=1):
    """Let a message want these reminders."""
    at.made.answers = lambda seen, inbound: Outcome(rings={batch: rings})
    await at.store.take_in([arrival(fresh_key())])
    await at.runner.settle()


async def test_a_reminder_rings_once_at_its_moment(desk):
    at = desk(Made(opening(ring("pull", T0 + HOUR))))
    await at.store.take_in([arrival("u1")])
    await at.runner.settle()
    assert await at.store.next_due() == T0 + HOUR
    await at.runner.advance_to(T0 + 5 * HOUR)
    assert at.out.sent[1:] == [(T0 + HOUR, "c1", "ring pull")]
    assert await at.store.next_due() is None


async def test_matching_withdraws_adds_moves_and_leaves(desk):
    at = desk(Made(opening(ring("a", T0 + HOUR), ring("b", T0 + HOUR), ring("c", T0 + 2 * HOUR))))
    await at.store.take_in([arrival("u1")])
    await at.runner.settle()
    await want(at, ring("b", T0 + 3 * HOUR), ring("c", T0 + 2 * HOUR), ring("d", T0 + 4 * HOUR))
    await at.runner.advance_to(T0 + 9 * HOUR)
    assert [(m - T0, t) for m, _, t in at.out.sent[1:]] == [
        (2 * HOUR, "ring c"),
        (3 * HOUR, "ring b"),
        (4 * HOUR, "ring d"),
    ]


async def test_what_was_rung_for_a_moment_is_not_rung_again_for_it(desk):
    at = desk(Made(opening(ring("pull", T0 + HOUR))))
    await at.store.take_in([arrival("u1")])
    await at.runner.advance_to(T0 + 2 * HOUR)
    await want(at, ring("pull", T0 + HOUR))
    await at.runner.advance_to(T0 + 3 * HOUR)
    assert at.out.texts.count("ring pull") == 1


async def test_ringing_again_until_somebody_answers_counts(desk):
    def rings(seen, due):
        again = (ring("pull", due.ring.due + 10 * MINUTE),) if due.again < 2 else ()
        return Outcome(rings={1: again}, messages=(Message(f"again {due.again}"),))

    at = desk(Made(opening(ring("pull", T0 + HOUR)), rings))
    await at.store.take_in([arrival("u1")])
    await at.runner.advance_to(T0 + 5 * HOUR)
    assert [(m - T0, t) for m, _, t in at.out.sent[1:]] == [
        (HOUR, "again 0"),
        (HOUR + 10 * MINUTE, "again 1"),
        (HOUR + 20 * MINUTE, "again 2"),
    ]


async def test_batches_not_named_and_loose_reminders_are_left_alone(desk):
    at = desk(Made(opening(ring("a", T0 + HOUR))))
    await at.store.take_in([arrival("u1")])
    await at.runner.settle()
    await want(at, ring("tea", T0 + 2 * HOUR), batch=None)
    assert [r.key for r in (await at.store.snapshot("c1", T0)).loose] == ["tea"]
    await want(at, batch=None)
    assert (await at.store.snapshot("c1", T0)).loose == ()
    await at.runner.advance_to(T0 + 3 * HOUR)
    assert at.out.texts == ["opened 1", "ring a"]


async def test_two_reminders_of_one_key_are_a_mistake(desk):
    at = desk(Made(opening(ring("a", T0 + HOUR), ring("a", T0 + 2 * HOUR))))
    await at.store.take_in([arrival("u1")])
    await at.runner.settle()
    assert [a.what for a in await at.store.aside()] == ["message"]
    assert (await at.store.snapshot("c1", T0)).batches == ()


async def test_after_downtime_late_ones_are_merged_dropped_and_said_late(desk):
    rings = (
        ring("turn", T0 + HOUR),
        ring("check", T0 + 2 * HOUR),
        ring("light", T0 + 3 * HOUR),
        ring("tip", T0 + HOUR, useful_until=T0 + 2 * HOUR),
        ring("pull", T0 + 2 * HOUR, protects=True, useful_until=T0 + 3 * HOUR),
    )
    heard = []

    def late(seen, due):
        heard.append((due.ring.key, due.late_s / 3600, [r.key for r in due.merged]))
        return call(seen, due)

    at = desk(Made(opening(*rings), late))
    await at.store.take_in([arrival("u1")])
    await at.runner.settle()
    at.clock.set(T0 + 5 * HOUR)  # nobody was there meanwhile
    await at.runner.settle()
    assert heard == [("pull", 3.0, []), ("light", 2.0, ["turn", "check"])]
    assert at.out.texts[1:] == ["ring pull", "ring light"]
    assert await at.store.next_due() is None


async def test_a_reminder_withdrawn_while_in_hand_is_not_said(desk):
    at = desk(Made(opening(ring("pull", T0 + HOUR))))
    await at.store.take_in([arrival("u1")])
    await at.runner.settle()
    (item,) = await at.store.claim_due(T0 + HOUR)
    seen, calls, _ = await at.store.begin_ring(item, T0 + HOUR)
    await want(at)  # a message withdraws it
    seen = await at.store.snapshot("c1", T0 + HOUR)
    with pytest.raises(LeaseLost):
        await at.store.commit(Outcome(messages=(Message("ring pull"),)), calls, seen, T0 + HOUR)
    assert await at.store.begin_ring(item, T0 + HOUR) is None


async def test_a_reminder_moved_while_in_hand_rings_at_its_new_moment(desk):
    at = desk(Made(opening(ring("pull", T0 + HOUR))))
    await at.store.take_in([arrival("u1")])
    await at.runner.settle()
    (item,) = await at.store.claim_due(T0 + HOUR)
    await want(at, ring("pull", T0 + 2 * HOUR))
    await at.runner.turns.ring(item)
    await at.runner.advance_to(T0 + 4 * HOUR)
    assert at.out.sent[1:] == [(T0 + 2 * HOUR, "c1", "ring pull")]


async def test_protecting_reminders_are_claimed_first_then_the_oldest(desk):
    rings = [ring(f"r{i}", T0 + i * MINUTE) for i in range(1, 5)] + [ring("p", T0 + 9 * MINUTE, protects=True)]
    at = desk(Made(opening(*rings)))
    await at.store.take_in([arrival("u1")])
    await at.runner.settle()
    taken = [await at.store.claim_due(T0 + HOUR, 2) for _ in range(3)]
    assert [[c.ring.key for c in part] for part in taken] == [["p", "r1"], ["r2", "r3"], ["r4"]]
    assert await at.store.claim_due(T0 + HOUR, 2) == []


async def test_a_reminder_that_breaks_its_handler_is_set_aside_and_said_so(desk):
    def broken(seen, due):
        if due.ring.key == "bad":
            raise ValueError("no")
        return call(seen, due)

    made = Made(opening(ring("bad", T0 + HOUR), ring("good", T0 + HOUR + MINUTE)), broken)
    at = desk(made, sorry=lambda about: Message(f"sorry {about.ring.key}"))
    await at.store.take_in([arrival("u1")])
    await at.runner.advance_to(T0 + 2 * HOUR)
    assert at.out.texts == ["opened 1", "sorry bad", "ring good"]
    assert sum(getattr(a, "ring", None) is not None and a.ring.key == "bad" for a in made.asked) == FAILURES
    assert [a.what for a in await at.store.aside()] == ["reminder"]


async def test_a_clock_set_back_while_a_reminder_is_in_hand_loses_nothing(desk):
    at = desk(Made(opening(ring("pull", T0 + HOUR))))
    await at.store.take_in([arrival("u1")])
    await at.runner.settle()
    (item,) = await at.store.claim_due(T0 + HOUR)
    await at.runner.turns.ring(item)  # the clock stands at T0 again
    assert at.out.texts == ["opened 1"]
    await at.runner.advance_to(T0 + 2 * HOUR)
    assert at.out.texts == ["opened 1", "ring pull"]


async def test_a_clock_set_back_rings_nothing_twice(desk, store):
    at = desk(Made(opening(ring("pull", T0 + HOUR))))
    await at.store.take_in([arrival("u1")])
    await at.runner.advance_to(T0 + HOUR)
    early = T0 + timedelta(minutes=1)
    assert await store.claim_due(early) == []
    assert await store.claim_due(T0 + 2 * HOUR) == []
