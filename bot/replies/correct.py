"""Corrections: an old entry is voided, a new one takes its place, plan and reminders follow."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from bot import facts
from bot.replies.describe import describe, plan_part
from bot.replies.general import REFUSALS
from bot.replies.part import Part, pen_of
from bot.replies.reading import rejudge
from bot.say.answer import log_lines
from bot.say.refuse import refusal_words
from bot.work import BELL, Work
from planner.batch import EXCLUSIVE
from planner.entries import Entry, Kind, standing
from planner.judge import KEYS
from scheduler.turn import BatchFile

Slots = Mapping[str, Any]

#: What a person can take back.
_OWN = frozenset({Kind.DESCRIBE, Kind.READING, Kind.EVENT, Kind.CHOICE})


def correct(work: Work, slots: Slots, old: Slots | None, words: str, *, batch: BatchFile | None = None) -> Part:
    """Undo the last thing said, or put another value in place of one that was said."""
    file = batch or work.focus
    if file is None:
        if slots:
            return describe(work, slots, words)
        return Part("There is nothing to take back.")
    if not slots:
        return _undo(work, file, words, old or {})
    if "swapped" in slots:
        return _swapped(work, file, words)
    target = _target(work, file, slots, old)
    if target is None:
        if set(slots) & set(KEYS) or "at" in slots:
            return Part("I can't find what to correct. Say it whole, like \"core 141 F at 3:10\".")
        return describe(work, slots, words, batch=file)
    return _replace(work, file, target, slots, words)


def _own(work: Work, file: BatchFile) -> list[Entry]:
    return [e for e in standing(work.entries(file)) if e.kind in _OWN and e.who != BELL]


def _undo(work: Work, file: BatchFile, words: str, old: Slots) -> Part:
    """Take back what was said last, or the newest that said ``old``."""
    own = [e for e in _own(work, file) if all(e.data.get(k) == v for k, v in old.items())]
    if not own:
        return Part("There is nothing to take back.")
    last = own[-1]
    pen = pen_of(work)
    implied = [e for e in own if e.told_at == last.told_at and e.number < last.number and e.data.get("implied")]
    for entry in (last, *implied):
        work.add(file, Kind.VOID, words=words, voids=entry.number)
    line = log_lines([last], pen)[0]
    said: tuple[facts.Fact, ...] = (facts.logged(file.number, len(work.entries(file)), work.now, pen),)
    if not _own(work, file):
        work.close(work.files[file.number])
        return Part(f"Taken back: {line}\nNothing is left of this batch, so it is closed.", said)
    plan = work.plan(file)
    said = (*said, facts.plan(plan, file.number, pen))
    return Part(f"Taken back: {line}", said, (("What's next?", {"say": "what's next"}),))


def _target(work: Work, file: BatchFile, slots: Slots, old: Slots | None) -> Entry | None:
    """The newest entry that says what is corrected; with ``old`` one that said just that."""
    own = _own(work, file)
    keys = set(slots) - {"at", "lot"} or set(slots)
    if keys == {"at"}:
        return next((e for e in reversed(own) if e.kind in (Kind.READING, Kind.EVENT)), None)
    fits = [
        e
        for e in own
        if keys & e.data.keys() and not (old and any(not _near(e.data.get(k), v) for k, v in old.items() if k != "at"))
    ]
    together = [e for e in fits if e.told_at == fits[-1].told_at]  # of two lots read at once, the one that is named
    named = [e for e in together if "lot" in slots and e.data.get("lot") == slots["lot"]]
    return next(iter((named or fits)[::-1]), None)


def _swapped(work: Work, file: BatchFile, words: str) -> Part:
    """Put the last two readings the other way round: each takes the other's lot."""
    readings = [e for e in _own(work, file) if e.kind is Kind.READING and "core_c" in e.data and e.data.get("lot")]
    pair = [e for e in readings if e.told_at == readings[-1].told_at] if readings else []
    if len(pair) != 2 or pair[0].data["lot"] == pair[1].data["lot"]:
        return Part('I can\'t find two readings to swap. Say them whole, like "small 150, large 135".')
    first, second = pair
    _replace(work, file, first, {"lot": second.data["lot"]}, words)
    return _replace(work, file, second, {"lot": first.data["lot"]}, words)


def _near(a: Any, b: Any) -> bool:
    if isinstance(a, int | float) and isinstance(b, int | float):
        return abs(a - b) < 0.6
    return bool(a == b)


def _replace(work: Work, file: BatchFile, target: Entry, slots: Slots, words: str) -> Part:
    at = datetime.fromisoformat(slots["at"]) if "at" in slots else target.happened_at
    new = {**_kept(target.data, slots), **{k: v for k, v in slots.items() if k != "at"}}
    before = len(work.entries(file))
    work.add(file, Kind.VOID, {"for": sorted(slots)}, voids=target.number)
    entry = work.add(file, target.kind, new, at=min(at, work.now), words=words)
    try:
        work.plan(file)
    except REFUSALS as problem:
        work.take_back(file, before)
        return Part(refusal_words(problem, pen_of(work)))
    if entry.kind is Kind.READING:
        part = rejudge(work, file, entry)
        return Part(f"Corrected. {part.text}", part.facts, part.buttons, part.urgent)
    return plan_part(work, file, lead="Corrected.")


def _kept(data: Slots, slots: Slots) -> dict[str, Any]:
    gone = {k for group in EXCLUSIVE if group & slots.keys() for k in group}
    return {k: v for k, v in data.items() if k not in gone}
