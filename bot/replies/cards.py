"""The pinned card of each batch that an answer has touched, as it is to read from now on."""

from __future__ import annotations

from collections.abc import Iterator

from bot import facts
from bot.crew import duty_of
from bot.replies.on import title
from bot.replies.part import pen_of
from bot.say.standing import DELETED, card_words, taken_back_words
from bot.work import Work
from planner.rings import wanted
from scheduler.turn import BatchFile, Message


def cards(work: Work) -> Iterator[Message]:
    """One message for each card that may read differently now, silent and without buttons."""
    if work.forget:
        yield from (_card(file, DELETED, over=True) for file in work.files.values())
        return
    for file in work.files.values():
        if file.number in work.closed:
            yield _card(file, taken_back_words(title(file)), over=True)
        elif file in work.running and (file.number in work.touched or work.habits_changed):
            yield _of(work, file)


def _of(work: Work, file: BatchFile) -> Message:
    pen, plan = pen_of(work), work.plan(file)
    duty = duty_of(work.chat.memory, work.now)
    words = card_words(title(file), plan, wanted(plan, work.habits), duty, pen)
    return _card(file, words, over=plan.batch.packed)


def _card(file: BatchFile, words: str, *, over: bool) -> Message:
    fact = facts.answer("card", {"batch": file.number})
    return Message(words, facts=(fact,), silent=True, pin=f"batch {file.number}", over=over)

