"""A plan, as values: stages on the clock with their ranges, the brine, the salt, what was assumed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from planner.batch import Batch, Now
from planner.cooling_rule import Cooling
from planner.exposure import Exposure
from planner.hold import Hold
from planner.lengths import Lengths
from planner.lethality import Lethality
from planner.making import Making
from planner.schedule import Layout
from planner.spread import Spread
from planner.stages import Stage
from planner.verdict import Eta

if TYPE_CHECKING:
    from planner.recipe import Salting


@dataclass(frozen=True)
class StagePlan:
    """One stage of one lot (``lot`` None: all of it). ``earliest``..``latest`` is an 80 % range of its end."""

    stage: Stage
    lot: str | None
    start: datetime
    end: datetime
    earliest: datetime
    latest: datetime
    begun: bool = False
    done: bool = False


@dataclass(frozen=True)
class BrinePlan:
    """What to weigh. ``salt_low_g``..``salt_high_g`` differ where salt was given by volume.

    Salted dry there is no water, no percent and no degrees; ``salt_per_fish_pct`` says the share.
    """

    salt_g: float
    salt_low_g: float
    salt_high_g: float
    sugar_g: float
    water_ml: float
    salt_pct: float | None
    salometer_deg: float | None
    told: bool
    salt_per_fish_pct: float | None = None


@dataclass(frozen=True)
class SaltInFish:
    """Water-phase salt in percent at pack: mean with its 80 % range, and in the middle.

    ``pull_mean`` and ``pull_core`` are the same at the end of the soak.
    """

    mean: float
    core: float
    low: float
    high: float
    pull_mean: float
    pull_core: float


@dataclass(frozen=True)
class Notice:
    """Something that a person must know: the rule's key, its source line, and its figures."""

    rule: str
    source: str
    values: Mapping[str, float | str] = field(default_factory=dict)
    #: True where it bears on safety and must be said again on label and record.
    lasting: bool = False


@dataclass(frozen=True)
class CoreAhead:
    """The core [°C] that is expected at one moment, with its 80 % range."""

    at: datetime
    core_c: Spread


@dataclass(frozen=True)
class LotCook:
    """How the core of one lot in the smoke stands and where it goes.

    ``floor`` and ``aim`` are when it first reaches each mark, ``hold_end`` when the aim has been
    held long enough; None where it does not get there as things are (``stuck``), or got there.
    ``odd`` is True where the last reading fits nothing that could be so. ``course`` is the core from
    the moment of the plan on.
    """

    lot: str
    floor_hold: Hold
    aim_hold: Hold
    floor: Eta | None
    aim: Eta | None
    hold_end: Eta | None
    next_look: datetime | None
    stuck: bool
    odd: bool
    lethality: Lethality
    course: tuple[CoreAhead, ...] = ()

    @property
    def counting_since(self) -> datetime | None:
        """Since when a hold counts: the aim's if it runs, else the floor's."""
        return self.aim_hold.since or self.floor_hold.since


@dataclass(frozen=True)
class LotCooling:
    """How the cooling of one lot stands: what the readings prove, and when each leg is expected."""

    lot: str
    cooling: Cooling
    first_leg: Eta | None
    cold: Eta | None
    next_look: datetime | None

    @property
    def target_c(self) -> float | None:
        """Temperature of the running leg's end."""
        rule = self.cooling.rule
        return {"first_leg": rule.middle.c, "cold": rule.end.c}.get(self.cooling.leg or "")

    @property
    def deadline(self) -> datetime | None:
        """By when the running leg must be proven."""
        return self.cooling.next_reading_by


@dataclass(frozen=True)
class Gate:
    """A safety gate: open only where recorded facts open it. ``missing`` is the key of what is not."""

    name: str
    open: bool
    missing: str | None
    source: str
    lot: str | None = None
    values: Mapping[str, float | str] = field(default_factory=dict)

    @property
    def lost(self) -> bool:
        """True where a limit is broken that nothing mends."""
        return self.missing in _LOST


_LOST = frozenset({"spent", "cooling_missed", "cold_smoke_spent"})


@dataclass(frozen=True)
class Plan:
    """Everything that is expected of a batch from here on, computed afresh from its journal."""

    batch: Batch
    making: Making
    at: datetime
    now: Now
    stages: tuple[StagePlan, ...]
    brine: BrinePlan | None
    wps: SaltInFish | None
    yield_pct: float
    assumed: tuple[str, ...]
    warnings: tuple[Notice, ...]
    #: The slot whose answer would move the plan most, None where nothing much is open.
    ask: str | None = None
    cooks: Mapping[str, LotCook] = field(default_factory=dict)
    coolings: Mapping[str, LotCooling] = field(default_factory=dict)
    gates: tuple[Gate, ...] = ()
    exposure: Exposure | None = None
    layout: Layout | None = None
    lengths: Lengths | None = None
    #: The sums behind ``brine`` and ``wps``.
    salt: Salting | None = field(default=None, compare=False, repr=False)

    def stage(self, stage: Stage, lot: str | None = None) -> StagePlan | None:
        """The row of a stage for a lot (or for all), None where the plan has no such stage."""
        for row in self.stages:
            if row.stage is stage and (lot is None or row.lot in (None, lot)):
                return row
        return None

    def rows(self, stage: Stage) -> list[StagePlan]:
        """All rows of a stage, in the order of their ends."""
        return sorted((r for r in self.stages if r.stage is stage), key=lambda r: r.end)

    @property
    def untold_rest(self) -> datetime | None:
        """Since when fish has waited between brine and rack with nobody saying that it was in the cold."""
        batch = self.batch
        out = batch.done_at(Stage.SOAK) or batch.done_at(Stage.SALT)
        if out is None or batch.started_at(Stage.REST) is not None:
            return None
        smoked = [at for (stage, _), at in batch.started.items() if stage is Stage.SMOKE]
        onto = batch.started_at(Stage.DRY) or min(smoked, default=self.at)
        return out if onto - out > timedelta(hours=1) else None

    @property
    def lost(self) -> bool:
        """True where a safety limit is broken and cannot be mended."""
        return any(gate.lost for gate in self.gates)

    @property
    def ready(self) -> datetime | None:
        """When the fish is cold and somebody is up to pack it."""
        row = self.stage(Stage.PACK)
        return row.start if row else None
