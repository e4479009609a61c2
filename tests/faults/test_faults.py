"""The fault bench in its shortest form: the promises hold, and each safeguard is needed for that."""

from __future__ import annotations

import pytest

from tests.faults import hostile
from tests.faults.bench import Report, killing
from tests.faults.removed import SAFEGUARDS
from tests.scheduler.conftest import *  # noqa: F403 - the same databases


def kept(report: Report) -> None:
    assert report.met, report
    assert report.messages > 0


async def test_kills_lose_nothing_and_double_one_message_at_most(empty_url):
    size = 1 if empty_url.startswith("sqlite") else 2
    kept(await killing("kills", empty_url, 4, size=size))


@pytest.mark.parametrize("safeguard", SAFEGUARDS)
async def test_without_a_safeguard_a_promise_is_broken(safeguard, tmp_path, server):
    url = server.database() if safeguard == "lease" else hostile.sqlite_url(tmp_path, "store")
    size = 2 if safeguard == "lease" else 1
    report = await killing(safeguard, url, 4, size=size, without=safeguard)
    assert not report.met, report


async def test_a_hostile_messenger(tmp_path):
    kept(await hostile.messenger(hostile.sqlite_url(tmp_path, "store"), 2.0))


@pytest.mark.parametrize("run", [hostile.full_disk, hostile.read_only, hostile.locked])
async def test_a_hostile_machine(run, tmp_path):
    kept(await run(hostile.sqlite_url(tmp_path, "store"), 0.8))


async def test_a_clock_that_is_set(tmp_path):
    kept(await hostile.wrong_clock(hostile.sqlite_url(tmp_path, "store"), 0.8))


async def test_a_hostile_person(tmp_path):
    kept(await hostile.flood(hostile.sqlite_url(tmp_path, "flood"), 60))
    kept(await hostile.forged(hostile.sqlite_url(tmp_path, "forged"), 40))


async def test_a_server_that_is_restarted(tmp_path):
    from tests.scheduler.servers import postgresql

    with postgresql() as own:
        kept(await hostile.restarted(own.database(), own.restart, 1))
