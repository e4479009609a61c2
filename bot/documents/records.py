"""What the documents show, beside the journal's own entries: frozen values, instants aware UTC."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from bot.pictures.habits import Habit
from planner.entries import Entry

PageSize = Literal["A4", "Letter"]


@dataclass(frozen=True)
class Gate:
    """A safety gate: whether recorded facts opened it, by which entries, and by which rule."""

    name: str
    opened: bool
    how: str
    source: str
    entries: tuple[int, ...] = ()


@dataclass(frozen=True)
class Override:
    """What a person did against the advice; ``entry`` is where the journal says so."""

    says: str
    entry: int


@dataclass(frozen=True)
class RecordImage:
    """A picture or photo (JPEG or PNG) with its caption; ``entry`` is the entry it came with."""

    encoded: bytes
    caption: str
    entry: int | None = None


@dataclass(frozen=True)
class BatchRecord:
    """Everything that the record of one batch shows.

    ``summary`` are pairs of a name and a value, worded. ``entries`` are all entries, the void ones
    too: the record shows them struck out.
    """

    batch: str
    name: str
    species: str
    habit: Habit
    printed_at: datetime
    entries: tuple[Entry, ...] = ()
    summary: tuple[tuple[str, str], ...] = ()
    gates: tuple[Gate, ...] = ()
    overrides: tuple[Override, ...] = ()
    pictures: tuple[RecordImage, ...] = ()
    photos: tuple[RecordImage, ...] = ()


@dataclass(frozen=True)
class Ingredient:
    """One ingredient; ``allergens`` are those it brings, e.g. ``("fish",)``."""

    name: str
    allergens: tuple[str, ...] = ()


@dataclass(frozen=True)
class Label:
    """What stands on a pack.

    ``keep_by`` None means that no date may be offered. ``cautions`` (gates not opened, overrides) are
    never cut.
    """

    habit: Habit
    batch: str
    title: str
    species: str
    ingredients: tuple[Ingredient, ...]
    made_on: date
    keep_by: date | None
    keep_how: str
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Made:
    """A finished document, and what its maker should tell the person (what did not fit, and why)."""

    data: bytes
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class PlanEvent:
    """A stage or a ring of the plan as a calendar shows it.

    ``key`` names it for good within its batch (e.g. ``smoke/small``): the same key in a later calendar
    moves the event. ``end`` equal to ``start`` is a moment. ``alarms_min`` are minutes before the start.
    """

    key: str
    title: str
    start: datetime
    end: datetime
    says: str = ""
    alarms_min: tuple[int, ...] = ()
