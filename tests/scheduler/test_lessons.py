"""What finished batches taught is found at once, however many there are, and one entry takes it out."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import insert

from planner.entries import Entry, Kind
from scheduler import lessons
from scheduler.store import Store
from scheduler.tables import batches, entries
from scheduler.turn import Chat, NewBatch, Outcome
from tests.scheduler.parts import T0


def entry(number: int, kind: Kind, *, voids: int | None = None, **data) -> Entry:
    return Entry(number, kind, T0, T0, "bell", data, voids=voids)


async def keep(store: Store, opened: bool = True, **told: list[Entry]) -> None:
    seen = await store.snapshot("c1", T0)
    new = tuple(NewBatch(int(n[1:]), f"batch {n[1:]}") for n in told) if opened else ()
    outcome = Outcome(opened=new, entries={int(n[1:]): journal for n, journal in told.items()})
    await store.commit(outcome, None, seen, T0)


@pytest.fixture
async def store(url, clock):
    opened = await Store.open(url, clock=clock)
    yield opened
    await opened.close()


async def test_each_batch_has_its_newest_lesson_with_the_length_of_its_journal(store):
    journal = [entry(1, Kind.DESCRIBE), entry(2, Kind.LESSON, n=1), entry(3, Kind.LESSON, n=2), entry(4, Kind.EVENT)]
    await keep(store, b1=journal, b2=[entry(1, Kind.DESCRIBE)], b3=[entry(1, Kind.LESSON, n=3)])
    found = (await store.snapshot("c1", T0)).taught
    assert [(t.batch, t.name, t.entry.number, t.entry.data["n"], t.length) for t in found] == [
        (1, "batch 1", 3, 2, 4),
        (3, "batch 3", 1, 3, 1),
    ]


async def test_a_voided_lesson_teaches_nothing_and_no_older_one_comes_back(store):
    await keep(store, b1=[entry(1, Kind.LESSON, n=1), entry(2, Kind.LESSON, n=2), entry(3, Kind.VOID, voids=2)])
    assert (await store.snapshot("c1", T0)).taught == ()
    await keep(store, opened=False, b1=[entry(4, Kind.LESSON, n=4)])
    assert [t.entry.data["n"] for t in (await store.snapshot("c1", T0)).taught] == [4]


async def test_another_chat_s_lessons_are_its_own(store):
    await keep(store, b1=[entry(1, Kind.LESSON, n=1)])
    assert (await store.snapshot("c2", T0)).taught == ()


def _many(c, count: int) -> None:
    c.execute(
        insert(batches),
        [
            {"chat": "c1", "number": n, "name": f"b{n}", "opened_at": T0, "closed_at": T0 + timedelta(days=2)}
            for n in range(1, count + 1)
        ],
    )
    rows = [
        {"chat": "c1", "batch": n, "number": k, "kind": kind, "happened_at": T0, "told_at": T0, "who": "x", "data": {},
         "words": "", "voids": None}
        for n in range(1, count + 1)
        for k, kind in ((1, "describe"), (2, "lesson"))
    ]  # fmt: skip
    c.execute(insert(entries), rows)


async def test_the_newest_are_seen_and_no_more_whatever_the_number_of_batches(store):
    await store._db.write(_many, 3 * lessons.NEWEST)
    await store.put_chat(Chat("c1"), T0)
    seen = await store.snapshot("c1", T0)
    assert [t.batch for t in seen.taught] == list(range(2 * lessons.NEWEST + 1, 3 * lessons.NEWEST + 1))


def _ways(c) -> list[str]:
    """How SQLite says that it looks for them."""
    said: list[str] = []
    raw = c.connection.driver_connection
    raw.set_trace_callback(said.append)
    lessons.newest(c, "c1")
    raw.set_trace_callback(None)
    queries = [s for s in said if s.lstrip().upper().startswith("SELECT")]
    return [row[3] for query in queries for row in raw.execute("EXPLAIN QUERY PLAN " + query)]



async def test_they_are_found_by_their_index(store):
    if not store._db.sqlite:
        pytest.skip("in SQLite's own words")
    await store._db.write(_many, 200)
    ways = await store._db.read(_ways)
    through = [way for way in ways if "entries" in way]
    assert sum("ix_entries_lessons" in way for way in through) == 2
    # What hangs on one lesson is looked up in its own batch.
    assert all("ix_entries_lessons (chat=?" in way or "(chat=? AND batch=?" in way for way in through), through
