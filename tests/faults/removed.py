"""Each safeguard taken away in turn, to show that the bench would notice."""

from __future__ import annotations

import asyncio
import itertools
import json
import uuid
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from scheduler import inbox, keeping, lanes, outbox
from scheduler.outbox import Outgoing
from scheduler.tables import lanes as lanes_table

if TYPE_CHECKING:
    from tests.faults.worker import Line

SAFEGUARDS = ("inbox", "lease", "outbox", "dedupe")


def take_away(safeguard: str | None, line: Line) -> None:
    """Take a safeguard away from this process (``inbox`` is taken away in the fetch loop)."""
    match safeguard:
        case "lease":
            _no_lease()
        case "outbox":
            _no_outbox(line)
        case "dedupe":
            _no_dedupe()


async def acknowledge_first(port: int, offset: int) -> None:
    """Tell the messenger that all before ``offset`` was received, and only then go on to store it."""
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    writer.write(json.dumps({"get": offset}).encode() + b"\n")
    await reader.readline()
    writer.close()
    await asyncio.sleep(0.03)


def _no_lease() -> None:
    """Take work without saying that it is taken."""
    lanes.is_free = lanes_table.c.waiting
    lanes.hold = lambda *_args: True


def _no_outbox(line: Line) -> None:
    """Send what is said after the commit, from memory."""
    loop, numbers = asyncio.get_running_loop(), itertools.count(1)
    said: asyncio.Queue[Outgoing] = asyncio.Queue()

    async def send() -> None:
        while True:
            await line.send(await said.get())
            await asyncio.sleep(1 / 30)  # as fast as a messenger lets a bot write

    def enqueue(c: Any, chat: str, messages: Any, now: Any, **_more: Any) -> None:
        for message in messages:
            loop.call_soon_threadsafe(said.put_nowait, Outgoing(next(numbers), chat, message, now))

    outbox.enqueue = enqueue
    keeping.outbox = outbox
    _no_outbox.task = loop.create_task(send())  # type: ignore[attr-defined]


def _no_dedupe() -> None:
    """Take every event for a new one."""
    take_in = inbox.take_in

    def each_new(c: Any, arrivals: Any, cursor: Any, now: Any) -> int:
        fresh = [replace(a, inbound=replace(a.inbound, key=uuid.uuid4().hex)) for a in arrivals]
        return take_in(c, fresh, cursor, now)

    inbox.take_in = each_new
