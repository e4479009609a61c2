"""Opening a database: made, migrated after a copy, refused where it is newer, damaged or in use."""

from __future__ import annotations

import asyncio
import os
import sqlite3
import sys

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import text

from scheduler import schema
from scheduler.database import Database
from scheduler.errors import (
    DatabaseDamaged,
    DatabaseInUse,
    DatabaseNewer,
    DatabaseOlder,
    DatabaseUnreachable,
)
from scheduler.store import Store
from scheduler.tables import metadata
from tests.scheduler.parts import T0, arrival


def tables_of(c) -> list[tuple[str, ...]]:
    """Describe what stands in a database, as the database itself tells it."""
    if c.dialect.name == "sqlite":
        found = c.execute(text("SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'alembic%'"))
        plain = [(kind, name, " ".join(sql.replace('"', "").split())) for kind, name, sql in found if sql]
        return sorted(plain)
    columns = c.execute(
        text(
            "SELECT table_name, column_name, data_type, is_nullable, column_default,"
            " character_maximum_length FROM information_schema.columns"
            " WHERE table_schema = 'public' AND table_name <> 'alembic_version'"
        )
    )
    indexes = c.execute(
        text("SELECT indexname, indexdef FROM pg_indexes WHERE tablename <> 'alembic_version'"
             " AND schemaname = 'public'")
    )  # fmt: skip
    return sorted([*map(str, columns), *map(str, indexes)])


def test_the_migrations_make_the_tables_that_the_program_uses(empty_url, tmp_path, request):
    migrated = Database(empty_url)
    migrated.write_now(schema.upgrade)
    if migrated.sqlite:
        made = Database(f"sqlite:///{tmp_path / 'made.db'}")
    else:
        made = Database(request.getfixturevalue("server").database())
    metadata.create_all(made.engine)
    assert migrated.read_now(tables_of) == made.read_now(tables_of)
    with migrated.engine.connect() as c:
        assert compare_metadata(MigrationContext.configure(c), metadata) == []
    migrated.close()
    made.close()


def test_the_newest_revision_is_the_head_and_each_file_is_named_by_its_revision():
    config = Config()
    config.set_main_option("script_location", str(schema.MIGRATIONS))
    history = ScriptDirectory.from_config(config)
    assert history.get_heads() == [schema.HEAD]
    assert tuple(sorted(r.revision for r in history.walk_revisions())) == schema.REVISIONS


async def test_what_was_kept_is_there_after_opening_again(url, clock):
    store = await Store.open(url, clock=clock)
    await store.take_in([arrival("u1")])
    await store.close()
    again = await Store.open(url, clock=clock)
    assert len(await again.next_inbound(T0)) == 1
    await again.close()


def set_revision(url: str, number: str) -> None:
    database = Database(url)
    database.write_now(lambda c: c.execute(text("UPDATE alembic_version SET version_num = :n"), {"n": number}))
    database.close()


async def test_a_newer_database_is_refused(url):
    set_revision(url, "9999")
    with pytest.raises(DatabaseNewer, match="9999"):
        await Store.open(url)


async def test_an_older_database_is_copied_and_migrated(url, monkeypatch, tmp_path):
    set_revision(url, "0000")
    monkeypatch.setattr(schema, "REVISIONS", ("0000", schema.HEAD))
    monkeypatch.setattr(
        schema,
        "upgrade",
        lambda c: c.execute(text("UPDATE alembic_version SET version_num = :n"), {"n": schema.HEAD}),
    )
    with pytest.raises(DatabaseOlder):
        await Store.open(url, migrate=False)
    store = await Store.open(url)
    assert await store._db.read(schema.revision) == schema.HEAD
    copies = list(tmp_path.glob("store.revision-0000.*.db"))
    assert len(copies) == (1 if url.startswith("sqlite") else 0)
    for copied in copies:
        old = Database(f"sqlite:///{copied}")
        assert old.read_now(schema.revision) == "0000"
        old.close()
    await store.close()


async def test_a_second_process_on_an_sqlite_file_is_refused(tmp_path):
    url = f"sqlite:///{tmp_path / 'store.db'}"
    store = await Store.open(url)
    with pytest.raises(DatabaseInUse, match="another process"):
        await Store.open(url)
    other = (
        "import asyncio, sys; from scheduler.store import Store; from scheduler.errors import DatabaseInUse\n"
        "try: asyncio.run(Store.open(sys.argv[1]))\nexcept DatabaseInUse: sys.exit(7)"
    )
    process = await asyncio.create_subprocess_exec(sys.executable, "-c", other, url)
    assert await process.wait() == 7
    looking = await Store.open(url, alone=False)  # export and doctor may look
    assert await looking.batches() == []
    await looking.close()
    await store.close()
    await (await Store.open(url)).close()


async def test_several_processes_share_a_postgresql_database(shared):
    one, two = await Store.open(shared), await Store.open(shared)
    assert (await two.counts()).workers == 2
    await one.close()
    await two.close()


async def test_a_damaged_file_is_detected(tmp_path):
    path = tmp_path / "store.db"
    store = await Store.open(f"sqlite:///{path}")
    await store.take_in([arrival(f"u{i}", text="x" * 500) for i in range(200)])
    await store.close()
    whole = path.read_bytes()
    middle = len(whole) // 2
    path.write_bytes(whole[:middle] + b"\xa5" * 8192 + whole[middle + 8192 :])
    with pytest.raises(DatabaseDamaged, match=r"restore a backup"):
        await Store.open(f"sqlite:///{path}")
    path.write_bytes(b"this is no database at all, but long enough to look like one" * 20)
    with pytest.raises(DatabaseDamaged, match="not a database"):
        await Store.open(f"sqlite:///{path}")
    path.write_bytes(whole)
    await (await Store.open(f"sqlite:///{path}")).close()


@pytest.mark.parametrize(
    "url",
    [
        "sqlite:////proc/nowhere/store.db",
        "postgresql://someone:hunter2@/none?host=/nonexistent",
    ],
)
async def test_a_database_that_cannot_be_reached_is_named_without_its_password(url):
    with pytest.raises(DatabaseUnreachable) as caught:
        await Store.open(url)
    assert "hunter2" not in str(caught.value)
    assert len(str(caught.value).splitlines()) == 1


async def test_looking_at_a_file_that_is_not_there_makes_none(tmp_path):
    with pytest.raises(DatabaseUnreachable, match="no database"):
        await Store.open(f"sqlite:///{tmp_path / 'store.db'}", alone=False)
    assert list(tmp_path.iterdir()) == []


async def test_a_throwaway_store_leaves_nothing_behind():
    store = await Store.open("", throwaway=True)
    folder = store._db.path.parent
    await store.take_in([arrival("u1")])
    assert os.listdir(folder)
    await store.close()
    with pytest.raises(FileNotFoundError):
        os.listdir(folder)


def test_sqlite_is_set_up_to_survive_a_power_cut(tmp_path):
    database = Database(f"sqlite:///{tmp_path / 'store.db'}")
    pragmas = {"journal_mode": "wal", "synchronous": 2, "busy_timeout": 5000, "foreign_keys": 1}
    with database.engine.connect() as c:
        for name, value in pragmas.items():
            assert c.execute(text(f"PRAGMA {name}")).scalar_one() == value
    database.close()


def test_a_writing_transaction_takes_the_lock_at_once(tmp_path):
    path = tmp_path / "store.db"
    database = Database(f"sqlite:///{path}")
    with database.engine.begin():
        other = sqlite3.connect(path, timeout=0, isolation_level=None)
        with pytest.raises(sqlite3.OperationalError, match="locked"):
            other.execute("BEGIN IMMEDIATE")
        other.close()
    database.close()


async def test_claims_do_not_wait_for_the_disk_and_everything_else_does(url):
    store = await Store.open(url)

    def level(c) -> str:
        name = "PRAGMA synchronous" if c.dialect.name == "sqlite" else "SHOW synchronous_commit"
        return str(c.execute(text(name)).scalar_one())

    for _ in range(2):
        assert await store._db.mark(level) in ("1", "off")
        assert await store._db.write(level) in ("2", "on")
    await store.close()
