"""How it was: noted with its batch, with what that does to the next one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from bot import facts
from bot.replies.part import Part, pen_of
from bot.say import rig as words
from bot.work import Work
from planner.entries import Kind
from planner.rig.taste import taste_after
from planner.stages import Stage
from scheduler.turn import BatchFile

#: A description says it in one word of the taste; what that is of a meal.
_PLAIN = {"salty": ("bit_salty",), "mild": ("bit_bland",), "medium": ("just_right",)}


def take_taste(work: Work, slots: Mapping[str, Any], text: str, *, batch: BatchFile | None = None) -> Part:
    """Record what was said of a meal with the batch that it was made of."""
    file = batch or _eaten(work)
    if file is None:
        return Part("I have no finished batch to put that to.")
    said = _said(slots["tasted"])
    entry = work.add(file, Kind.EVENT, {"what": "tasted", "tasted": list(said)}, words=text)
    work.remember(rung=None)
    work.learn(file)
    taste = taste_after([work.finished[file.number]]) if file.number in work.finished else None
    logged = facts.logged(file.number, entry.number, work.now, pen_of(work))
    values: dict[str, Any] = {"tasted": list(said)}
    if taste is not None:
        values |= {"wps_pct": taste.wps_pct, "chamber_c": taste.chamber_c}
    text = words.tasted_words(said, taste, pen_of(work))
    return Part(text, (facts.answer("tasted", values), logged))


def _said(told: str | Sequence[str]) -> tuple[str, ...]:
    return _PLAIN.get(told, ()) if isinstance(told, str) else tuple(w for w in told if w in words.TASTED)


def _eaten(work: Work) -> BatchFile | None:
    """The batch that was just asked about, else the newest that was packed, else the one in focus."""
    rung = work.chat.memory.get("rung") or {}
    if rung.get("what") == "taste" and rung.get("batch") in work.files:
        return work.files[rung["batch"]]
    packed = [f for f in work.files.values() if work.batch(f).lot_done(Stage.PACK)]
    return packed[-1] if packed else work.focus
