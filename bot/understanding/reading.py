"""One measured thing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from bot.understanding.model import Doubt


@dataclass
class Reading:
    """One measured thing: its slots, where it stands, and what could not be settled."""

    slots: dict[str, Any]
    at: int
    slot: str
    doubt: Doubt | None = None
