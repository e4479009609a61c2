"""Every test that takes ``url`` (or ``store``, or ``desk``) runs on SQLite and on PostgreSQL."""

from __future__ import annotations

import asyncio
import shutil
from collections.abc import AsyncIterator, Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psycopg
import pytest

from scheduler.clock import FakeClock
from scheduler.runner import Runner
from scheduler.store import Store
from scheduler.tables import metadata
from tests.scheduler.parts import T0, Made, Noted
from tests.scheduler.servers import Server, postgresql


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    with postgresql() as running:
        yield running


@pytest.fixture(scope="session")
def postgresql_url(server: Server) -> str:
    """One database for all tests that want an up-to-date one."""
    address = server.database()
    asyncio.run(_make(address))
    return address


@pytest.fixture
def shared(postgresql_url: str) -> str:
    """The address of a database, emptied, that several processes may share."""
    with psycopg.connect(postgresql_url) as connection:
        names = ", ".join(metadata.tables)
        connection.execute(f"TRUNCATE {names} RESTART IDENTITY")
    return postgresql_url


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("template") / "store.db"
    asyncio.run(_make(f"sqlite:///{path}"))
    return path


async def _make(address: str) -> None:
    await (await Store.open(address)).close()


@pytest.fixture(params=["sqlite", "postgresql"])
def empty_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a database in which nothing is yet."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'store.db'}"
    server: Server = request.getfixturevalue("server")
    return server.database()


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a fresh database of the newest revision."""
    if request.param == "sqlite":
        shutil.copy(request.getfixturevalue("sqlite_template"), tmp_path / "store.db")
        return f"sqlite:///{tmp_path / 'store.db'}"
    address: str = request.getfixturevalue("shared")
    return address


@pytest.fixture
def clock() -> FakeClock:
    return FakeClock(T0)


@pytest.fixture
async def store(url: str, clock: FakeClock) -> AsyncIterator[Store]:
    opened = await Store.open(url, clock=clock)
    yield opened
    await opened.close()


@dataclass
class Desk:
    """A store, a runner on a clock that is moved by hand, and what was said."""

    store: Store
    clock: FakeClock
    made: Made
    out: Noted
    runner: Runner


@pytest.fixture
def desk(store: Store, clock: FakeClock) -> Callable[..., Desk]:
    def build(made: Made | None = None, **more: Any) -> Desk:
        made, out = made or Made(), Noted(clock)
        return Desk(store, clock, made, out, Runner(store, made, out, clock, **more))

    return build
