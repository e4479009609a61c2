"""A talking layer small enough to be seen through, so that a test is about the door alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from planner.entries import Entry, Kind
from scheduler.turn import Button, Due, Inbound, Message, NewBatch, Outcome, Ring, Snapshot


class Parrot:
    """Says what it was told, and obeys: ``batch``, ``ring N`` (minutes), ``metric``, ``forget``, ``break``."""

    def answer(self, snapshot: Snapshot, inbound: Inbound) -> Outcome:
        """Say it back; the facts tell what was seen of the chat."""
        word, _, rest = inbound.text.partition(" ")
        if word == "break":
            raise RuntimeError("told to break")
        if word == "forget":
            return replace(self._back(snapshot, inbound), forget=True)
        if word == "metric":
            return replace(self._back(snapshot, inbound), chat=replace(snapshot.chat, units="metric"))
        if word == "ring":
            ring = Ring(key="r", due=snapshot.now + timedelta(minutes=int(rest)), what="look", stage="soak")
            return replace(self._back(snapshot, inbound), rings={None: (ring,)})
        if word == "batch":
            number = len(snapshot.batches) + 1
            entry = Entry(1, Kind.DESCRIBE, snapshot.now, snapshot.now, inbound.sender, {}, inbound.text)
            return replace(
                self._back(snapshot, inbound),
                opened=(NewBatch(number, rest or "fish"),),
                entries={number: (entry,)},
            )
        return self._back(snapshot, inbound)

    def ring(self, snapshot: Snapshot, due: Due) -> Outcome:
        """Ring."""
        fact = {
            "kind": "reminder",
            "what": due.ring.what,
            "due": due.ring.due.isoformat(),
            "late_s": due.late_s,
        }
        return Outcome(messages=(Message(f"time to {due.ring.what}", facts=(fact,)),))

    @staticmethod
    def _back(snapshot: Snapshot, inbound: Inbound) -> Outcome:
        said = f"pressed {inbound.press.label}" if inbound.press else inbound.text
        if inbound.press is not None and inbound.press.unknown:
            said = "no such button"
        chat = snapshot.chat
        fact = {"kind": "answer", "zone": chat.zone, "units": chat.units, "quiet": list(chat.quiet)}
        return Outcome(
            messages=(Message(said, (Button("Done", {"x": 1}), Button("Later", {"x": 2})), (fact,)),),
            heard={"intent": "ask", "slots": {"said": said}},
        )
