"""A stand-in for the conversation: says back what it heard, with buttons, cards, files and reminders."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import timedelta

from scheduler.turn import Button, Due, Inbound, Message, Outcome, Ring, Snapshot

BUTTONS = (Button("Done", {"do": "done"}), Button("Why?", {"do": "why"}))


@dataclass
class Parrot:
    """Answers by the first word of a text. ``seen`` keeps what it was asked, ``files`` what it sends."""

    seen: list[Inbound] = field(default_factory=list)
    files: tuple[str, ...] = ()
    before: Callable[[Inbound], None] = lambda _: None

    def answer(self, snapshot: Snapshot, inbound: Inbound) -> Outcome:
        self.before(inbound)
        self.seen.append(inbound)
        if inbound.press is not None:
            return Outcome(messages=(Message(_of_press(inbound)),))
        if inbound.photo is not None:
            return Outcome(messages=(Message(f"kept {inbound.text}"),))
        word = inbound.text.partition(" ")[0]
        says = {"card": self._card, "files": self._files, "remind": self._remind, "long": self._long}
        says["forget"] = lambda *_: Outcome(forget=True, messages=(Message("forgotten"),))
        return says.get(word, self._heard)(snapshot, inbound.text)

    def ring(self, snapshot: Snapshot, due: Due) -> Outcome:
        return Outcome(messages=(Message(f"ring {due.ring.what}", buttons=BUTTONS, urgent=True),))

    def _heard(self, snapshot: Snapshot, text: str) -> Outcome:
        count = int(snapshot.chat.memory.get("count", 0)) + 1
        chat = replace(snapshot.chat, memory={"count": count})
        return Outcome(chat=chat, messages=(Message(f"{count}: heard {text}", buttons=BUTTONS),))

    def _card(self, _: Snapshot, text: str) -> Outcome:
        card = Message(text.removeprefix("card "), buttons=BUTTONS, pin="batch 1")
        return Outcome(messages=(card,))

    def _files(self, _: Snapshot, text: str) -> Outcome:
        return Outcome(messages=(Message(text.removeprefix("files "), BUTTONS, files=self.files),))

    def _remind(self, snapshot: Snapshot, text: str) -> Outcome:
        _, seconds, what = text.split(" ", 2)
        ring = Ring("kettle", snapshot.now + timedelta(seconds=float(seconds)), what, "smoke")
        return Outcome(rings={None: [ring]}, messages=(Message("will do"),))

    def _long(self, _: Snapshot, __: str) -> Outcome:
        lines = [f"{number}: {'x' * 90}" for number in range(100)]
        return Outcome(messages=(Message("\n".join(lines), BUTTONS),))


def _of_press(inbound: Inbound) -> str:
    press = inbound.press
    assert press is not None
    if press.unknown:
        return "no such button"
    return f"{'taken already' if press.taken else 'pressed'} {press.label} {press.means}"
