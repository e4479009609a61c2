"""Every word that the documents say of themselves, in one place."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from bot.pictures.habits import Habit
from bot.say.answer import CALL
from bot.say.cautions import at_risk as _at_risk
from bot.say.format import Pen
from bot.say.words import of_lot
from planner.entries import Kind

_NO_MOMENT = datetime(1970, 1, 1, tzinfo=UTC)  # the line on people at risk names no time

LABEL_FOOD_CODES = "Local food codes and licensed practice come first."
MISSING_LETTERS = "▯ stands for letters that this document's font lacks. The CSV and JSON files have them."

RECORD = "Batch record"
SUMMARY = "In short"
GATES = "Safety gates"
OVERRIDDEN = "Gone on against the advice"
ENTRIES = "Every entry"
PICTURES = "Pictures"
PHOTOS = "Photos"
NO_ENTRIES = "Nothing was recorded."
NO_GATES = "No gate was reckoned for this batch."
NO_OVERRIDES = "Nothing: no step was taken against the advice."
GATE_HEAD = ("gate", "state", "how, and by which rule")
ENTRY_HEAD = ("no.", "happened / told", "who", "what")
OPENED, SHUT = "opened", "NOT opened"
UNREADABLE = "This picture could not be opened."
SIGNATURE = ("Checked by", "Signature", "Date")

KINDS: dict[Kind, str] = {
    Kind.DESCRIBE: "description",
    Kind.READING: "reading",
    Kind.EVENT: "event",
    Kind.CHOICE: "choice",
    Kind.VOID: "correction",
    Kind.RING: "ring",
    Kind.ANSWERED: "ring answered",
    Kind.VERDICT: "verdict",
    Kind.MESSAGE: "message",
    Kind.PLAN: "plan",
    Kind.LESSON: "what it taught",
}

CONTAINS = "Contains"
INGREDIENTS = "Ingredients:"
MADE = "Made"
KEEP_BY = "Keep by"
NO_KEEP_BY = "No keep-by date can be given."
BATCH = "Batch"
NAMELESS_EVENT = "Fish"


def at_risk(habit: Habit) -> str:
    """The line for people who must be careful."""
    return _at_risk(Pen(_NO_MOMENT, habit.zone, habit.units))


def of_batch(batch: str, species: str, printed: str) -> str:
    """The line below the record's title."""
    return ", ".join(part for part in (f"{BATCH} {batch}", species, f"printed {printed}") if part)


def called(data: Mapping[str, Any]) -> str:
    """What a reminder was for, and whether it had been rung before."""
    what = CALL.get(str(data.get("what")), str(data.get("what"))) + of_lot(data.get("lot"))
    before = int(data.get("again") or 0)
    return f"{what}, called again ({before + 1} times so far)" if before else what


def told(moment: str) -> str:
    """When an entry was told."""
    return f"told {moment}"


def voided_by(number: int) -> str:
    """Which entry made this one void."""
    return f"void by no. {number}"


def voids(number: int) -> str:
    """Which entry this one makes void."""
    return f"makes no. {number} void"


def by_entries(numbers: tuple[int, ...]) -> str:
    """The entries that prove something."""
    return f"entries {', '.join(map(str, numbers))}" if numbers else "no entry shows it"


def with_entry(caption: str, number: int | None) -> str:
    """A caption with the entry that the picture belongs to."""
    return caption if number is None else f"{caption} (no. {number})"


def page_foot(batch: str, page: int) -> str:
    """The foot of each page."""
    return f"{BATCH} {batch}, page {page}"


def cut_note(part: str, had: int, kept: int, size: str) -> str:
    """What a label could not hold."""
    return (
        f"The {part} text has {had:,} characters and only the first {kept:,} fit on a label of {size}: "
        "shorten it, or choose a larger label."
    )


def too_small(size: str) -> str:
    """A label that cannot hold what must stand on it."""
    return f"A label of {size} cannot hold the cautions that must stand on it: choose a larger one."


def missing_letters_note() -> str:
    """Some letters of the label have no glyph."""
    return "Some letters have no place in the label's font and are shown as ▯."
