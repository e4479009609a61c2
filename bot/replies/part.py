"""One part of an answer: words, facts, buttons. A message is made of one or several."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from bot.say.format import Pen
from bot.work import Work
from scheduler.turn import Button, Message

Means = Mapping[str, Any]
Labelled = tuple[str, Means]

#: Buttons that fit under a message on a phone.
MOST_BUTTONS = 4


@dataclass(frozen=True)
class Part:
    """Words with their facts; ``buttons`` are the likely next words of this part."""

    text: str
    facts: tuple[Mapping[str, Any], ...] = ()
    buttons: tuple[Labelled, ...] = ()
    urgent: bool = False
    files: tuple[str, ...] = ()
    #: The event that these words are about: (batch, its data, when).
    about: tuple[int, Means, datetime] | None = None
    is_plan: bool = False


def pen_of(work: Work) -> Pen:
    """The pen for this chat, now."""
    return Pen(work.now, work.chat.zone, work.chat.units)


def message_of(parts: Sequence[Part]) -> Message | None:
    """One message from all parts; None where there is nothing to say."""
    said = [p for p in parts if p.text]
    if not said:
        return None
    buttons = [b for p in reversed(said) for b in p.buttons]
    unique: dict[str, Means] = {}
    for label, means in buttons:
        unique.setdefault(label, means)
    return Message(
        text="\n\n".join(p.text for p in said),
        buttons=tuple(Button(label, means) for label, means in unique.items())[:MOST_BUTTONS],
        facts=tuple(f for p in said for f in p.facts),
        files=tuple(f for p in said for f in p.files),
        urgent=any(p.urgent for p in said),
    )
