"""The journal's entries, as values.

A batch is what its entries say. An entry is never changed or deleted; a correction is a new entry
that voids an old one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Any


class Kind(StrEnum):
    """What an entry records."""

    DESCRIBE = "describe"  #: what the batch is, or a change to it
    READING = "reading"  #: something was measured or felt
    EVENT = "event"  #: something was started, done, turned, topped up
    CHOICE = "choice"  #: a person went on against the advice, or chose a mark to work to
    VOID = "void"  #: an earlier entry does not count any more
    RING = "ring"  #: the tool called
    ANSWERED = "answered"  #: somebody answered a ring
    VERDICT = "verdict"  #: what the tool said to a reading, as said
    MESSAGE = "message"  #: words that changed nothing: questions, thanks, notes
    PLAN = "plan"  #: the plan as it was told
    LESSON = "lesson"  #: what the finished batch taught (:mod:`planner.rig.finished`)


@dataclass(frozen=True)
class Entry:
    """One line of the journal.

    ``number`` counts from 1 within the batch, in the order of telling. ``happened_at`` and
    ``told_at`` are aware UTC. ``data`` holds the slots of the contract (SI, unit in the key), JSON
    values only; instants in it are ISO 8601 with an offset. ``words`` is what the person wrote.
    """

    number: int
    kind: Kind
    happened_at: datetime
    told_at: datetime
    who: str
    data: Mapping[str, Any] = field(default_factory=dict)
    words: str = ""
    voids: int | None = None


def standing(entries: Sequence[Entry]) -> list[Entry]:
    """Entries that count: without those that a later entry voids, in order of number.

    Voiding a void brings the first entry back.
    """
    void: set[int] = set()
    for entry in sorted(entries, key=lambda e: -e.number):
        if entry.voids is not None and entry.number not in void:
            void.add(entry.voids)
    return [e for e in sorted(entries, key=lambda e: e.number) if e.number not in void]
