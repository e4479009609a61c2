"""What a batch is, read from its journal.

Nothing here is stored: a :class:`Batch` is computed from the entries that stand.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from planner.entries import Entry, Kind, standing
from planner.stages import ORDER, Stage, comes_after

#: The name of the only lot of a batch in which all pieces are alike.
WHOLE = "all"


@dataclass(frozen=True)
class Lot:
    """Pieces of one size. ``name`` is ``small``, ``medium``, ``large``, ``all`` or the person's own word."""

    name: str
    pieces: int | None = None
    mass_g: float | None = None
    thickness_mm: float | None = None


@dataclass(frozen=True)
class Told:
    """One reading or happening: its slots, when it was so, and the entry that says it."""

    at: datetime
    slots: Mapping[str, Any]
    entry: int
    who: str

    @property
    def lot(self) -> str | None:
        """The lot it is about, where one was said."""
        lot = self.slots.get("lot")
        return str(lot) if lot is not None else None


@dataclass(frozen=True)
class Rung:
    """A reminder that was rung."""

    key: str
    at: datetime
    what: str


@dataclass(frozen=True)
class Batch:
    """A batch as its entries tell it. All moments are aware UTC."""

    opened_at: datetime
    told: Mapping[str, Any] = field(default_factory=dict)
    told_at: Mapping[str, datetime] = field(default_factory=dict)
    lots: tuple[Lot, ...] = (Lot(WHOLE),)
    readings: tuple[Told, ...] = ()
    happenings: tuple[Told, ...] = ()
    #: Starts and ends of stages, each time that one was told; ``started`` and ``done`` keep the last.
    steps: tuple[Told, ...] = ()
    started: Mapping[tuple[Stage, str | None], datetime] = field(default_factory=dict)
    done: Mapping[tuple[Stage, str | None], datetime] = field(default_factory=dict)
    #: When somebody last told of a start or an end: what was due before was not known then.
    heard_at: datetime | None = None
    choices: tuple[Told, ...] = ()
    rung: tuple[Rung, ...] = ()
    answered: tuple[Told, ...] = ()

    def started_at(self, stage: Stage, lot: str | None = None) -> datetime | None:
        """When the stage began for this lot (or for all), None where nobody said so."""
        return self.started.get((stage, lot)) or self.started.get((stage, None))

    def done_at(self, stage: Stage, lot: str | None = None) -> datetime | None:
        """When the stage ended for this lot (or for all), None where nobody said so."""
        return self.done.get((stage, lot)) or self.done.get((stage, None))

    def values(self, key: str, lot: str | None = None, since: datetime | None = None) -> list[Told]:
        """Readings of one kind in order of time.

        Where there are several lots, a reading that names none proves nothing about any of them.
        """
        alone = len(self.lots) == 1
        return [
            r
            for r in self.readings
            if key in r.slots
            and (lot is None or r.lot == lot or (alone and r.lot is None))
            and (since is None or r.at >= since)
        ]

    def left_heat(self, lot: str | None = None) -> list[datetime]:
        """Every time since the smoke began that the lot was said to come out of it, put back or not."""
        start = self.started_at(Stage.SMOKE, lot)
        pulled = [h for h in self.happenings if h.slots["what"] == "pulled"]
        ended = [
            t
            for t in self.steps
            if (t.slots["stage"] == Stage.SMOKE and t.slots.get("done"))
            or (t.slots["stage"] == Stage.COOL and t.slots.get("started"))
        ]
        return sorted(t.at for t in (*pulled, *ended) if start and t.at >= start and t.lot in (None, lot))

    def lot_done(self, stage: Stage) -> bool:
        """True if the stage is over for every lot."""
        return (stage, None) in self.done or all((stage, lot.name) in self.done for lot in self.lots)

    def last_done(self, stage: Stage) -> datetime | None:
        """When the last lot was through the stage; None while one is not."""
        if not self.lot_done(stage):
            return None
        times = [at for (s, _), at in self.done.items() if s is stage]
        return max(times)

    @property
    def furthest(self) -> Stage | None:
        """The last stage in the order of work of which anything was told."""
        touched = [stage for stage, _ in (*self.started, *self.done)]
        return max(touched, key=ORDER.index) if touched else None

    @property
    def packed(self) -> bool:
        """True once packing was said to be done."""
        return self.lot_done(Stage.PACK)


def read_batch(entries: Sequence[Entry], opened_at: datetime) -> Batch:
    """The batch that these entries tell; an entry that was voided does not count."""
    count = standing(entries)
    told, told_at = _describe(count)
    started, done = _stages(count, told, told_at)
    return Batch(
        opened_at=opened_at,
        told=told,
        told_at=told_at,
        lots=_lots(told, _mentioned(count)),
        readings=_of(count, Kind.READING),
        happenings=tuple(t for t in _of(count, Kind.EVENT) if "what" in t.slots),
        steps=tuple(t for t in _of(count, Kind.EVENT) if "stage" in t.slots),
        started=started,
        done=done,
        heard_at=max((e.told_at for e in count if e.kind is Kind.EVENT and "stage" in e.data), default=None),
        choices=_of(count, Kind.CHOICE),
        rung=tuple(
            Rung(str(e.data["key"]), e.happened_at, str(e.data["what"])) for e in count if e.kind is Kind.RING
        ),
        answered=_of(count, Kind.ANSWERED),
    )


def _of(entries: Iterable[Entry], kind: Kind) -> tuple[Told, ...]:
    found = [Told(e.happened_at, e.data, e.number, e.who) for e in entries if e.kind is kind]
    return tuple(sorted(found, key=lambda t: (t.at, t.entry)))


_SALT = frozenset({"salt_ml_per_l", "salt_g_per_l", "salt_g", "salt_pct", "salometer_deg"})

#: Each group says one thing in several ways: a new way of saying it replaces all the old ones.
EXCLUSIVE: tuple[frozenset[str], ...] = (
    _SALT,
    frozenset({"sugar_ml_per_l", "sugar_g_per_l", "sugar_g", "sugar_per_salt"}),
    frozenset({"water_ml", "brine_ml"}),
    frozenset({"lots", "thickness_mm"}),
)


def _describe(entries: Iterable[Entry]) -> tuple[dict[str, Any], dict[str, datetime]]:
    told: dict[str, Any] = {}
    told_at: dict[str, datetime] = {}
    for entry in entries:
        if entry.kind is not Kind.DESCRIBE:
            continue
        if _SALT & entry.data.keys() and not entry.data.get("as_planned"):
            # Sugar and water of a brine that the plan had mixed go with its salt.
            for key in ("sugar_g", "water_ml", "as_planned") if told.get("as_planned") else ():
                told.pop(key, None)
        for group in EXCLUSIVE:
            if group & entry.data.keys():
                for key in group - entry.data.keys():
                    told.pop(key, None)
        for key, value in entry.data.items():
            told[key] = value
            told_at[key] = entry.told_at
    return told, told_at


def _mentioned(entries: Iterable[Entry]) -> set[str]:
    """Lots that readings and events name."""
    kinds = (Kind.READING, Kind.EVENT)
    return {str(e.data["lot"]) for e in entries if e.kind in kinds and e.data.get("lot")} - {WHOLE}


#: Where only some sizes were named there are others: each must be shown to be hot and cold in time.
_BY_SIZE = ("small", "medium", "large")
_OTHERS = {"small": "large", "large": "small", "medium": "large"}


def _lots(told: Mapping[str, Any], mentioned: set[str]) -> tuple[Lot, ...]:
    raw = told.get("lots")
    if not raw and mentioned:
        if len(mentioned) == 1:
            mentioned = mentioned | {_OTHERS.get(next(iter(mentioned)), "others")}
        names = sorted(mentioned, key=lambda n: (_BY_SIZE.index(n) if n in _BY_SIZE else 9, n))
        return tuple(Lot(name) for name in names)
    if not raw:
        return (Lot(WHOLE, told.get("pieces"), told.get("mass_g"), told.get("thickness_mm")),)
    lots = [
        Lot(str(r.get("lot", "")), r.get("pieces"), r.get("mass_g"), r.get("thickness_mm")) for r in raw
    ]
    if all(lot.name for lot in lots):
        return tuple(sorted(lots, key=lambda lot: lot.thickness_mm or 0.0))
    return _named_by_size(lots)


def _named_by_size(lots: Sequence[Lot]) -> tuple[Lot, ...]:
    names = {1: [WHOLE], 2: ["small", "large"], 3: list(_BY_SIZE)}
    ordered = sorted(lots, key=lambda lot: (lot.thickness_mm or 0.0, lot.mass_g or 0.0))
    words = names.get(len(ordered), [f"lot {i}" for i in range(1, len(ordered) + 1)])
    return tuple(
        Lot(name, lot.pieces, lot.mass_g, lot.thickness_mm) for name, lot in zip(words, ordered, strict=True)
    )


def _stages(
    entries: Sequence[Entry], told: Mapping[str, Any], told_at: Mapping[str, datetime]
) -> tuple[dict[tuple[Stage, str | None], datetime], dict[tuple[Stage, str | None], datetime]]:
    started: dict[tuple[Stage, str | None], datetime] = {}
    done: dict[tuple[Stage, str | None], datetime] = {}
    soak = Stage.SALT if told.get("cure") == "dry" else Stage.SOAK
    # A start said together with the batch counts once its time had come when it was said.
    for key, target in (("start_at", started), ("soak_start", started), ("soak_end", done)):
        if key in told and (at := datetime.fromisoformat(told[key])) <= told_at[key]:
            target[soak, None] = at
    for entry in entries:
        if entry.kind is Kind.EVENT:
            _take_event(entry, started, done)
    for lot in [name for stage, name in (*started, *done) if stage is Stage.RINSE]:
        at = started.get((Stage.RINSE, lot)) or done[Stage.RINSE, lot]
        done.setdefault((soak, lot), at)  # what is rinsed is out of the salt
    return started, done


def _take_event(
    entry: Entry,
    started: dict[tuple[Stage, str | None], datetime],
    done: dict[tuple[Stage, str | None], datetime],
) -> None:
    lot = entry.data.get("lot")
    if entry.data.get("what") == "pulled":
        done[Stage.SMOKE, lot] = entry.happened_at
        started.setdefault((Stage.COOL, lot), entry.happened_at)
        return
    if entry.data.get("what") == "fridge" and not any(s is Stage.DRY for s, _ in started):
        # Between brine and rack, back in the cold is the rest.
        if any(s in (Stage.SOAK, Stage.SALT) for s, _ in done):
            started.setdefault((Stage.REST, None), entry.happened_at)
        return
    if "stage" not in entry.data:
        return
    stage = Stage(entry.data["stage"])
    if entry.data.get("started"):
        if stage is Stage.SMOKE and _taken_back(started, done, lot, entry.happened_at):
            return  # it goes on where it was
        before = started.get((stage, lot)) if stage is Stage.SMOKE else None
        # The smoke began when it first began: told again later, no warm hour before it is forgotten.
        started[stage, lot] = entry.happened_at if before is None else min(before, entry.happened_at)
    if entry.data.get("done"):
        done[stage, lot] = entry.happened_at
        if stage is Stage.SMOKE:
            started.setdefault((Stage.COOL, lot), entry.happened_at)


#: Fish out of the heat for longer has begun to cool: its clocks keep that: *ours*.
BRIEFLY_OUT = timedelta(minutes=20)


def _taken_back(
    started: dict[tuple[Stage, str | None], datetime],
    done: dict[tuple[Stage, str | None], datetime],
    lot: str | None,
    at: datetime,
) -> bool:
    """Undo the end of the smoke for a lot that goes back into the heat at once; False where it was not out, or long."""
    mine = [(stage, name) for stage, name in done if stage is Stage.SMOKE and (lot is None or name in (None, lot))]
    out = [key for key in mine if at - done[key] <= BRIEFLY_OUT]
    for key in out:
        del done[key]
        started.pop((Stage.COOL, key[1]), None)
    return bool(out)


@dataclass(frozen=True)
class Now:
    """Where a batch stands: the stage it is in or waits for, since when, and whether it has begun."""

    stage: Stage
    begun: bool
    since: datetime


def where(batch: Batch, route: Sequence[Stage]) -> Now:
    """The stage that the work is in, given the stages that this batch uses.

    A later stage that was told ends the earlier ones. After the end of a stage the next one of
    the route is waited for.
    """
    stage = batch.furthest
    if stage is None:
        return Now(route[0], False, batch.opened_at)
    if not batch.lot_done(stage):
        starts = [at for (s, _), at in batch.started.items() if s is stage]
        ends = [at for (s, _), at in batch.done.items() if s is stage]
        return Now(stage, True, min(starts or ends))
    ended = batch.last_done(stage) or batch.opened_at
    for later in route:
        if comes_after(later, stage):
            return Now(later, False, ended)
    return Now(Stage.KEEP, True, ended)


