"""Where the doors get the talking layer from, and how a fault of it comes to light."""

from __future__ import annotations

import sys
import traceback
from collections.abc import Callable, Sequence
from pathlib import Path

from bot.complaints import debugging
from scheduler.turn import Answering, BatchFile, Due, Inbound, Outcome, Snapshot


def answering(
    folder: Path | None = None,
    *,
    photos: Path | None = None,
    whole_paths: bool = False,
    whole: Callable[[str], Sequence[BatchFile]] = lambda _: (),
    cards: bool = False,
) -> Answering:
    """The conversation that every door leads to; late, because it draws in the whole tool.

    ``folder`` is where its pictures and papers go, for a door that can show files; see
    :class:`bot.illustrate.Illustrated`. ``cards`` for one that can edit a message in place.
    """
    from bot.conversation import Conversation

    if folder is None:
        return Conversation(cards=cards)
    from bot.illustrate import Illustrated

    return Illustrated(Conversation(cards=cards), folder, photos=photos, whole_paths=whole_paths, whole=whole)


class Reporting:
    """Names a fault of the talking layer on standard error, once; the person at work can mend it."""

    def __init__(self, inner: Answering) -> None:
        self._inner = inner
        self._reported: set[str] = set()

    def answer(self, snapshot: Snapshot, inbound: Inbound) -> Outcome:
        """As the talking layer answers."""
        try:
            return self._inner.answer(snapshot, inbound)
        except Exception as fault:
            self._report(fault, f"a message at {inbound.at.isoformat()}")
            raise

    def ring(self, snapshot: Snapshot, due: Due) -> Outcome:
        """As the talking layer rings."""
        try:
            return self._inner.ring(snapshot, due)
        except Exception as fault:
            self._report(fault, f"the reminder {due.ring.key!r}")
            raise

    def _report(self, fault: Exception, what: str) -> None:
        line = f"brinebell: a fault inside at {what}: {type(fault).__name__}: {' '.join(str(fault).split())}"
        if line in self._reported:
            return
        self._reported.add(line)
        print(line[:300], file=sys.stderr, flush=True)
        if debugging():
            traceback.print_exc()
