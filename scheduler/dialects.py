"""The few places where SQLite and PostgreSQL need different words."""

from __future__ import annotations

from typing import Any

from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.functions import GenericFunction

from scheduler.columns import Instant


def upsert(dialect: str) -> Any:
    """Return the ``insert`` that knows ``on_conflict_do_update`` for a database."""
    return sqlite.insert if dialect == "sqlite" else postgresql.insert


class server_now(GenericFunction[Any]):  # noqa: N801 - named as it stands in SQL
    """The database's own clock: leases go by one clock, however wrong the workers' clocks are."""

    type = Instant()
    inherit_cache = True


@compiles(server_now, "sqlite")
def _sqlite_now(element: server_now, compiler: Any, **kw: Any) -> str:
    return "CAST((julianday('now') - 2440587.5) * 86400000000 AS INTEGER)"


@compiles(server_now, "postgresql")
def _postgres_now(element: server_now, compiler: Any, **kw: Any) -> str:
    return "CAST(extract(epoch FROM clock_timestamp()) * 1000000 AS BIGINT)"
