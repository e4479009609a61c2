"""What is kept of a finished batch: one entry of its journal, small and the same for the same journal.

It is written when the batch is packed, again when the journal changes, and taken out by one entry that
voids it. It can be made afresh from the journal at any time (:func:`planner.rig.closing.close`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from planner.entries import Entry, Kind
from planner.rig.belief import Lesson


@dataclass(frozen=True)
class Finished:
    """One finished batch.

    ``taught`` by group (:mod:`planner.rig.groups`), ``made`` what was done in figures (SI, see
    :mod:`planner.rig.comparing`), ``recipe`` the slots that make it again, ``tasted`` the words afterwards.
    """

    batch: int
    name: str
    packed_at: datetime
    rig: str | None = None
    taught: Mapping[str, Lesson] = field(default_factory=dict)
    made: Mapping[str, Any] = field(default_factory=dict)
    recipe: Mapping[str, Any] = field(default_factory=dict)
    tasted: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """The data of the entry."""
        return {
            "packed_at": self.packed_at.isoformat(),
            "rig": self.rig,
            "taught": {group: lesson.to_json() for group, lesson in self.taught.items()},
            "made": dict(self.made),
            "recipe": dict(self.recipe),
            "tasted": list(self.tasted),
        }

    @classmethod
    def from_entry(cls, batch: int, name: str, entry: Entry) -> Finished:
        """As read from the journal."""
        data = entry.data
        return cls(
            batch=batch,
            name=name,
            packed_at=datetime.fromisoformat(data["packed_at"]),
            rig=data["rig"],
            taught={group: Lesson.from_json(kept) for group, kept in data["taught"].items()},
            made=data["made"],
            recipe=data["recipe"],
            tasted=tuple(data["tasted"]),
        )


def lesson_in(entries: Iterable[Entry]) -> Entry | None:
    """The lesson that stands in a journal: the newest, unless it was voided; no older one takes its place."""
    found = list(entries)
    newest = max((e for e in found if e.kind is Kind.LESSON), key=lambda e: e.number, default=None)
    if newest is None or any(e.voids == newest.number and e.number > newest.number for e in found):
        return None
    return newest


def was_forgotten(entries: Iterable[Entry]) -> bool:
    """True where a person had the batch forgotten: it is not learned from again."""
    return any(e.kind is Kind.VOID and e.data.get("forget") for e in entries)


def in_order(finished: Iterable[Finished]) -> tuple[Finished, ...]:
    """Oldest first."""
    return tuple(sorted(finished, key=lambda f: (f.packed_at, f.batch)))
