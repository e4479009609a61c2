"""The journal's entries as rows of the record: both times, who, and what."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from bot.documents import words
from bot.documents.sheet_style import NAME_LETTERS, paragraph, paragraphs, rows_of, styles
from bot.documents.slots import instant, slot_words
from bot.pictures.habits import Habit, clock, local
from planner.entries import Entry, Kind, standing


def entry_rows(entries: Sequence[Entry], habit: Habit) -> list[list[Any]]:
    """One row an entry, more where it is long, in the order given.

    Void ones are struck out and say which entry made them void.
    """
    counting = {entry.number for entry in standing(entries)}
    voided_by = {e.voids: e.number for e in entries if e.voids is not None and e.number in counting}
    rows: list[list[Any]] = []
    for entry in entries:
        rows += _rows(entry, habit, None if entry.number in counting else voided_by.get(entry.number))
    return rows


def _rows(entry: Entry, habit: Habit, void_by: int | None) -> list[list[Any]]:
    lead = [paragraph(str(entry.number)), _times(entry, habit), paragraph(entry.who[:NAME_LETTERS])]
    return rows_of(lead, _what(entry, habit, void_by))


def _times(entry: Entry, habit: Habit) -> list[Any]:
    """When it happened, and when it was told: the time alone where the day is the same."""
    same_day = local(entry.happened_at, habit).date() == local(entry.told_at, habit).date()
    told = clock(entry.told_at, habit) if same_day else instant(entry.told_at, habit)
    return [paragraph(instant(entry.happened_at, habit)), paragraph(words.told(told), styles().quiet)]


def _what(entry: Entry, habit: Habit, void_by: int | None) -> list[Any]:
    style = styles().warned if entry.kind is Kind.CHOICE else styles().strong
    mark = "{}" if void_by is None else "<strike>{}</strike>"
    what = [paragraph(words.KINDS[entry.kind], style)]
    if entry.words:
        what += paragraphs(f"“{entry.words}”", mark=mark)
    data = words.called(entry.data) if entry.kind is Kind.RING else ", ".join(slot_words(entry.data, habit))
    if data:
        what += paragraphs(data, mark=mark)
    for reason in _reasons(entry):
        what += paragraphs(_reason(reason), styles().quiet)
    if entry.voids is not None:
        what.append(paragraph(words.voids(entry.voids), styles().quiet))
    if void_by is not None:
        what.append(paragraph(words.voided_by(void_by), styles().quiet))
    return what


def _reasons(entry: Entry) -> Iterable[dict[str, Any]]:
    found = entry.data.get("reasons", ())
    return [reason for reason in found if isinstance(reason, dict)] if isinstance(found, list | tuple) else []


def _reason(reason: dict[str, Any]) -> str:
    """One rule of a verdict: its key, what it says, its source."""
    parts = [str(reason[key]) for key in ("rule", "says", "source") if reason.get(key)]
    return "• " + ": ".join(parts[:2]) + (f" ({parts[2]})" if len(parts) > 2 else "")
