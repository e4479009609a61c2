"""Rates of sending: how soon the next message may go, for one chat and over all.

The generic cell rate algorithm: one moment per rate says where it stands, so that a chat's rate can
stand in its row and hold across workers and restarts.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta


@dataclass(frozen=True)
class Rate:
    """One message each ``every_s`` in the long run, up to ``burst`` at once after a rest."""

    every_s: float
    burst: int = 1

    def spend(self, slot: datetime, now: datetime) -> tuple[datetime, datetime]:
        """Send one message at ``now``. Returns where the rate stands then, and when the next may go."""
        every = timedelta(seconds=self.every_s)
        # A slot further ahead than a full burst is of a clock that has been set back since.
        slot = min(max(slot, now), now + every * self.burst) + every
        return slot, max(now, slot - every * (self.burst - 1))


NO_LIMIT = Rate(0.0)


@dataclass(frozen=True)
class Pacing:
    """The messenger's rates: ``chat(id)`` for one chat, ``overall`` for all workers together."""

    overall: Rate = NO_LIMIT
    chat: Callable[[str], Rate] = lambda _chat: NO_LIMIT


def backoff_s(attempt: int, *, first_s: float = 1.0, most_s: float = 300.0) -> float:
    """Return how long to wait after failed attempt number ``attempt`` (from 1), with full jitter.

    Between half and all of a doubling span: many that failed together do not come back together.
    """
    span: float = min(most_s, first_s * 2.0 ** min(attempt - 1, 30))
    return span * (0.5 + random.random() / 2)
