"""What a worker has in hand of one kind: bounded, known, and finished before it stops."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable, Coroutine, Hashable
from typing import Generic, TypeVar

from scheduler.persistence import TROUBLE, persist

T = TypeVar("T")
K = TypeVar("K", bound=Hashable)
log = logging.getLogger(__name__)


class Hands(Generic[K]):
    """Work in hand, each piece by its key, up to ``most`` at once. Tasks run in ``group``."""

    def __init__(self, group: asyncio.TaskGroup, most: int) -> None:
        self._group = group
        self._most = most
        self._tasks: dict[K, asyncio.Task[None]] = {}

    @property
    def keys(self) -> list[K]:
        """Return what is in hand."""
        return list(self._tasks)

    @property
    def free(self) -> int:
        """Return how much more may be taken."""
        return self._most - len(self._tasks)

    def start(self, key: K, work: Coroutine[None, None, None]) -> None:
        """Begin a piece of work; its key is in hand until it ends."""
        task = self._group.create_task(work)
        self._tasks[key] = task
        task.add_done_callback(lambda _: self._tasks.pop(key, None))

    async def room(self) -> None:
        """Wait until more may be taken."""
        while self.free <= 0:
            await asyncio.wait(self._tasks.values(), return_when=asyncio.FIRST_COMPLETED)

    async def rest(self, timeout_s: float | None = None) -> None:
        """Wait until nothing is in hand, or the time is over."""
        if self._tasks:
            await asyncio.wait(self._tasks.values(), timeout=timeout_s)

    async def take(
        self,
        claim: Callable[[], Awaitable[list[T]]],
        free_strays: Callable[[list[K]], Awaitable[None]],
    ) -> list[T]:
        """Claim work. Where the reply is lost the claim may have been kept: free what it took."""
        try:
            return await claim()
        except TROUBLE as error:
            log.warning("a claim failed: %s", type(error).__name__)
            await persist(free_strays, self.keys)
            return []
