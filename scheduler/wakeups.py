"""Wake-ups between processes on PostgreSQL: LISTEN and NOTIFY, inside the transactions themselves.

A lost wake-up costs time, never work: every loop looks again by itself.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Sequence

from sqlalchemy import Connection, text
from sqlalchemy.engine import URL

from scheduler.bell import TOPICS, Bell, Topic
from scheduler.pacing import backoff_s

log = logging.getLogger(__name__)

CHANNEL = "brinebell"


def announce(c: Connection, topics: Sequence[Topic]) -> None:
    """Wake the other processes once this transaction is committed. SQLite has no other processes."""
    if topics and c.dialect.name == "postgresql":
        notice = {"channel": CHANNEL, "topics": ",".join(topics)}
        c.execute(text("SELECT pg_notify(:channel, :topics)"), notice)


async def listen(url: URL, bell: Bell) -> None:
    """Ring ``bell`` for what other processes announce, until cancelled; reconnects by itself."""
    import psycopg  # late: nine megabytes that an SQLite file has no use for

    attempt = 0
    while True:
        try:
            async with await psycopg.AsyncConnection.connect(conninfo(url), autocommit=True) as connection:
                await connection.execute(f"LISTEN {CHANNEL}")
                bell.ring(*TOPICS)  # whatever was announced while nobody listened
                attempt = 0
                async for notice in connection.notifies():
                    bell.ring(*(topic for topic in TOPICS if topic in notice.payload.split(",")))
        except psycopg.Error as error:
            attempt += 1
            log.warning("wake-ups interrupted: %s", type(error).__name__, extra={"attempt": attempt})
            await asyncio.sleep(backoff_s(attempt, first_s=0.1, most_s=10.0))


def conninfo(url: URL) -> str:
    """Return the URL as the driver takes it."""
    return url.set(drivername="postgresql").render_as_string(hide_password=False)
