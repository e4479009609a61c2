"""Reminders of a chat that hang on no batch: what somebody asked for, the evening note, the end of a watch."""

from __future__ import annotations

from bot.work import Work
from planner.ring import Ring


def loose(work: Work) -> list[Ring]:
    """Those that are still to come, with what this turn changed."""
    return list(work.snapshot.loose if work.loose is None else work.loose)


def put(work: Work, ring: Ring) -> None:
    """Want one more; one of the same key takes the place of the old one."""
    others = [r for r in loose(work) if r.key != ring.key]
    work.loose = [*others, ring]


def drop(work: Work, key: str) -> None:
    """Want one no more."""
    if any(ring.key == key for ring in loose(work)):
        work.loose = [ring for ring in loose(work) if ring.key != key]
