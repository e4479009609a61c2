"""A conversation without a database: outcomes are applied to a snapshot in memory."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import Any

from bot.conversation import Conversation
from planner.rig.finished import lesson_in
from scheduler.turn import BatchFile, Chat, Due, Inbound, Message, Outcome, Press, Ring, Snapshot, Taught

START = datetime(2026, 9, 12, 0, 40, tzinfo=UTC)  # Friday 17:40 in Vancouver


@dataclass
class Talk:
    """One chat; ``now`` moves only by :meth:`wait`. The evening note is off unless a talk is about it."""

    zone: str = "America/Vancouver"
    units: str | None = "us"
    now: datetime = START
    conversation: Conversation = field(default_factory=Conversation)
    evenings: bool = False

    def __post_init__(self) -> None:
        memory = {} if self.evenings else {"evening_note": False}
        self.chat = Chat("c1", zone=self.zone, units=self.units, memory=memory)
        self.batches: dict[int, BatchFile] = {}
        self.rings: dict[int | None, tuple[Ring, ...]] = {}
        self.said: list[Message] = []
        self.outcome = Outcome()

    def snapshot(self) -> Snapshot:
        """What the store would hand over now."""
        recent = tuple(reversed(self.said[-5:]))
        found = ((f, lesson_in(f.entries)) for f in self.batches.values())
        taught = tuple(Taught(f.number, f.name, lesson, len(f.entries)) for f, lesson in found if lesson is not None)
        loose = self.rings.get(None, ())
        return Snapshot(self.chat, tuple(self.batches.values()), self.now, recent, loose, taught=taught)

    def wait(self, **length: float) -> Talk:
        """Let time pass; reminders are not rung."""
        self.now += timedelta(**length)
        return self

    def say(self, text: str, who: str = "ida") -> Message | None:
        """Send a message; the answer, or None."""
        inbound = Inbound(f"k{len(self.said)}", "c1", who, self.now, text)
        return self._apply(self.conversation.answer(self.snapshot(), inbound))

    def press(self, label: str, who: str = "ida") -> Message | None:
        """Press the newest button with this label."""
        means: Mapping[str, Any] = next(
            b.means for m in reversed(self.said) for b in m.buttons if b.label == label
        )
        inbound = Inbound("p", "c1", who, self.now, press=Press(label, means, 1))
        return self._apply(self.conversation.answer(self.snapshot(), inbound))

    def ring(self) -> Message | None:
        """Move to the next reminder and ring it."""
        due = [(r.due, n, r) for n, rings in self.rings.items() for r in rings]
        if not due:
            return None
        at, number, ring = min(due, key=lambda d: (d[0], str(d[1]), d[2].key))
        self.now = max(self.now, at)
        return self._apply(self.conversation.ring(self.snapshot(), Due("c1", number, ring, 0.0, 0)))

    def facts(self, kind: str) -> list[Mapping[str, Any]]:
        """All facts of a kind that were said so far."""
        return [f for m in self.said for f in m.facts if f["kind"] == kind]

    def _apply(self, outcome: Outcome) -> Message | None:
        self.outcome = outcome
        self.chat = outcome.chat or self.chat
        for new in outcome.opened:
            self.batches[new.number] = BatchFile(new.number, new.name, self.now, None, ())
        for number, entries in outcome.entries.items():
            file = self.batches[number]
            assert [e.number for e in entries] == list(
                range(len(file.entries) + 1, len(file.entries) + len(entries) + 1)
            )
            self.batches[number] = replace(file, entries=(*file.entries, *entries))
        for number in outcome.closed:
            self.batches[number] = replace(self.batches[number], closed_at=self.now)
        for number, name in outcome.renamed.items():
            self.batches[number] = replace(self.batches[number], name=name)
        self.rings.update({n: tuple(r) for n, r in outcome.rings.items()})
        self.said += outcome.messages
        return outcome.messages[-1] if outcome.messages else None
