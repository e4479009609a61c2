"""One transaction: all of an outcome with the mark that its cause is dealt with, or nothing."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sqlalchemy import inspect, select

from scheduler import snapshots
from scheduler.arrivals import Tap
from scheduler.errors import Conflict, LeaseLost
from scheduler.tables import inbox, metadata
from scheduler.turn import Button, Chat, Message, NewBatch, Outcome
from tests.scheduler.parts import HOUR, T0, Made, arrival, entry, fresh_key, opening, ring


async def keep(store, outcome, chat="c1", at=T0):
    """Let a message of the chat have this outcome."""
    await store.take_in([arrival(fresh_key(), chat)])
    (item,) = await store.next_inbound(at)
    await store.commit(outcome, item, await store.snapshot(chat, at), at)


async def rows(store, *, holding=""):
    """Return every table's rows as text, those that mention ``holding``."""

    def read(c):
        there = [t for t in metadata.sorted_tables if inspect(c).has_table(t.name)]
        return [(t.name, str(tuple(row))) for t in there for row in c.execute(select(t))]

    return [(name, row) for name, row in await store._db.read(read) if holding in row]


async def test_what_is_kept_comes_back_as_it_was(store):
    chat = Chat("c1", "America/Vancouver", "us", ("23:00", "06:00"), True, {"focus": 1, "asked": None})
    journal = (entry(1, "4 lb coho"), replace(entry(2), voids=1, happened_at=T0 - HOUR))
    message = Message("hi", (Button("Done", {"do": "done"}),), ({"kind": "logged"},), ("a.png",))
    outcome = Outcome(chat=chat, opened=(NewBatch(1, "coho"),), entries={1: journal}, messages=(message,))
    await keep(store, outcome)
    seen = await store.snapshot("c1", T0)
    assert seen.chat == chat
    assert seen.recent == (message,)
    (file,) = seen.batches
    assert (file.number, file.name, file.opened_at, file.closed_at) == (1, "coho", T0, None)
    assert file.entries == journal
    await keep(store, Outcome(closed=(1,), renamed={1: "first coho"}), at=T0 + HOUR)
    file = await store.batch("c1", 1)
    assert (file.name, file.closed_at, len(file.entries)) == ("first coho", T0 + HOUR, 2)
    assert [f.name for _, f in await store.batches("c1")] == ["first coho"]
    assert await store.batch("c1", 2) is None


async def test_an_outcome_from_an_old_snapshot_is_refused_whole(store):
    await keep(store, Outcome(opened=(NewBatch(1, "a"),)))
    old = await store.snapshot("c1", T0)
    await keep(store, Outcome(entries={1: (entry(1),)}))
    await store.take_in([arrival("late")])
    (item,) = await store.next_inbound(T0)
    outcome = Outcome(entries={1: (entry(1),)}, messages=(Message("no"),), rings={1: (ring(),)})
    with pytest.raises(Conflict):
        await store.commit(outcome, item, old, T0)
    assert await store.next_due() is None
    assert await store.outcomes("c1") == []
    await store.commit(Outcome(), item, await store.snapshot("c1", T0), T0)  # it is still in hand


async def test_two_first_messages_of_a_chat_meet_in_a_conflict(store):
    unknown = await store.snapshot("c1", T0)
    await store.commit(Outcome(), None, unknown, T0)
    with pytest.raises(Conflict):
        await store.commit(Outcome(), None, unknown, T0)


async def test_an_entry_number_is_given_once(store):
    await keep(store, Outcome(opened=(NewBatch(1, "a"),), entries={1: (entry(1),)}))
    with pytest.raises(Conflict):
        await store.commit(Outcome(entries={1: (entry(1),)}), None, await store.snapshot("c1", T0), T0)


async def test_a_message_is_finished_once(store):
    await store.take_in([arrival("u1")])
    (item,) = await store.next_inbound(T0)
    await store.commit(Outcome(messages=(Message("hi"),)), item, await store.snapshot("c1", T0), T0)
    with pytest.raises(LeaseLost):
        await store.commit(Outcome(messages=(Message("hi"),)), item, await store.snapshot("c1", T0), T0)
    assert await store.outcomes("c1") == ["queued"]


async def test_a_runner_answers_anew_when_the_chat_changed_meanwhile(desk):
    def answers(seen, inbound):
        if not answers.met:
            answers.met = True
            answers.other(seen)
        return opening()(seen, inbound)

    at = desk(Made(answers))
    answers.met = False
    # An answer of another worker comes between this one's snapshot and its commit.
    answers.other = lambda seen: at.store._db.write_now(_commit_other, Outcome(opened=(NewBatch(1, "theirs"),)), seen)
    await at.store.take_in([arrival("u1")])
    await at.runner.settle()
    assert at.out.texts == ["opened 2"]
    assert at.runner.turns.tally.conflicts == 1


def _commit_other(c, outcome, seen):
    from scheduler.keeping import commit

    commit(c, outcome, None, seen, now=T0, worker="other")


async def test_forgetting_leaves_a_tombstone_and_the_reply(desk):
    at = desk(Made(opening(ring())))
    await at.store.take_in([arrival("u1", text="secret plan", chat="person-7")])
    await at.runner.settle()
    at.made.answers = lambda seen, inbound: Outcome(forget=True, messages=(Message("all gone"),))
    await at.store.take_in([arrival("u2", text="forget me", chat="person-7")])
    await at.runner.settle()
    assert at.out.texts == ["opened 1", "all gone"]
    assert [name for name, _ in await rows(at.store, holding="person-7")] == ["chats"]
    assert await rows(at.store, holding="secret") == []
    assert await at.store.next_due() is None
    seen = await at.store.snapshot("person-7", T0)
    assert (seen.chat, seen.batches, seen.recent) == (Chat("person-7"), (), ())
    at.made.answers = opening()  # and it can begin again
    await at.store.take_in([arrival("u3", chat="person-7")])
    await at.runner.settle()
    assert at.out.texts[-1] == "opened 1"


async def test_nothing_is_kept_of_a_chat_that_is_not_served(desk):
    at = desk(Made(lambda seen, inbound: Outcome(keep_nothing=True, messages=(Message("sorry, no"),))))
    await at.store.take_in([arrival("u1", text="hello there", chat="stranger")])
    await at.runner.settle()
    assert at.out.texts == ["sorry, no"]
    assert await rows(at.store, holding="stranger") == []
    assert await rows(at.store, holding="hello") == []
    assert await rows(at.store, holding="sorry") == []
    assert await at.store.take_in([arrival("u1", text="hello there", chat="stranger")]) == 0


async def test_a_handled_message_leaves_no_words_in_the_inbox(desk):
    at = desk(Made(lambda seen, inbound: Outcome()))
    await at.store.take_in([arrival("u1", text="hello there")])
    await at.runner.settle()
    assert await rows(at.store, holding="hello") == []


async def test_keys_are_swept_long_after_any_repeat(desk, clock):
    at = desk()
    await at.store.take_in([arrival("u1")])
    await at.runner.settle()
    await clock.advance(HOUR * 24 * 6)
    await at.store.sweep()
    assert await at.store.take_in([arrival("u1")]) == 0
    await clock.advance(HOUR * 24 * 2)
    await at.store.sweep()
    assert await at.store._db.read(lambda c: c.execute(select(inbox.c.key)).all()) == []


async def test_a_chat_with_many_batches_shows_the_newest_and_the_one_asked_for(store):
    many = snapshots.RUNNING + snapshots.CLOSED + 30
    for number in range(1, many + 1):
        await keep(store, Outcome(opened=(NewBatch(number, str(number)),), closed=(number,) * (number % 2)))
    numbers = [b.number for b in (await store.snapshot("c1", T0)).batches]
    assert numbers == sorted(numbers)
    assert numbers[-1] == many
    assert sum(n % 2 == 1 for n in numbers) == snapshots.CLOSED
    assert 1 not in numbers
    assert 1 in [b.number for b in (await store.snapshot("c1", T0, also=1)).batches]


async def test_habits_can_be_set_before_a_chat_speaks(store):
    await store.put_chat(Chat("c1", zone="Europe/Oslo"), T0)
    await store.put_chat(Chat("c1", zone="Europe/Rome"), T0)
    assert (await store.snapshot("c1", T0)).chat.zone == "Europe/Rome"
    await keep(store, Outcome())
    assert (await store.snapshot("c1", T0)).chat.zone == "Europe/Rome"


async def pressed(at, tap, chat="c1"):
    """Press a button and return what the answering layer is told of it."""
    await at.store.take_in([arrival(fresh_key(), chat, tap=tap)])
    at.made.answers = lambda seen, inbound: Outcome()
    await at.runner.settle()
    return at.made.asked[-1].press


async def test_a_press_is_looked_up_by_its_place(desk):
    buttons = (Button("Done", {"do": "done"}), Button("Later", {"do": "later"}))
    at = desk(Made(lambda seen, inbound: Outcome(messages=(Message("well?", buttons),))))
    await at.store.take_in([arrival("u1")])
    await at.runner.settle()
    message = at.out.outs[0].id
    first = await pressed(at, Tap(message=message, index=1))
    assert (first.label, first.means, first.taken, first.unknown) == ("Later", {"do": "later"}, False, False)
    assert (await pressed(at, Tap(message=message, index=0))).taken
    for forged in (Tap(message=message, index=2), Tap(message=message, index=-1), Tap(message=999, index=0)):
        assert (await pressed(at, forged)).unknown
    assert (await pressed(at, Tap(message=message, index=0), chat="c2")).unknown
    assert (await pressed(at, Tap(message=2**70, index=0))).unknown


async def test_a_press_by_label_means_the_newest(desk):
    at = desk()
    for n in (1, 2):
        outcome = Outcome(messages=(Message("well?", (Button("Done", {"n": n}),)),))
        at.made.answers = lambda seen, inbound, outcome=outcome: outcome
        await at.store.take_in([arrival(fresh_key())])
        await at.runner.settle()
    assert (await pressed(at, Tap(" done "))).means == {"n": 2}
    assert (await pressed(at, Tap("Undone"))).unknown
    assert (await pressed(at, Tap("Done"), chat="c2")).unknown


@pytest.mark.parametrize("older", ["c1", "c9"])
async def test_a_chat_that_moves_where_somebody_wrote_already_becomes_one_with_it(store, older):
    newer = "c9" if older == "c1" else "c1"
    habits = Chat(older, zone="Europe/Oslo")
    outcome = Outcome(chat=habits, opened=(NewBatch(1, "old"),), entries={1: (entry(1, "old"),)})
    await keep(store, replace(outcome, rings={1: (ring("a"),), None: (ring("tea"),)}), older)
    outcome = Outcome(opened=(NewBatch(1, "new"),), entries={1: (entry(1, "new"),)})
    rings = {1: (ring("b"),), None: (ring("tea", T0 + 2 * HOUR), ring("tip"))}
    await keep(store, replace(outcome, rings=rings), newer, T0 + HOUR)
    await store.move_chat("c1", "c9", T0 + HOUR)
    seen = await store.snapshot("c9", T0)
    assert seen.chat.zone == "Europe/Oslo"
    assert [(b.number, b.name, b.entries[0].words) for b in seen.batches] == [
        (1, "old", "old"),
        (2, "new", "new"),
    ]
    kept = {(chat, batch, r.key, r.due) for chat, batch, r, _ in await store.reminders()}
    assert kept == {
        ("c9", 1, "a", T0 + HOUR),
        ("c9", 2, "b", T0 + HOUR),
        ("c9", None, "tea", T0 + HOUR),
        ("c9", None, "tip", T0 + HOUR),
    }
    assert (await store.snapshot("c1", T0)).version == 0
