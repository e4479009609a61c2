"""What came out of a conversation, in the form that every door prints or compares."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any


@dataclass(frozen=True)
class Said:
    """One outgoing message, as it was delivered."""

    at: datetime
    chat: str
    text: str
    buttons: tuple[str, ...] = ()
    facts: tuple[Mapping[str, Any], ...] = ()
    files: tuple[str, ...] = ()
