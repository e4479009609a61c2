"""Several workers on one database: one of them fetches, all answer, and another takes over."""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import pytest_asyncio

from bot.messengers import polling
from bot.messengers.shift import STALE, Mark, Shift
from scheduler.clock import FakeClock
from scheduler.store import Store
from tests.scheduler.servers import Server, postgresql
from tests.telegram.harness import answers, open_store, running
from tests.telegram.parrot import Parrot
from tests.telegram.standin import StandIn

NOON = datetime(2026, 3, 6, 12, 0, tzinfo=UTC)
SOURCE = "telegram:7"


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    with postgresql() as running_server:
        yield running_server


@pytest.fixture
def database(server: Server) -> str:
    """The address of a database that several processes may share."""
    return server.database()


@pytest_asyncio.fixture
async def workers(database: str, tmp_path: Path) -> AsyncIterator[tuple[Store, Store]]:
    """Two workers that share a database."""
    first, second = await open_store(tmp_path, database), await open_store(tmp_path, database)
    yield first, second
    await second.close()
    await first.close()


def test_a_mark_is_read_back() -> None:
    mark = Mark(500_001, NOON, "somebody")
    assert Mark.of(str(mark)) == mark


async def test_whoever_fetches_is_left_to_it_until_the_mark_is_old(workers: tuple[Store, Store]) -> None:
    clock = FakeClock(NOON)
    first, second = (Shift(store, clock, SOURCE) for store in workers)
    assert await first.mine()
    await first.keep(None)
    assert await first.mine()
    assert not await second.mine()
    await clock.advance(STALE)
    assert not await second.mine()
    await clock.advance(timedelta(seconds=1))
    assert await second.mine()
    await second.keep(None)
    assert not await first.mine()
    await first.hand_over()
    assert not await first.mine()
    await second.hand_over()
    assert await first.mine()


async def test_one_that_is_alone_fetches_whatever_the_mark_says(database: str, tmp_path: Path) -> None:
    clock = FakeClock(NOON)
    gone = await open_store(tmp_path, database)
    await Shift(gone, clock, SOURCE).keep(500_001)
    await gone.close()
    here = await open_store(tmp_path, database)
    assert await Shift(here, clock, SOURCE).mine()
    assert await Shift(here, clock, SOURCE).offset() == 500_001
    await here.close()


async def test_an_offset_that_is_old_or_unknown_is_none(workers: tuple[Store, Store]) -> None:
    clock = FakeClock(NOON)
    shift = Shift(workers[0], clock, "telegram:8")
    assert await shift.offset() is None
    await shift.keep(None)
    assert await shift.offset() is None
    await shift.keep(500_001)
    assert await shift.offset() == 500_001
    await clock.advance(timedelta(days=1))
    assert await shift.offset() is None


async def test_two_bots_on_one_database_answer_each_message_once_and_replace_each_other(
    telegram: StandIn, tmp_path: Path, database: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(polling, "STAND_BY_S", 0.05)
    world = telegram.world
    people = [world.person(f"P{number}") for number in range(5)]
    async with running(telegram, Parrot(), tmp_path, database):
        await world.until(lambda: world.called("getUpdates"))
        async with running(telegram, Parrot(), tmp_path, database):
            for who in people:
                world.says(who, "both")
            for who in people:
                assert [n.text for n in await answers(telegram, who)] == ["1: heard both"]
        for who in people:
            world.says(who, "one")
            assert [n.text for n in await answers(telegram, who, 2)][1:] == ["2: heard one"]


async def test_one_that_stands_by_takes_over_when_the_other_ends(
    telegram: StandIn, tmp_path: Path, database: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(polling, "STAND_BY_S", 0.05)
    world, ann = telegram.world, telegram.world.person("Ann")
    first = running(telegram, Parrot(), tmp_path, database)
    await first.__aenter__()
    try:
        await world.until(lambda: world.called("getUpdates"))
        second = running(telegram, Parrot(), tmp_path, database)
        await second.__aenter__()
    finally:
        await first.__aexit__(None, None, None)
    try:
        world.says(ann, "still there?")
        assert [n.text for n in await answers(telegram, ann)] == ["1: heard still there?"]
    finally:
        await second.__aexit__(None, None, None)
