"""The work on one message: entries are added to a copy of the journals, and all is read from that.

A :class:`Work` starts from a snapshot and gathers what the answer keeps and says; nothing outside
is touched. Batch and plan are computed from the entries each time these change.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from bot.known import finished_in, known_for
from planner.batch import Batch, read_batch
from planner.entries import Entry, Kind
from planner.habits import Habits
from planner.plan import Plan
from planner.planning import plan_batch
from planner.rig.closing import close
from planner.rig.experience import Experience
from planner.rig.finished import Finished, lesson_in, was_forgotten
from planner.rings import wanted
from planner.stages import Stage
from scheduler.turn import BatchFile, Chat, Message, NewBatch, Outcome, Ring, Snapshot

#: Who speaks in an entry that the tool itself made.
BELL = "bell"


@dataclass
class Work:
    """One turn's working copy. ``who`` is the person that wrote, or the tool itself for a ring.

    ``sender`` is that person as the messenger knows them. ``with_cards`` where the messenger shows a
    pinned card for each batch.
    """

    snapshot: Snapshot
    who: str
    sender: str = ""
    with_cards: bool = False

    def __post_init__(self) -> None:
        self.chat: Chat = self.snapshot.chat
        self.now: datetime = self.snapshot.now
        self.files: dict[int, BatchFile] = {b.number: b for b in self.snapshot.batches}
        self.added: dict[int, list[Entry]] = {}
        self.opened: list[NewBatch] = []
        self.closed: list[int] = []
        self.renamed: dict[int, str] = {}
        self.forget = False
        self.loose: list[Ring] | None = None
        self.messages: list[Message] = []
        self.finished: dict[int, Finished] = dict(finished_in(self.snapshot.taught))
        self._plans: dict[int, tuple[int, tuple[Batch, Experience], Plan]] = {}

    @property
    def habits(self) -> Habits:
        """Zone and quiet hours of the chat."""
        return Habits(self.chat.zone, self.chat.quiet)

    @property
    def running(self) -> list[BatchFile]:
        """Batches that are not closed, oldest first."""
        return [f for f in self.files.values() if f.closed_at is None and f.number not in self.closed]

    @property
    def focus(self) -> BatchFile | None:
        """The batch that is talked about: the one last spoken of, else the newest that runs."""
        number = self.chat.memory.get("focus")
        file = self.files.get(number) if isinstance(number, int) else None
        if file is not None and file in self.running:
            return file
        return self.running[-1] if self.running else None

    @property
    def touched(self) -> set[int]:
        """Batches that this turn opened, or whose journals it added to, but for old ones that are not here."""
        return {*(self.added.keys() & self.files.keys()), *(new.number for new in self.opened)}

    @property
    def habits_changed(self) -> bool:
        """True where this turn changed what stands on every card: zone, units, who is on."""

        def habits(chat: Chat) -> tuple[object, ...]:
            return chat.zone, chat.units, chat.quiet, chat.memory.get("duty")

        return habits(self.snapshot.chat) != habits(self.chat)

    def remember(self, **changes: Any) -> None:
        """Keep small things for the next message; None forgets."""
        memory = {**self.chat.memory, **changes}
        self.chat = replace(self.chat, memory={k: v for k, v in memory.items() if v is not None})

    def habit(self, **changes: Any) -> None:
        """Change the chat's zone, units or quiet hours."""
        self.chat = replace(self.chat, **changes)
        self._plans.clear()

    def open(self, name: str) -> BatchFile:
        """Open a batch and put it in focus."""
        number = max([*self.files, 0]) + 1
        file = BatchFile(number, name, self.now, None, ())
        self.files[number] = file
        self.opened.append(NewBatch(number, name))
        self.remember(focus=number)
        return file

    def rename(self, file: BatchFile, name: str) -> None:
        """Call a batch by another name."""
        self.files[file.number] = replace(self.files[file.number], name=name)
        self.renamed[file.number] = name

    def close(self, file: BatchFile) -> None:
        """End a batch: it rings no more."""
        self.closed.append(file.number)

    def add(
        self,
        file: BatchFile,
        kind: Kind,
        data: Mapping[str, Any] | None = None,
        *,
        at: datetime | None = None,
        words: str = "",
        voids: int | None = None,
        who: str | None = None,
    ) -> Entry:
        """Write an entry into a batch's journal."""
        entries = self.files[file.number].entries
        entry = Entry(
            number=len(entries) + 1,
            kind=kind,
            happened_at=at or self.now,
            told_at=self.now,
            who=who or self.who,
            data=dict(data or {}),
            words=words,
            voids=voids,
        )
        self.files[file.number] = replace(self.files[file.number], entries=(*entries, entry))
        self.added.setdefault(file.number, []).append(entry)
        return entry

    def take_back(self, file: BatchFile, count: int) -> None:
        """Leave the journal as it was at ``count`` entries: what this turn added since is not kept."""
        entries = self.files[file.number].entries[:count]
        self.files[file.number] = replace(self.files[file.number], entries=entries)
        self.added[file.number] = [e for e in self.added.get(file.number, []) if e.number <= count]
        self._plans.pop(file.number, None)

    def entries(self, file: BatchFile) -> tuple[Entry, ...]:
        """The journal with what this turn added."""
        return self.files[file.number].entries

    def batch(self, file: BatchFile) -> Batch:
        """What the batch is now."""
        return read_batch(self.entries(file), file.opened_at)

    def plan(self, file: BatchFile) -> Plan:
        """The plan as of now."""
        count = len(self.entries(file))
        known = self._plans.get(file.number)
        if known is None or known[0] != count:
            told = self.batch(file), self.known(file)
            # Words and verdicts are in the journal too, and most messages add nothing else.
            same = known is not None and known[1] == told
            plan = known[2] if known and same else plan_batch(told[0], self.habits, self.now, told[1])
            known = (count, told, plan)
            self._plans[file.number] = known
        return known[2]

    def known(self, file: BatchFile) -> Experience:
        """What earlier batches teach of this one."""
        return known_for(self.files.get(file.number, file), self.finished)

    def learn(self, file: BatchFile) -> None:
        """Write down what a packed batch teaches, where that is not what its lesson says already."""
        file = self.files[file.number]
        packed = self.batch(file).packed
        lesson = lesson_in(file.entries)
        if lesson is not None and not packed:
            self.unlearn(file.number)
        if not packed or was_forgotten(file.entries):
            return
        finished = close(self.plan(file), file.name, file.number)
        if lesson is None or lesson.data != finished.to_json():
            self.add(file, Kind.LESSON, finished.to_json(), who=BELL)
        self.finished[file.number] = finished
        self._plans.clear()

    def unlearn(self, number: int, words: str = "", *, forget: bool = False) -> None:
        """Void a batch's lesson: it teaches nothing from now on; for good where a person wants it forgotten."""
        data = {"forget": True} if forget else {}
        file = self.files.get(number)
        if file is not None:
            lesson = lesson_in(file.entries)
            if lesson is not None:
                self.add(file, Kind.VOID, data, words=words, voids=lesson.number)
        else:
            taught = next(t for t in self.snapshot.taught if t.batch == number)
            void = Entry(taught.length + 1, Kind.VOID, self.now, self.now, self.who, data, words, taught.entry.number)
            self.added.setdefault(number, []).append(void)
        self.finished.pop(number, None)
        self._plans.clear()

    def mix_as_planned(self, file: BatchFile) -> None:
        """Once the fish is in, the brine that the plan proposed is the one that was mixed.

        From here on the plan moves around this brine instead of choosing another.
        """
        plan = self.plan(file)
        soak = plan.stage(Stage.SOAK)
        if soak is None or not (soak.begun or soak.done) or plan.brine is None or plan.brine.told:
            return
        brine = plan.brine
        data = {"salt_g": brine.salt_g, "sugar_g": brine.sugar_g, "water_ml": brine.water_ml, "as_planned": True}
        self.add(file, Kind.DESCRIBE, data, who=BELL)

    def say(self, message: Message) -> None:
        """Queue a message."""
        self.messages.append(message)

    def outcome(self, heard: Mapping[str, Any] | None = None) -> Outcome:
        """Everything this turn keeps and says."""
        rings: dict[int | None, tuple[Ring, ...]] = {
            number: () if number in self.closed else wanted(self.plan(self.files[number]), self.habits)
            for number in sorted(self.touched)
        }
        if self.loose is not None:
            rings[None] = tuple(self.loose)
        return Outcome(
            chat=self.chat if self.chat != self.snapshot.chat else None,
            opened=tuple(self.opened),
            closed=tuple(self.closed),
            renamed=dict(self.renamed),
            forget=self.forget,
            entries={n: tuple(e) for n, e in self.added.items()},
            rings=rings,
            messages=tuple(self.messages),
            heard=heard,
        )
