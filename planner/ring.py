"""A reminder that a plan wants."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any


@dataclass(frozen=True)
class Ring:
    """A reminder that the plan wants.

    ``key`` names it within its batch: wanting the same key again moves it, never adds a second.
    ``useful_until`` is when it is dropped if it could not be rung before. ``protects`` marks one
    that protects the food: it ignores quiet hours and is sent first.
    """

    key: str
    due: datetime
    what: str
    stage: str
    lot: str | None = None
    protects: bool = False
    useful_until: datetime | None = None
    data: Mapping[str, Any] = field(default_factory=dict)
