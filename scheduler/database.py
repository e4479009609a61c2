"""The connection to SQLite or PostgreSQL: one transaction, one hop to a database thread.

Transactions are plain functions of a connection, run whole in a thread of their own. A statement at
a time from the event loop (as the async drivers do it) costs a change of thread for each: measured
0.45 ms a statement against 0.03 ms, with a dozen statements in the way of every message.
"""

from __future__ import annotations

import asyncio
import sqlite3
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from itertools import count
from pathlib import Path
from typing import Any, Concatenate, ParamSpec, TypeVar

from sqlalchemy import Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import DBAPIError, OperationalError
from sqlalchemy.pool import QueuePool

from scheduler.errors import DatabaseUnreachable

P = ParamSpec("P")
T = TypeVar("T")

BUSY_TIMEOUT_MS = 5_000
POSTGRES_THREADS = 4
#: PostgreSQL's codes for "roll back and try again": serialization failure, deadlock.
TRY_AGAIN = {"40001", "40P01"}
MOST_TRIES = 10


class Database:
    """An engine and the threads that run its transactions.

    ``inline`` runs them in the caller's thread: for a replay, where nothing else waits.
    """

    def __init__(self, url: str, *, inline: bool = False, durable: bool = True) -> None:
        self.url = make_url(url)
        self.sqlite = self.url.get_backend_name() == "sqlite"
        threads = 1 if self.sqlite else POSTGRES_THREADS
        self.engine = _engine(self.url.render_as_string(hide_password=False), threads, durable)
        self._at_close: list[Callable[[], None]] = []
        self._threads = None if inline else ThreadPoolExecutor(threads, thread_name_prefix="database")

    @property
    def path(self) -> Path | None:
        """Return the SQLite file, or None where the database is a server."""
        return Path(self.url.database) if self.sqlite and self.url.database else None

    async def write(self, work: Callable[Concatenate[Connection, P], T], *args: P.args, **kwargs: P.kwargs) -> T:
        """Run ``work(connection, ...)`` in one transaction, which is on the disk when this returns."""
        return await self._run(partial(self.write_now, work, *args, **kwargs))

    async def mark(self, work: Callable[Concatenate[Connection, P], T], *args: P.args, **kwargs: P.kwargs) -> T:
        """As :meth:`write`, but without waiting for the disk.

        For what a crash of the machine may undo: who has what in hand. It is on the disk no later
        than whatever is written next.
        """
        return await self._run(
            partial(self._transact, self.engine.execution_options(marking=True), work, *args, **kwargs)
        )

    async def read(self, work: Callable[Concatenate[Connection, P], T], *args: P.args, **kwargs: P.kwargs) -> T:
        """Run ``work(connection, ...)`` in one transaction that writes nothing."""
        return await self._run(partial(self.read_now, work, *args, **kwargs))

    def write_now(self, work: Callable[Concatenate[Connection, P], T], *args: P.args, **kwargs: P.kwargs) -> T:
        """Run ``work`` in one transaction in this thread."""
        return self._transact(self.engine, work, *args, **kwargs)

    def _transact(
        self, engine: Engine, work: Callable[Concatenate[Connection, P], T], *args: P.args, **kwargs: P.kwargs
    ) -> T:
        for attempt in count(1):
            try:
                with engine.begin() as connection:
                    return work(connection, *args, **kwargs)
            except DBAPIError as error:
                if getattr(error.orig, "sqlstate", None) not in TRY_AGAIN or attempt == MOST_TRIES:
                    raise
        raise AssertionError("unreachable")

    def read_now(self, work: Callable[Concatenate[Connection, P], T], *args: P.args, **kwargs: P.kwargs) -> T:
        """Run ``work`` in one transaction that writes nothing, in this thread."""
        with self.engine.connect().execution_options(reading=True) as connection, connection.begin():
            return work(connection, *args, **kwargs)

    async def _run(self, call: Callable[[], T]) -> T:
        if self._threads is None:
            return call()
        return await asyncio.get_running_loop().run_in_executor(self._threads, call)

    def close(self) -> None:
        """Let running transactions end and close every connection."""
        if self._threads is not None:
            self._threads.shutdown(wait=True)
        self.engine.dispose()
        while self._at_close:
            self._at_close.pop()()

    def at_close(self, call: Callable[[], None]) -> None:
        """Call ``call`` once every connection is closed."""
        self._at_close.append(call)


def _engine(url: str, threads: int, durable: bool) -> Engine:
    if not url.startswith("sqlite"):
        engine = create_engine(url, pool_size=threads, max_overflow=0, pool_pre_ping=True, hide_parameters=True)
        event.listen(engine, "begin", _begin_postgresql)
        return engine
    engine = create_engine(url, poolclass=QueuePool, pool_size=threads, max_overflow=1, hide_parameters=True)
    event.listen(engine, "connect", partial(_prepare_sqlite, durable=durable))
    event.listen(engine, "begin", partial(_begin_sqlite, durable=durable))
    return engine


def _prepare_sqlite(connection: sqlite3.Connection, _record: Any, *, durable: bool) -> None:
    connection.isolation_level = None  # the driver starts no transaction of its own
    for pragma in (
        f"busy_timeout={BUSY_TIMEOUT_MS}",  # first: the switch to WAL itself can find a lock
        "journal_mode=WAL" if durable else "journal_mode=MEMORY",
        "synchronous=FULL" if durable else "synchronous=OFF",
        "foreign_keys=ON",
    ):
        connection.execute(f"PRAGMA {pragma}")


def _begin_sqlite(connection: Connection, *, durable: bool) -> None:
    options = connection.get_execution_options()
    if durable and not options.get("reading", False):
        level = "NORMAL" if options.get("marking", False) else "FULL"
        connection.exec_driver_sql(f"PRAGMA synchronous={level}")
    # IMMEDIATE: a transaction that reads first and writes later would lose to another in silence.
    connection.exec_driver_sql("BEGIN" if options.get("reading", False) else "BEGIN IMMEDIATE")


def _begin_postgresql(connection: Connection) -> None:
    if connection.get_execution_options().get("marking", False):
        connection.exec_driver_sql("SET LOCAL synchronous_commit = off")


def unreachable(url: str, error: Exception) -> DatabaseUnreachable:
    """Return the error that says in one line that ``url`` cannot be opened, without its password."""
    shown = make_url(url).render_as_string(hide_password=True)
    cause = error.orig if isinstance(error, OperationalError) and error.orig else error
    return DatabaseUnreachable(f"cannot open the database {shown}: {str(cause).strip().splitlines()[0]}")
