"""Which reminders a plan wants, and when each is due.

The set is computed whole, from the plan and from what was rung and answered before; whoever keeps
reminders makes the pending ones match it. Every key carries a count of what it asks for, so that
the next reading of a lot is a new reminder and an answered one is simply no longer wanted.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import datetime, timedelta

from planner.batch import WHOLE, Told
from planner.habits import Habits
from planner.limits import limit
from planner.looks import surface_look
from planner.plan import Plan
from planner.ring import Ring
from planner.stages import Stage

#: A reminder that protects the food is rung again after these waits, the last one over and over, until
#: somebody answers: *ours*. Whom six calls did not wake is away, and is not called all night every half hour.
AGAIN = tuple(timedelta(minutes=m) for m in (10, 10, 15, 30, 30, 60, 60, 120))
#: A touch of the skin can wait a little longer than a core.
_SKIN_AGAIN = (timedelta(minutes=20), timedelta(minutes=30))
#: One that was answered with "on it", while what it asks for is still missing.
AFTER_ANSWER = timedelta(minutes=15)
#: Any other is rung once more after this long, then left.
ONCE_MORE = timedelta(minutes=30)

# Common practice, no source: a small smoker burns through a load of wood in about an hour, and its
# racks change places once or twice in a cook.
_FUEL_EVERY = timedelta(hours=1)
_ROTATE_EVERY = timedelta(minutes=90)
_SAID_JUST_NOW = timedelta(minutes=30)
#: Cores to be read within so long of one another are read together: *ours*.
_WITH_IT = timedelta(minutes=12)
_LIGHT_AHEAD = timedelta(minutes=30)
#: How long before the warm clock ends somebody is called: *ours*.
_CLOCK_AHEAD = timedelta(hours=1)
#: Asked once how it was, the day after packing; days later nobody wants to be asked: *ours*.
_MEAL_AFTER, _MEAL_OVER = timedelta(days=1), timedelta(days=4)
#: The verdict has said it already: the reminder comes only where nobody did it.
_OUT_AFTER = timedelta(minutes=10)
#: Who was told to put it back in the cold has done so by then: *ours*.
_SOON = timedelta(minutes=15)
#: That a cooling's time ran out is said when the next call would have come.
_OVER_AFTER = timedelta(minutes=15)


def wanted(plan: Plan, habits: Habits) -> tuple[Ring, ...]:
    """All reminders that this plan wants from its moment on, earliest first."""
    rings = [r for ring in _needs(plan) if (r := _paced(ring, plan, habits)) is not None]
    return tuple(sorted(_together(rings), key=lambda r: (r.due, r.key)))


def parts(key: str) -> tuple[str, ...]:
    """The keys of the calls that were made as one."""
    return tuple(key.split("+"))


def same_call(a: str, b: str) -> bool:
    """True for keys of calls that ask for one thing at least in common."""
    return not set(parts(a)).isdisjoint(parts(b))


def times_rung(plan: Plan, key: str) -> int:
    """How often all of a call has been rung before."""
    return min(sum(part in parts(r.key) for r in plan.batch.rung) for part in parts(key))


def _together(rings: Iterable[Ring]) -> Iterator[Ring]:
    """Cores that are to be read at about the same time are called for as one: the lid is lifted once."""
    cores: list[list[Ring]] = []
    for ring in sorted(rings, key=lambda r: (r.due, r.key)):
        if ring.what not in ("core", "cool"):
            yield ring
            continue
        for group in cores:
            first = group[0]
            if (first.what, first.protects) == (ring.what, ring.protects) and ring.due - first.due <= _WITH_IT:
                group.append(ring)
                break
        else:
            cores.append([ring])
    for group in cores:
        lots = [ring.lot or WHOLE for ring in group]
        key = "+".join(sorted(ring.key for ring in group))
        yield replace(group[0], key=key, lot=group[0].lot if len(lots) == 1 else None, data={"lots": lots})


def _needs(plan: Plan) -> Iterator[Ring]:
    if plan.batch.packed:
        yield from _keeping(plan)
        return
    if plan.lost and not any(c.slots.get("override") for c in plan.batch.choices):
        return  # nothing is left to protect
    yield from _before_smoke(plan)
    yield from _warm(plan)
    yield from _drying(plan)
    yield from _smoking(plan)
    yield from _cooling(plan)
    yield from _cold(plan)


def _paced(ring: Ring, plan: Plan, habits: Habits) -> Ring | None:
    """Move a reminder that was rung or answered before, and hold back in quiet hours what can wait."""
    rung = [r.at for r in plan.batch.rung if ring.key in parts(r.key)]
    answers = [a for a in plan.batch.answered if ring.key in parts(str(a.slots.get("key", "")))]
    due = _again(ring, rung, answers)
    if due is None:
        return None
    if not ring.protects:
        due = habits.quiet_end(due)
    return replace(ring, due=_on_the_minute(due))


def _on_the_minute(moment: datetime) -> datetime:
    """The next whole minute: nobody asked for seconds."""
    whole = moment.replace(second=0, microsecond=0)
    return whole if whole == moment else whole + timedelta(minutes=1)


def _again(ring: Ring, rung: list[datetime], answers: list[Told]) -> datetime | None:
    if not rung:
        return _later(ring.due, answers)
    if answers and answers[-1].at >= rung[-1]:
        snoozed = _later(rung[-1], answers)
        if snoozed > rung[-1]:
            return snoozed
        if ring.protects:
            return answers[-1].at + AFTER_ANSWER
        # Who said "I've got it" is called once more; every other answer is the end of it.
        return answers[-1].at + ONCE_MORE if "name" in answers[-1].slots and len(rung) < 2 else None
    if ring.protects:
        waits = _SKIN_AGAIN if ring.what == "surface" else AGAIN
        # Where what was told since has put it off, it waits for its new time.
        return max(ring.due, rung[-1] + waits[min(len(rung), len(waits)) - 1])
    return rung[-1] + ONCE_MORE if len(rung) < 2 and ring.what != "taste" else None


def _later(due: datetime, answers: Iterable[Told]) -> datetime:
    for answer in answers:
        if "until" in answer.slots:
            due = max(due, datetime.fromisoformat(answer.slots["until"]))
    return due


def _before_smoke(plan: Plan) -> Iterator[Ring]:
    for stage, what in ((Stage.THAW, "thawed"), (Stage.SOAK, "pull"), (Stage.SALT, "pull")):
        row = plan.stage(stage)
        if row is None or row.done:
            continue
        if row.begun:
            yield Ring(f"{what}", row.end, what, stage)
        elif stage is not Stage.THAW:
            # Whoever was just told when needs no call at once.
            told = max(plan.batch.told_at.values(), default=plan.batch.opened_at)
            yield Ring("start", max(row.start, told + _SAID_JUST_NOW), "start", stage)
    rest = plan.stage(Stage.REST)
    if rest is not None and not rest.begun and not rest.done and plan.now.stage in (Stage.RINSE, Stage.REST):
        # Not for the night: the warm clock has a call of its own.
        yield Ring("rest", rest.start + _SOON, "rest", Stage.REST, useful_until=rest.start + _CLOCK_AHEAD)
    dry = plan.stage(Stage.DRY)
    if dry and not dry.begun and plan.now.stage in (Stage.RINSE, Stage.REST, Stage.DRY):
        yield Ring("rack", dry.start, "rack", Stage.DRY)


def _warm(plan: Plan) -> Iterator[Ring]:
    """Raw fish left in the warm is called for before its clock ends, whatever its skin is like."""
    batch, clock = plan.batch, plan.exposure
    out = batch.started_at(Stage.DRY) or batch.done_at(Stage.SOAK) or batch.done_at(Stage.SALT)
    if out is None or clock is None or any(stage is Stage.SMOKE for stage, _ in batch.started):
        return
    chilled = _since(batch.happenings, "fridge", out) or limit("histamine.counts_above").kept(plan.making.air.air_c)
    if not chilled:
        left = timedelta(seconds=round(clock.left_h * 3600.0))
        yield Ring("exposure", plan.at + max(left - _CLOCK_AHEAD, timedelta(0)), "exposure", Stage.DRY, protects=True)


def _drying(plan: Plan) -> Iterator[Ring]:
    dry = plan.stage(Stage.DRY)
    if dry is None or not dry.begun or dry.done:
        return
    if not _since(plan.batch.happenings, "rotated", dry.start):
        half = dry.start + (dry.end - dry.start) / 2
        yield Ring("turn", half, "turn", Stage.DRY, useful_until=max(dry.end, half))
    touches = plan.batch.values("surface", since=dry.start)
    if touches and touches[-1].slots["surface"] in ("tacky", "dry"):
        yield Ring("light", touches[-1].at + timedelta(minutes=15), "light", Stage.DRY)
        return
    # Left in the warm, the growth clock runs: this one is not held back.
    yield Ring(f"surface:{len(touches)}", surface_look(plan, dry), "surface", Stage.DRY, protects=True)
    if not touches:
        yield Ring("heat", dry.end - _LIGHT_AHEAD, "heat", Stage.DRY, useful_until=dry.latest)


def _smoking(plan: Plan) -> Iterator[Ring]:
    rows = [row for row in plan.rows(Stage.SMOKE) if row.begun and not row.done]
    if not rows:
        return
    start = min(row.start for row in rows)
    cooks = [(row, plan.cooks.get(row.lot or WHOLE)) for row in rows]
    if any(cook is None or cook.next_look is not None for _, cook in cooks):  # else all may come out
        yield _recurring(plan, start, "fuel", ("fuel", "water"), _FUEL_EVERY)
        yield _recurring(plan, start, "rotate", ("rotated",), _ROTATE_EVERY)
    for row, cook in cooks:
        count = len(plan.batch.values("core_c", row.lot, since=row.start))
        if cook is None:
            continue
        if cook.next_look is None:
            yield Ring(f"out:{row.lot}", row.end + _OUT_AFTER, "out", Stage.SMOKE, row.lot)
        else:
            key = f"core:{row.lot}:{count}"
            yield Ring(key, cook.next_look, "core", Stage.SMOKE, row.lot, protects=True)


def _recurring(
    plan: Plan, start: datetime, what: str, done_by: tuple[str, ...], every: timedelta
) -> Ring:
    tended = [h.at for h in plan.batch.happenings if h.slots["what"] in done_by and h.at >= start]
    rung = [r.at for r in plan.batch.rung if r.what == what and r.at >= start]
    last = max([start, *tended, *rung])
    due = max(last + every, (plan.batch.heard_at or last) + _SAID_JUST_NOW)
    return Ring(f"{what}:{len(tended) + len(rung)}", due, what, Stage.SMOKE, useful_until=due + every)


def _cooling(plan: Plan) -> Iterator[Ring]:
    for lot, cooling in plan.coolings.items():
        if cooling.next_look is None:
            continue
        key = f"cool:{lot}:{len(plan.batch.values('core_c', lot))}"
        ran_out = cooling.cooling.ran_out_at
        if ran_out is None:
            yield Ring(key, cooling.next_look, "cool", Stage.COOL, lot, protects=True)
        else:  # a time that ran out is not saved by waking anybody
            due = max(cooling.next_look, ran_out + _OVER_AFTER)
            yield Ring(f"{key}:over", due, "cool", Stage.COOL, lot)


def _cold(plan: Plan) -> Iterator[Ring]:
    chill, pack = plan.stage(Stage.CHILL), plan.stage(Stage.PACK)
    cooled = all(row.done for row in plan.rows(Stage.COOL)) and bool(plan.rows(Stage.COOL))
    if chill is None or pack is None or not cooled:
        return
    read = plan.batch.values("fridge_c", since=chill.start) + plan.batch.values("core_c", since=chill.end)
    if not read:
        yield Ring("fridge", chill.start + timedelta(minutes=45), "fridge", Stage.CHILL)
    yield Ring("pack", pack.start, "pack", Stage.PACK)


def _keeping(plan: Plan) -> Iterator[Ring]:
    keep = plan.stage(Stage.KEEP)
    if keep is not None:
        yield Ring("use_by", keep.end - timedelta(days=1), "use_by", Stage.KEEP)
    packed = plan.batch.last_done(Stage.PACK)
    tasted = any(h.slots["what"] == "tasted" for h in plan.batch.happenings)
    if packed is not None and not tasted and not plan.lost:
        yield Ring("taste", packed + _MEAL_AFTER, "taste", Stage.KEEP, useful_until=packed + _MEAL_OVER)


def _since(happenings: Iterable[Told], what: str, start: datetime) -> bool:
    return any(h.slots["what"] == what and h.at >= start for h in happenings)

