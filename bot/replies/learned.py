"""What was learned of a rig: told on request, and taken out again; and how batches differ."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from zoneinfo import ZoneInfo

from bot import facts
from bot.known import known_for
from bot.replies.part import Part, pen_of
from bot.say import rig as words
from bot.understanding.likeness import MONTHS
from bot.work import Work
from planner.rig.comparing import MOST, differences
from planner.rig.experience import experience, rigs_of
from planner.rig.finished import Finished, in_order
from planner.rig.making_of import made_in
from scheduler.turn import BatchFile

Slots = Mapping[str, Any]


def know(work: Work, slots: Slots) -> Part:
    """What is known of the rig that was named, else of the one in use."""
    finished = in_order(work.finished.values())
    file = work.focus
    if "rig" in slots or file is None:
        named = slots.get("rig") or (rigs_of(finished)[-1] if finished else None)
        known = experience(finished, named)
    else:
        known = known_for(file, work.finished)
        if file.number in work.finished:
            known = experience(finished, rigs_of(finished)[-1])
    count = sum(1 for rig in rigs_of(finished, known.rig) if rig == known.rig)
    text = words.know_words(known, count, pen_of(work))
    return Part(text, (facts.answer("rig", words.know_values(known, count)),))


def compare(work: Work, file: BatchFile | None) -> Part:
    """The differences that matter between this batch and the one before it, of the same fish where there is one."""
    pen = pen_of(work)
    if file is None:
        return Part(words.NO_OTHER)
    now = made_in(work.plan(file))
    own = work.finished.get(file.number)
    before = [
        f
        for f in in_order(work.finished.values())
        if f.batch != file.number and (own is None or f.packed_at < own.packed_at)
    ]
    alike = [f for f in before if f.made.get("species") == now["species"]] or before
    if not alike:
        return Part(words.NO_OTHER)
    then = alike[-1]
    found = differences(now, then.made)
    told = [{"what": d.key, "now": d.now, "then": d.then} for d in found[:MOST]]
    values = {"batch": file.number, "with": then.batch, "differences": told}
    return Part(words.differ_words(found, then, pen), (facts.answer("compare", values),))


def forget(work: Work, slots: Slots, text: str) -> Part:
    """Take what a batch taught out again: one entry that voids its lesson."""
    pen = pen_of(work)
    finished = find(work, str(slots["forget"]))
    if finished is None:
        return Part(words.NOT_FOUND if work.finished else words.NOTHING_LEARNED)
    work.unlearn(finished.batch, text, forget=True)
    entry = work.added[finished.batch][-1]
    said = facts.logged(finished.batch, entry.number, work.now, pen)
    return Part(words.forgotten_words(finished, len(work.finished), pen), (said,))


def find(work: Work, which: str) -> Finished | None:
    """The finished batch that is meant: "that" one, the "last", one of a month ("sep") or of a name."""
    finished = in_order(work.finished.values())
    if which == "that" and work.focus is not None and work.focus.number in work.finished:
        return work.finished[work.focus.number]
    if which in MONTHS:
        month = MONTHS.index(which) + 1
        finished = tuple(f for f in finished if f.packed_at.astimezone(ZoneInfo(work.chat.zone)).month == month)
    elif which not in ("that", "last"):
        finished = tuple(f for f in finished if which in f.name.casefold())
    return finished[-1] if finished else None
