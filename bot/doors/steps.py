"""A written conversation, step by step: what people send, and time that passes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class Habits:
    """Settings of one chat, or of every chat where ``chat`` is None; None leaves one as it is."""

    chat: str | None = None
    zone: str | None = None
    units: str | None = None
    quiet: tuple[str, str] | None = None


@dataclass(frozen=True)
class Sent:
    """Something that came in: a text, the label of a pressed button, or a photo."""

    at: datetime
    chat: str
    sender: str
    text: str = ""
    press: str | None = None
    photo: str | None = None


@dataclass(frozen=True)
class Tick:
    """Time passes until ``at``; what falls due on the way is delivered."""

    at: datetime


Step = Habits | Sent | Tick
