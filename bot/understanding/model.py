"""What understanding is given and what it returns, as values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

Slots = Mapping[str, Any]


@dataclass(frozen=True)
class Rung:
    """What the newest reminder that nobody has answered asked for.

    ``what`` is ``core``, ``surface``, ``pull``, ``racks``, ``fuel``, ``water``, ``fridge``, ``chamber`` …
    """

    what: str
    stage: str | None = None
    lot: str | None = None


@dataclass(frozen=True)
class Heard:
    """One thing that a message says.

    ``slots`` holds SI values under the contract's keys. ``topic`` says what an ``ask`` is about,
    ``batch`` which batch is meant where one was named, ``old`` the slots that a correction replaces.
    """

    intent: str
    slots: Slots = field(default_factory=dict)
    topic: str | None = None
    batch: str | None = None
    old: Slots | None = None


@dataclass(frozen=True)
class Doubt:
    """A value that was said but could mean several things, or cannot be true.

    ``options`` are (label, slots) pairs to choose from; none where nothing sensible was left.
    """

    slot: str
    options: tuple[tuple[str, Slots], ...]
    reason: str


@dataclass(frozen=True)
class Piece:
    """Which words were read, by which rule, as what."""

    words: str
    rule: str
    read_as: str


@dataclass(frozen=True)
class Understood:
    """All that one message says; ``heard[0]`` is the main thing. ``measures`` is the habit its units are of.

    ``scales`` holds ``F`` and ``C`` as its temperatures show them.
    """

    heard: tuple[Heard, ...]
    doubts: tuple[Doubt, ...] = ()
    pieces: tuple[Piece, ...] = ()
    measures: str | None = None
    scales: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Context:
    """What is known when a message comes in.

    ``now`` and the other instants are aware; ``zone`` is an IANA name. ``temperature_scales`` holds ``F`` and ``C``
    as this chat has used them in readings. ``stay_from`` is the soonest that "can it stay till 9" can mean.
    ``last`` is what the same person said before. ``people`` are the names of those who have spoken, ``on_duty``
    that of the one who has taken over.
    """

    now: datetime
    zone: str = "UTC"
    units: str | None = None
    temperature_scales: frozenset[str] = frozenset()
    stage: str | None = None
    stage_since: datetime | None = None
    stay_from: datetime | None = None
    batch_since: datetime | None = None
    lots: tuple[str, ...] = ()
    asked: str | None = None
    asked_options: tuple[tuple[str, Slots], ...] = ()
    rung: Rung | None = None
    last: Heard | None = None
    batches: tuple[str, ...] = ()
    people: tuple[str, ...] = ()
    on_duty: str | None = None
