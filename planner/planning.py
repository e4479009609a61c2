"""The plan of a batch: one pure function of its journal, its chat's habits and the moment."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import datetime, timedelta

from planner.batch import WHOLE, Batch, Now, where
from planner.cooks import lot_cook, lot_cooling
from planner.exposure import Spell
from planner.gates import airless_gate_of, fridge_readings, gates_before_pack
from planner.habits import Habits
from planner.hold import Mark, marks
from planner.keeping import Keep, keep_by
from planner.lengths import LONGEST_DRY_H, Lengths, lengths
from planner.making import Making, make
from planner.notices import notices
from planner.plan import LotCook, LotCooling, Plan, StagePlan
from planner.recipe import Salting, salting
from planner.rig.experience import NOTHING, Experience
from planner.schedule import Layout, Task, lay_out
from planner.spread import Spread
from planner.stages import Stage
from planner.verdict import Eta
from planner.warmth import exposure_now
from planner.weather import pellicle_ahead, weather

#: In the cold and uncovered this long before packing where nothing presses: common practice.
_USUAL_CHILL = timedelta(hours=6)
#: What moves a plan most, in this order, where it was not said.
_ASK_FIRST = ("species", "thickness_mm", "mass_g", "salt_kind")


def plan_batch(batch: Batch, habits: Habits, now: datetime, known: Experience = NOTHING) -> Plan:
    """Everything expected of the batch from ``now`` on.

    The same journal, habits, moment and experience give the same plan; nothing is remembered in between.
    """
    making = make(batch, known)
    aims = marks(making.work_to_c)
    standing = where(batch, making.route)
    # What goes by drying and smoking hangs little on the salt, the salt wanted at the pull much on it.
    length = lengths(making, making.taste_wps, aims[1], weather(batch, making))
    salt = salting(batch, making, habits, now, length.loss_pct.mid)
    layout = _layout(batch, making, salt, length, habits, now)
    salt = salt.pulled_after(
        (layout.pull - layout.start) / timedelta(hours=1),
        length.loss_pct,
        cold_h=(layout.dry - layout.pull + _USUAL_CHILL) / timedelta(hours=1),
        smoke_h=max(s.mid for s in length.smoke.values()),
    )
    cooks = _cooks(batch, making, aims, salt.pull_mean, now)
    coolings = _coolings(batch, making, now)
    rows = _Rows(batch, making, length, layout, cooks, coolings, now)
    stages = rows.all(habits)
    ahead = {lot.name: _warm_ahead(stages, making, lot.name, length, cooks, now) for lot in making.lots}
    exposure = exposure_now(batch, making, now, ahead)
    gates = gates_before_pack(batch, making, cooks, coolings, exposure, now)
    packed = next(row for row in stages if row.stage is Stage.PACK)
    stages = _with_keep(stages, batch, making, now)
    return Plan(
        batch=batch,
        making=making,
        at=now,
        now=standing,
        stages=stages,
        brine=salt.brine_plan,
        wps=salt.in_fish,
        yield_pct=round(100.0 - length.loss_pct.mid - length.drip_pct.mid, 1),
        assumed=_assumed(making, salt, standing),
        warnings=notices(batch, making, salt, length, layout, exposure, packed.start, now),
        ask=_ask(making, salt, standing),
        cooks=cooks,
        coolings=coolings,
        gates=gates,
        exposure=exposure,
        layout=layout,
        lengths=length,
        salt=salt,
    )


def _layout(
    batch: Batch, making: Making, salt: Salting, length: Lengths, habits: Habits, now: datetime
) -> Layout:
    stage = Stage.SALT if making.cure != "wet" else Stage.SOAK
    dried, begun = _dried_from(batch), batch.started_at(stage)
    # Fish on the racks is out of the brine, said or not.
    pulled = batch.done_at(stage) or dried
    before = _thaw_left_h(batch, making, length, now)
    warm = length.dry.mid + max(
        length.smoke[lot.name].mid + length.cool[lot.name].mid for lot in making.lots
    )
    ready_by, smoke_at = batch.told.get("ready_by"), batch.told.get("smoke_at")
    return lay_out(
        Task(
            now=now,
            soak=salt.length,
            warm=timedelta(hours=warm),
            chill=timedelta(hours=length.chill.mid),
            before=timedelta(hours=before),
            between=timedelta(hours=length.rinse.mid),
            start=begun or _start_unsaid(batch, pulled) or _wanted_start(batch, now, before),
            pull=pulled or _wanted_pull(batch, now),
            dry=max(dried, pulled) if dried and pulled else None,
            ready_by=datetime.fromisoformat(ready_by) if ready_by else None,
            drying=timedelta(hours=length.dry.mid),
            smoke_at=datetime.fromisoformat(smoke_at) if smoke_at else None,
        ),
        habits,
    )


def _thaw_left_h(batch: Batch, making: Making, length: Lengths, now: datetime) -> float:
    """Hours until frozen fish is thawed that was taken out when that was said, or with the batch."""
    if not making.frozen or batch.done_at(Stage.THAW):
        return 0.0
    out = batch.started_at(Stage.THAW) or batch.opened_at
    return max((out - now) / timedelta(hours=1) + length.thaw.mid, 0.0)


def _dried_from(batch: Batch) -> datetime | None:
    """When the fish went onto the racks; straight into the smoke, where no racks were told of."""
    smoked = [at for (stage, _), at in batch.started.items() if stage is Stage.SMOKE]
    return batch.started_at(Stage.DRY) or min(smoked, default=None)


def _start_unsaid(batch: Batch, pulled: datetime | None) -> datetime | None:
    """A soak whose end was told and not its start began when the plan said so, or with the batch."""
    if pulled is None:
        return None
    told = batch.told.get("soak_start") or batch.told.get("start_at")
    return min(datetime.fromisoformat(told) if told else batch.opened_at, pulled)


def _wanted_start(batch: Batch, now: datetime, before_h: float) -> datetime | None:
    told = batch.told.get("soak_start") or batch.told.get("start_at")
    if not told:
        return None
    return max(datetime.fromisoformat(told), now + timedelta(hours=before_h))


def _wanted_pull(batch: Batch, now: datetime) -> datetime | None:
    """The end of the soak where somebody set it, as long as it lies ahead."""
    told = batch.told.get("soak_end")
    at = datetime.fromisoformat(told) if told else None
    return at if at is not None and at > now else None


def _cooks(
    batch: Batch, making: Making, aims: tuple[Mark, Mark], wps_pct: float, now: datetime
) -> dict[str, LotCook]:
    found = {lot.name: lot_cook(batch, making, lot.name, aims, wps_pct, now) for lot in making.lots}
    return {name: cook for name, cook in found.items() if cook is not None}


def _coolings(batch: Batch, making: Making, now: datetime) -> dict[str, LotCooling]:
    found = {lot.name: lot_cooling(batch, making, lot.name, now) for lot in making.lots}
    return {name: cooling for name, cooling in found.items() if cooling is not None}


class _Rows:
    """Lays one row after another, each from where the one before ends."""

    def __init__(
        self,
        batch: Batch,
        making: Making,
        length: Lengths,
        layout: Layout,
        cooks: Mapping[str, LotCook],
        coolings: Mapping[str, LotCooling],
        now: datetime,
    ) -> None:
        self.batch, self.making, self.length, self.layout = batch, making, length, layout
        self.cooks, self.coolings, self.now = cooks, coolings, now

    def all(self, habits: Habits) -> tuple[StagePlan, ...]:
        rows = [*self._raw(), self._dry()]
        dried = rows[-1]
        smokes = [self._smoke(lot.name, dried) for lot in self.making.lots]
        cools = [self._cool(row) for row in smokes]
        chill = self._chill(cools)
        return (*rows, *smokes, *cools, chill, self._pack(chill, habits))

    def _raw(self) -> list[StagePlan]:
        rows: list[StagePlan] = []
        layout, length = self.layout, self.length
        if Stage.THAW in self.making.route:
            rows.append(self._row(Stage.THAW, self.batch.opened_at, length.thaw))
        stage = Stage.SALT if self.making.cure != "wet" else Stage.SOAK
        soak = (layout.pull - layout.start) / timedelta(hours=1)
        rows.append(self._row(stage, layout.start, Spread(soak, soak, soak)))
        rinse = self._row(Stage.RINSE, layout.pull, length.rinse)
        rows.append(rinse)
        if layout.dry - rinse.end >= timedelta(minutes=30):
            rest = (layout.dry - rinse.end) / timedelta(hours=1)
            rows.append(self._row(Stage.REST, rinse.end, Spread(rest, rest, rest)))
        return rows

    def _row(self, stage: Stage, start: datetime, hours: Spread, lot: str | None = None) -> StagePlan:
        begun, done = self.batch.started_at(stage, lot), self.batch.done_at(stage, lot)
        later = self._begun_later(stage, lot)
        start = begun or (done - timedelta(hours=hours.mid) if done else start)
        if done:
            return StagePlan(stage, lot, start, done, done, done, begun=True, done=True)
        end, early, late = (start + timedelta(hours=h) for h in (hours.mid, hours.low, hours.high))
        if later is not None:
            return StagePlan(stage, lot, min(start, later), later, later, later, begun=True, done=True)
        if begun:
            end, early, late = (max(t, self.now) for t in (end, early, late))
        return StagePlan(stage, lot, start, end, early, late, begun=begun is not None)

    def _begun_later(self, stage: Stage, lot: str | None) -> datetime | None:
        """When a later stage of this lot (or of any, for a stage of all) began: this one is over then, said or not."""
        order = list(Stage)
        later = [
            at
            for (s, other), at in self.batch.started.items()
            if order.index(s) > order.index(stage) and (lot is None or other in (None, lot))
        ]
        return min(later) if later else None

    def _dry(self) -> StagePlan:
        row = self._row(Stage.DRY, max(self.layout.dry, self.layout.pull), self.length.dry)
        touches = self.batch.values("surface", since=row.start) if row.begun and not row.done else []
        if touches and touches[-1].slots["surface"] in ("tacky", "dry"):
            at = touches[-1].at
            return StagePlan(Stage.DRY, None, row.start, max(at, self.now), at, self.now, begun=True)
        left = pellicle_ahead(self.batch, self.making, self.making.taste_wps, self.now) if not row.done else None
        if left is None:
            return row
        end, early, late = (
            max(row.start + timedelta(hours=min(h, LONGEST_DRY_H)), self.now) for h in (left.mid, left.low, left.high)
        )
        return StagePlan(Stage.DRY, None, row.start, end, early, late, begun=True)

    def _smoke(self, lot: str, dried: StagePlan) -> StagePlan:
        name = None if lot == WHOLE else lot
        row = self._row(Stage.SMOKE, dried.end, self._after(dried, self.length.smoke[lot]), name)
        cook = self.cooks.get(lot)
        if row.done or cook is None:
            return row
        if cook.aim_hold.met_at:
            at = cook.aim_hold.met_at
            return StagePlan(Stage.SMOKE, name, row.start, at, at, at, begun=True)
        if cook.hold_end:
            return _by_eta(row, cook.hold_end)
        return row

    def _after(self, before: StagePlan, hours: Spread) -> Spread:
        """The spread of a stage that starts when another, itself uncertain, ends."""
        early = (before.end - before.earliest) / timedelta(hours=1)
        late = (before.latest - before.end) / timedelta(hours=1)
        return Spread(
            hours.mid - math.hypot(hours.mid - hours.low, early),
            hours.mid,
            hours.mid + math.hypot(hours.high - hours.mid, late),
        )

    def _cool(self, smoke: StagePlan) -> StagePlan:
        lot = smoke.lot or WHOLE
        hours = self._after(smoke, self.length.cool[lot])
        row = self._row(Stage.COOL, smoke.end, hours, smoke.lot)
        cooling = self.coolings.get(lot)
        if cooling is None:
            return row
        if cooling.cooling.done_at:
            at = cooling.cooling.done_at
            return StagePlan(Stage.COOL, smoke.lot, row.start, at, at, at, begun=True, done=True)
        return _by_eta(row, cooling.cold) if cooling.cold else row

    def _chill(self, cools: list[StagePlan]) -> StagePlan:
        last = max(cools, key=lambda r: r.end)
        row = self._row(Stage.CHILL, last.end, self._after(last, self.length.chill))
        by = self.batch.told.get("ready_by")
        usual = last.end + _USUAL_CHILL
        end = max(row.end, min(usual, datetime.fromisoformat(by)) if by else usual)
        if row.done:
            return row
        shift = end - row.end
        begun = all(r.done for r in cools)
        return StagePlan(
            Stage.CHILL, None, row.start, end, row.earliest + shift, row.latest + shift, begun, False
        )

    def _pack(self, chill: StagePlan, habits: Habits) -> StagePlan:
        start = habits.quiet_end(chill.end)
        by = self.batch.told.get("ready_by")
        if by and chill.end <= (wished := datetime.fromisoformat(by)):
            # Who wants it at night is up to pack it.
            start = min(start, wished)
        return self._row(Stage.PACK, start, self.length.pack)


def _by_eta(row: StagePlan, eta: Eta) -> StagePlan:
    return StagePlan(row.stage, row.lot, row.start, eta.p50, eta.p10, eta.p90, begun=True)


def _warm_ahead(
    stages: tuple[StagePlan, ...],
    making: Making,
    lot: str,
    length: Lengths,
    cooks: Mapping[str, LotCook],
    now: datetime,
) -> list[Spell]:
    """The warm spells that a lot still has before it: drying, coming up to heat, cooling."""
    ahead: list[Spell] = []
    for row in stages:
        if row.done or row.lot not in (None, lot):
            continue
        start = max(row.start, now)
        if row.stage is Stage.DRY and row.end > start:
            ahead.append(Spell(start, row.end, making.air.air_c, making.air.air_c, "dry"))
        elif row.stage is Stage.SMOKE and making.species.histamine and not making.cold_smoke:
            hot = _hot_at(row, length.floor[lot].mid, cooks.get(lot))
            if hot is not None and hot > start:
                ahead.append(Spell(start, hot, 60.0, making.air.air_c, "heat"))
        elif row.stage is Stage.COOL and making.species.histamine and row.end > start:
            ahead.append(Spell(start, row.end, 59.0, making.fridge_c, "heat"))
    return ahead


def _hot_at(smoke: StagePlan, floor_h: float, cook: LotCook | None) -> datetime | None:
    """When a core is expected at the floor; None where it was read there."""
    if cook is None:
        return smoke.start + timedelta(hours=floor_h)
    if cook.floor_hold.since is not None or cook.floor_hold.met or cook.floor is None:
        return None
    return cook.floor.p50


def _with_keep(
    stages: tuple[StagePlan, ...], batch: Batch, making: Making, now: datetime
) -> tuple[StagePlan, ...]:
    packed = next(row for row in stages if row.stage is Stage.PACK)
    keep = keep_of(stages, batch, making, now)
    if keep.until is None:
        return stages
    row = StagePlan(Stage.KEEP, None, packed.end, keep.until, keep.until, keep.until, packed.done, False)
    return (*stages, row)


def keep_of(stages: tuple[StagePlan, ...], batch: Batch, making: Making, now: datetime) -> Keep:
    """The date for what was, or will be, packed.

    An airless pack is judged as it was at packing: fridge readings of later days do not close it,
    they move the date.
    """
    smoked = max(row.end for row in stages if row.stage is Stage.SMOKE)
    packed = next(row for row in stages if row.stage is Stage.PACK)
    at = max(packed.end, smoked)
    airless = airless_gate_of(batch, min(at, now)) if making.pack == "airless" else None
    soaked = min((row.start for row in stages), default=smoked)
    raw_d = max((smoked - soaked) / timedelta(days=1), 0.0) if making.species.histamine else 0.0
    return keep_by(
        smoked_at=smoked,
        packed_at=at,
        product="cold" if making.cold_smoke else "hot",
        pack=making.pack,
        fridge=fridge_readings(batch, smoked),
        now=now,
        airless_proven=airless is not None and airless.open,
        histamine=making.species.histamine,
        raw_chill_d=min(raw_d, 60.0),
    )


def _assumed(making: Making, salt: Salting, standing: Now) -> tuple[str, ...]:
    """What the tool put in itself, as far as it still matters at this stage."""
    order = list(Stage)
    past_salt = order.index(standing.stage) > order.index(Stage.SALT)
    names = [*making.assumed, *salt.assumed]
    if past_salt:
        names = [n for n in names if n not in ("salt_kind", "taste", "mass_g")]
    return tuple(dict.fromkeys(names))


def _ask(making: Making, salt: Salting, standing: Now) -> str | None:
    assumed = _assumed(making, salt, standing)
    return next((slot for slot in _ASK_FIRST if slot in assumed), None)
