"""Journals written by hand for the tests of batch, plan and verdicts."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from planner.batch import Batch, Told, read_batch
from planner.entries import Entry, Kind
from planner.habits import Habits
from planner.judge import judge
from planner.plan import Plan
from planner.planning import plan_batch
from planner.verdict import Verdict

HOME = Habits("America/Vancouver")
FRIDAY = datetime(2026, 9, 12, 0, 40, tzinfo=UTC)  # Friday 11 September, 17:40 in Vancouver


@dataclass
class Journal:
    """Entries one after the other; ``now`` moves by :meth:`after` and is the moment of telling."""

    opened_at: datetime = FRIDAY
    entries: list[Entry] = field(default_factory=list)
    now: datetime = FRIDAY

    def after(self, **length: float) -> Journal:
        """Let time pass."""
        self.now += timedelta(**length)
        return self

    def write(
        self, kind: Kind, data: dict[str, Any] | None = None, *, at: datetime | None = None, voids: int | None = None
    ) -> Journal:
        """One entry more, told now, happened ``at`` or now."""
        number = len(self.entries) + 1
        self.entries.append(Entry(number, kind, at or self.now, self.now, "ida", dict(data or {}), voids=voids))
        return self

    def describe(self, **slots: Any) -> Journal:
        """What the batch is."""
        return self.write(Kind.DESCRIBE, slots)

    def read(self, at: datetime | None = None, **slots: Any) -> Journal:
        """Something measured."""
        return self.write(Kind.READING, slots, at=at)

    def event(self, at: datetime | None = None, **slots: Any) -> Journal:
        """Something happened."""
        return self.write(Kind.EVENT, slots, at=at)

    def started(self, stage: str, lot: str | None = None) -> Journal:
        """A stage began."""
        return self.event(stage=stage, started=True, **({"lot": lot} if lot else {}))

    def done(self, stage: str, lot: str | None = None) -> Journal:
        """A stage ended."""
        return self.event(stage=stage, done=True, **({"lot": lot} if lot else {}))

    def void(self, number: int) -> Journal:
        """Take an entry back."""
        return self.write(Kind.VOID, voids=number)

    @property
    def batch(self) -> Batch:
        """What the batch is."""
        return read_batch(self.entries, self.opened_at)

    def plan(self, habits: Habits = HOME) -> Plan:
        """The plan as of now."""
        return plan_batch(self.batch, habits, self.now)

    def verdict(self, habits: Habits = HOME) -> Verdict:
        """The verdict on the reading told last."""
        last = next(e for e in reversed(self.entries) if e.kind is Kind.READING)
        return judge(self.plan(habits), Told(last.happened_at, last.data, last.number, last.who))


def described(**slots: Any) -> Journal:
    """A journal that opens with a description; an inch of coho with its skin unless told otherwise."""
    usual = {"species": "coho_salmon", "thickness_mm": 25.4, "skin": "on", "salt_pct": 10.0}
    return Journal().describe(**{**usual, **slots})


def on_the_racks(**slots: Any) -> Journal:
    """Soaked overnight in the cold, just laid on the racks."""
    journal = described(**slots).started("soak").after(hours=13).done("soak").after(minutes=15)
    return journal.started("dry")


def in_the_smoke(**slots: Any) -> Journal:
    """Dried for three hours, tacky, just put into the smoke."""
    return on_the_racks(**slots).after(hours=3).read(surface="tacky").started("smoke")


def out_of_the_smoke(**slots: Any) -> Journal:
    """Held at 73 °C for 35 min by three readings, just taken out (the last one is a minute old)."""
    journal = in_the_smoke(**slots).after(hours=2).read(core_c=73.0).after(minutes=20).read(core_c=74.0)
    return journal.after(minutes=15).read(core_c=74.0).after(minutes=1).event(what="pulled")
