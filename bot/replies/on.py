"""Where somebody asks what's on: every batch that runs, as on its card."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bot import facts
from bot.crew import duty_of
from bot.replies.loose import loose
from bot.replies.part import Part, pen_of
from bot.say.answer import one_line
from bot.say.crew import on_till
from bot.say.ring import asked_line
from bot.say.standing import nothing_on, standing_lines
from bot.work import Work
from planner.rings import wanted
from planner.stages import Stage
from scheduler.turn import BatchFile

#: With more batches than this each gets one line: it has to fit a phone.
_IN_FULL = 3


def whats_on(work: Work, slots: Mapping[str, Any]) -> Part:
    """Stage, next thing and when of each batch; those that are packed last, and no longer than they keep."""
    files = sorted(on(work), key=lambda file: work.plan(file).batch.packed)
    said = facts.answer("status", {"running": len(files)})
    asked = [asked_line(r, pen_of(work)) for r in loose(work) if r.what == "remind"]
    if not files:
        return Part("\n".join([nothing_on(), *asked]), (said,))
    many = len(files) > _IN_FULL
    many = len(files) > _IN_FULL
    text = "\n".join(_line(work, f) for f in files) if many else "\n\n".join(_full(work, f) for f in files)
    duty = duty_of(work.chat.memory, work.now)
    if duty is not None:
        text += f"\n{on_till(duty, pen_of(work).clock(duty.until))}"
    text = "\n".join([text, *asked])
    return Part(text, (said,), (("What's next?", {"say": "what's next"}),) if len(files) == 1 else ())


def on(work: Work) -> list[BatchFile]:
    """The batches that run, without those whose fish has had its time."""
    keeps = {file.number: work.plan(file).stage(Stage.KEEP) for file in work.running}
    return [
        file
        for file in work.running
        if not work.plan(file).batch.packed or (row := keeps[file.number]) is None or row.end > work.now
    ]


def _full(work: Work, file: BatchFile) -> str:
    pen, plan = pen_of(work), work.plan(file)
    return "\n".join(standing_lines(title(file), plan, wanted(plan, work.habits), pen, pen.clock))


def _line(work: Work, file: BatchFile) -> str:
    return one_line(work.plan(file), title(file), pen_of(work))


def title(file: BatchFile) -> str:
    """A batch's name as the beginning of a line."""
    return file.name[:1].upper() + file.name[1:]
