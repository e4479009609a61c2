"""Backups: consistent while in use, checked before they are put back, from either database to either."""

from __future__ import annotations

import asyncio

import pytest
from sqlalchemy import select

from scheduler.backup import back_up, check, restore
from scheduler.errors import DatabaseDamaged, DatabaseInUse, DatabaseNewer, StoreError
from scheduler.store import Store
from scheduler.tables import metadata, workers
from scheduler.turn import Button, Chat, Message, NewBatch, Outcome
from tests.scheduler.parts import HOUR, T0, arrival, entry, fresh_key, ring
from tests.scheduler.test_schema import set_revision


async def fill(store: Store, turns: int) -> None:
    """Let messages open batches, want reminders and say things."""
    for n in range(1, turns + 1):
        await store.take_in([arrival(fresh_key(), text="4 lb coho \U0001f41f")])
        (item,) = await store.next_inbound(T0)
        seen = await store.snapshot("c1", T0)
        number = max((b.number for b in seen.batches), default=0) + 1
        outcome = Outcome(
            chat=Chat("c1", "Europe/Oslo", memory={"focus": number}),
            opened=(NewBatch(number, f"batch {number}"),),
            entries={number: (entry(1, "hello"), entry(2))},
            rings={number: (ring("pull", T0 + n * HOUR),)},
            messages=(Message("well?", (Button("Done", {"n": n}),)),),
        )
        await store.commit(outcome, item, seen, T0)
    await store.take_in([arrival(fresh_key(), text="not handled yet")])


async def everything(store: Store) -> dict[str, list]:
    """Return all rows but those of running processes."""

    def read(c):
        tables = [t for t in metadata.sorted_tables if t is not workers]
        return {t.name: sorted(map(repr, c.execute(select(t)))) for t in tables}

    return await store._db.read(read)


async def test_what_was_backed_up_comes_back(url, tmp_path):
    store = await Store.open(url)
    await fill(store, 5)
    kept, target = await everything(store), tmp_path / "backup.db"
    await asyncio.to_thread(back_up, url, target)
    await fill(store, 3)
    await store.close()
    replaced = await asyncio.to_thread(restore, url, target)
    again = await Store.open(url)
    assert await everything(again) == kept
    await fill(again, 1)  # row numbers are counted on from what was put back
    await again.close()
    if url.startswith("sqlite"):
        before = await Store.open(f"sqlite:///{replaced}")
        assert len(await before.batches()) == 8
        await before.close()


async def test_a_backup_moves_from_one_kind_of_database_to_the_other(url, shared, tmp_path):
    other = shared if url.startswith("sqlite") else f"sqlite:///{tmp_path / 'other.db'}"
    store = await Store.open(url)
    await fill(store, 3)
    kept = await everything(store)
    await asyncio.to_thread(back_up, url, tmp_path / "backup.db")
    await store.close()
    await asyncio.to_thread(restore, other, tmp_path / "backup.db")
    moved = await Store.open(other)
    assert await everything(moved) == kept
    await moved.close()


async def test_a_copy_made_while_others_write_is_consistent(url, tmp_path):
    store, target = await Store.open(url), tmp_path / "backup.db"
    copying = asyncio.create_task(asyncio.to_thread(back_up, url, target))
    turns = 0
    while not copying.done():
        await fill(store, 1)
        turns += 1
    await copying
    await store.close()
    copied = await Store.open(f"sqlite:///{target}")
    files = [await copied.batch("c1", f.number) for _, f in await copied.batches()]
    assert len(files) <= turns
    assert [f.number for f in files] == list(range(1, len(files) + 1))
    assert all(len(f.entries) == 2 for f in files)
    assert len(await copied.reminders()) == len(files) == len(await copied.outcomes("c1"))
    await copied.close()


async def test_a_backup_that_is_not_whole_is_not_put_back(tmp_path):
    url, target = f"sqlite:///{tmp_path / 'store.db'}", tmp_path / "backup.db"
    store = await Store.open(url)
    await fill(store, 60)
    back_up(url, target)
    with pytest.raises(StoreError, match="there already"):
        back_up(url, target)
    with pytest.raises(DatabaseInUse):
        restore(url, target)
    kept = await everything(store)
    await store.close()
    whole = target.read_bytes()
    middle = len(whole) // 2
    target.write_bytes(whole[:middle] + b"\xa5" * 4096 + whole[middle + 4096 :])
    with pytest.raises(DatabaseDamaged):
        restore(url, target)
    target.write_bytes(whole[:middle])
    with pytest.raises(DatabaseDamaged):
        restore(url, target)
    target.write_bytes(b"")
    with pytest.raises(DatabaseDamaged, match="no backup"):
        restore(url, target)
    with pytest.raises(StoreError, match="no file"):
        restore(url, tmp_path / "nothing.db")
    target.write_bytes(whole)
    set_revision(f"sqlite:///{target}", "9999")
    with pytest.raises(DatabaseNewer):
        check(target)
    again = await Store.open(url)
    assert await everything(again) == kept
    await again.close()


async def test_a_server_that_is_worked_on_is_not_overwritten(shared, tmp_path):
    store = await Store.open(shared)
    await fill(store, 1)
    kept = await everything(store)
    await asyncio.to_thread(back_up, shared, tmp_path / "backup.db")
    with pytest.raises(StoreError, match="stop them first"):
        await asyncio.to_thread(restore, shared, tmp_path / "backup.db")
    assert await everything(store) == kept
    await store.close()
