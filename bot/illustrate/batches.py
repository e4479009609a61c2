"""The batch that a picture or a paper shows, as it is once the outcome at hand is kept."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, time
from functools import cached_property

from bot.known import finished_in, known_for
from bot.pictures.habits import Habit, local
from bot.say.format import Pen
from planner.batch import read_batch
from planner.habits import Habits
from planner.plan import Plan
from planner.planning import plan_batch
from planner.rig.experience import NOTHING, Experience
from scheduler.turn import BatchFile, Chat, Outcome, Snapshot


@dataclass(frozen=True)
class Case:
    """A batch with the chat that it belongs to and the moment at which it is looked at."""

    file: BatchFile
    chat: Chat
    now: datetime
    known: Experience = NOTHING

    @cached_property
    def plan(self) -> Plan:
        """The plan as of ``now``."""
        batch = read_batch(self.file.entries, self.file.opened_at)
        return plan_batch(batch, self.habits, self.now, self.known)

    @property
    def habits(self) -> Habits:
        """Zone and quiet hours, as the planner takes them."""
        return Habits(self.chat.zone, self.chat.quiet)

    @property
    def habit(self) -> Habit:
        """How the chat likes to see times and units; metric where it has shown no liking."""
        night = (time.fromisoformat(self.chat.quiet[0]), time.fromisoformat(self.chat.quiet[1]))
        return Habit(self.chat.zone, "us" if self.chat.units == "us" else "metric", night)

    @property
    def pen(self) -> Pen:
        """The pen for the same chat."""
        return Pen(self.now, self.chat.zone, self.habit.units)

    @property
    def name(self) -> str:
        """The batch's name as the beginning of a line."""
        return self.file.name[:1].upper() + self.file.name[1:]

    @property
    def code(self) -> str:
        """The batch's number as papers show it: the day it was begun, and its number in the chat."""
        return f"{self.day(self.file.opened_at):%y%m%d}-{self.file.number}"

    def day(self, at: datetime) -> date:
        """The chat's own date at a moment."""
        return local(at, self.habit).date()


def case_of(number: int, snapshot: Snapshot, outcome: Outcome) -> Case | None:
    """The batch of that number with what the outcome adds to it; None where there is none."""
    chat = outcome.chat or snapshot.chat
    known = {file.number: file for file in snapshot.batches}
    for new in outcome.opened:
        known[new.number] = BatchFile(new.number, new.name, snapshot.now, None, ())
    file = known.get(number)
    if file is None:
        return None
    name = outcome.renamed.get(number, file.name)
    entries = (*file.entries, *outcome.entries.get(number, ()))
    file = replace(file, name=name, entries=entries)
    return Case(file, chat, snapshot.now, known_for(file, finished_in(snapshot.taught)))
