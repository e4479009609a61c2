"""The world around the workers: a messenger on the loopback that outlives them and remembers all.

It hands out updates as messengers do (asking from an offset acknowledges all before it), takes what
is sent, and misbehaves as it is told.
"""

from __future__ import annotations

import asyncio
import json
import random
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

#: What a messenger can do to a message: see :meth:`World._take`.
Fault = str
PAGE = 20


def no_fault(chat: str, text: str) -> Fault | None:
    """Take everything."""
    return None


@dataclass
class World:
    """A messenger's server, and the people behind it."""

    chats: int = 8
    seed: int = 1
    faults: Callable[[str, str], Fault | None] = no_fault
    latency_s: float = 0.01
    repeats: float = 0.0
    shuffles: float = 0.0
    updates: list[dict[str, Any]] = field(default_factory=list)
    delivered: list[tuple[str, str]] = field(default_factory=list)
    acknowledged: int = 0
    asked: int = 0
    told: int = 0
    unsure: int = 0
    injected: Counter[str] = field(default_factory=Counter)
    moved: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._random = random.Random(self.seed)
        self.began = time.monotonic()

    async def start(self) -> int:
        """Begin to listen; returns the port."""
        self._server = await asyncio.start_server(self._serve, "127.0.0.1", 0)
        return int(self._server.sockets[0].getsockname()[1])

    async def stop(self) -> None:
        """Stop listening."""
        self._server.close()

    def say(self, chat: str | None = None, padding: str = "") -> int:
        """Let somebody write the next message. Returns its number."""
        self.told += 1
        chat = chat or f"c{self.told % self.chats}"
        self.put(self.moved.get(chat, chat), str(self.told) + padding)
        return self.told

    def put(self, chat: str, text: str, **more: Any) -> None:
        """Let something come in that is not reckoned among the messages."""
        update = {"chat": chat, "key": f"k{len(self.updates)}", "text": text, **more}
        self.updates.append({**update, "id": len(self.updates)})
        if self._random.random() < self.repeats:
            self.updates.append({**update, "id": len(self.updates)})  # once more, under another number

    @property
    def texts(self) -> Counter[str]:
        """Return how often each text arrived."""
        return Counter(text for _, text in self.delivered)

    async def _serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        try:
            while line := await reader.readline():
                request = json.loads(line)
                if "get" in request:
                    reply: Any = await self._updates(request["get"])
                else:
                    await asyncio.sleep(self._random.uniform(0, self.latency_s))
                    reply = self._take(request)
                if reply == "cut":
                    break
                if reply == "silence":
                    await asyncio.sleep(60)
                    break
                writer.write(json.dumps(reply).encode() + b"\n")
                await writer.drain()
        except (ConnectionError, asyncio.CancelledError, json.JSONDecodeError):
            pass
        finally:
            writer.close()

    async def _updates(self, offset: int) -> list[dict[str, Any]]:
        self.asked += 1
        self.acknowledged = max(self.acknowledged, offset)
        page = self.updates[self.acknowledged : self.acknowledged + PAGE]
        if not page:
            await asyncio.sleep(0.01)
        if self._random.random() < self.shuffles:
            self._random.shuffle(page)
        return page

    def _take(self, request: dict[str, Any]) -> dict[str, Any] | str:
        """Take a message, or not: ``after`` faults have taken it all the same."""
        chat, text = request["chat"], request["text"]
        fault = self.faults(chat, text)
        if fault is not None:
            self.injected[fault] += 1
        match fault:
            case "retry_after":
                return {"retry_after": self._random.uniform(0.02, 0.1)}
            case "error" | "gone":
                return {fault: True}
            case "moved":
                self.moved[chat] = f"{chat}-moved"
                return {"moved": self.moved[chat]}
            case "cut before":
                self.unsure += 1
                return "cut"
        self.delivered.append((chat, text))
        if fault in ("silence after", "cut after"):
            self.unsure += 1
            return "silence" if fault == "silence after" else "cut"
        return {"ok": len(self.delivered)}
