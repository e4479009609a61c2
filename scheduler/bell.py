"""Wake-ups: whoever waits for work is told as soon as there is some."""

from __future__ import annotations

import asyncio
from typing import Literal

Topic = Literal["in", "out", "due"]
TOPICS: tuple[Topic, ...] = ("in", "out", "due")


class Bell:
    """One event for each kind of work."""

    def __init__(self) -> None:
        self._events = {topic: asyncio.Event() for topic in TOPICS}

    def ring(self, *topics: Topic) -> None:
        """Wake whoever waits for work of these kinds."""
        for topic in topics:
            self._events[topic].set()

    async def wait(self, topic: Topic, timeout_s: float) -> None:
        """Wait for work of a kind, or until the time is over. A ring before the wait counts."""
        event = self._events[topic]
        try:
            async with asyncio.timeout(timeout_s):  # wait_for can swallow a cancellation (Python 3.11)
                await event.wait()
        except TimeoutError:
            return
        finally:
            event.clear()
