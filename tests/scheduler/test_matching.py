"""Journal and reminders against a plain model, through any order of what can happen."""

from __future__ import annotations

import asyncio
from dataclasses import replace

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, consumes, initialize, invariant, rule

from scheduler.clock import FakeClock
from scheduler.errors import Conflict, LeaseLost
from scheduler.store import Store
from scheduler.turn import NewBatch, Outcome
from tests.scheduler.parts import MINUTE, T0, arrival, entry, fresh_key, ring

BATCHES = (1, 2)
keys = st.sampled_from(["pull", "turn", "light", "cool"])
wanted = st.dictionaries(keys, st.integers(-5, 60), max_size=4)


class Matching(RuleBasedStateMachine):
    """The model: for each batch, the keys wanted with their moments, and those rung for theirs."""

    begun = Bundle("begun")

    @initialize()
    def begin(self) -> None:
        self.loop = asyncio.new_event_loop()
        self.clock = FakeClock(T0)
        self.store = self.run(Store.open("", throwaway=True, clock=self.clock))
        self.wanted: dict[int, dict[str, object]] = {b: {} for b in BATCHES}
        self.rung: dict[tuple[int, str], object] = {}
        self.told = dict.fromkeys(BATCHES, 0)
        self.keep(Outcome(opened=tuple(NewBatch(b, str(b)) for b in BATCHES)))

    def run(self, work):
        return self.loop.run_until_complete(work)

    def keep(self, outcome: Outcome) -> None:
        self.run(self.store.take_in([arrival(fresh_key())]))
        now = self.clock.now()
        (item,) = self.run(self.store.next_inbound(now))
        self.run(self.store.commit(outcome, item, self.run(self.store.snapshot("c1", now)), now))

    @rule(batch=st.sampled_from(BATCHES), minutes=wanted, entries=st.integers(0, 2))
    def a_message_wants(self, batch: int, minutes: dict[str, int], entries: int) -> None:
        due = {key: T0 + m * MINUTE for key, m in minutes.items()}
        journal = tuple(entry(self.told[batch] + 1 + i) for i in range(entries))
        rings = tuple(ring(key, moment) for key, moment in due.items())
        self.keep(Outcome(entries={batch: journal}, rings={batch: rings}))
        self.told[batch] += entries
        self.wanted[batch] = dict(due)
        self.rung = {k: v for k, v in self.rung.items() if k[0] != batch or due.get(k[1]) == v}

    @rule(minutes=st.integers(0, 20))
    def time_passes(self, minutes: int) -> None:
        self.clock.set(self.clock.now() + minutes * MINUTE)

    @rule(target=begun)
    def a_worker_takes_a_due_reminder(self):
        now = self.clock.now()
        taken = self.run(self.store.claim_due(now, 1))
        return (taken[0], self.run(self.store.begin_ring(taken[0], now))) if taken else (None, None)

    @rule(pair=consumes(begun), again=st.none() | st.integers(1, 30))
    def the_worker_says_it(self, pair, again: int | None) -> None:
        item, ready = pair
        if ready is None:
            return
        seen, calls, due = ready
        batch, now = due.batch, self.clock.now()
        keep = [ring(k, m) for k, m in self.wanted[batch].items() if k != due.ring.key]
        if again is not None:
            keep.append(replace(due.ring, due=now + again * MINUTE))
        told = [due.ring, *due.merged]
        in_hand = all(self.wanted[batch].get(r.key) == r.due and self.rung.get((batch, r.key)) != r.due for r in told)
        try:
            self.run(self.store.commit(Outcome(rings={batch: keep}), calls, seen, now))
        except (Conflict, LeaseLost):
            self.run(self.store.let_go([item.id]))
            return
        assert in_hand, "a reminder was rung that is not wanted, or was rung before"
        self.rung |= {(batch, r.key): r.due for r in told}
        self.wanted[batch] = {r.key: r.due for r in keep}
        self.rung = {k: v for k, v in self.rung.items() if k[0] != batch or self.wanted[batch].get(k[1]) == v}

    @rule(pair=consumes(begun))
    def the_worker_dies(self, pair) -> None:
        if pair[0] is not None:
            self.run(self.store.let_go([pair[0].id]))

    @invariant()
    def what_rings_next_is_the_earliest_that_is_wanted_and_not_rung(self) -> None:
        if not hasattr(self, "store"):
            return
        rows = self.run(self.store.reminders())
        pending = {(b, r.key): r.due for _, b, r, state in rows if state == "pending"}
        expected = {
            (b, key): due for b in BATCHES for key, due in self.wanted[b].items() if self.rung.get((b, key)) != due
        }
        assert pending == expected

    @invariant()
    def the_journal_is_what_was_told(self) -> None:
        if hasattr(self, "store"):
            for file in self.run(self.store.snapshot("c1", self.clock.now())).batches:
                assert [e.number for e in file.entries] == list(range(1, self.told[file.number] + 1))

    def teardown(self) -> None:
        if hasattr(self, "store"):
            self.run(self.store.close())
            self.loop.close()


TestMatching = Matching.TestCase
TestMatching.settings = settings(
    max_examples=40, stateful_step_count=25, deadline=None, suppress_health_check=list(HealthCheck)
)
