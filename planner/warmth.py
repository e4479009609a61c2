"""How warm the fish of a batch was, and for how long, as spells for the growth clocks.

Where no core was read the air stands in for the fish. Time in the cold counts as cold only where
somebody said that the fish went there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import IntEnum
from itertools import pairwise
from types import MappingProxyType

from planner.batch import Batch, Told
from planner.exposure import Exposure, Spell, exposures, spells_between, warm_before
from planner.limits import limit
from planner.making import Making
from planner.readings import Reading
from planner.stages import Stage

#: Behind a reading of the moment itself, which counts as it is.
_AT_ONCE = timedelta(seconds=1)
#: A probe is put in once the fish hangs in the smoke: before that the air stands in.
_STILL_WARM = timedelta(hours=48)
#: 40 °F, as printed and to the digit of a thermometer.
_COUNTS_ABOVE_C = limit("histamine.counts_above").most_c


def exposure_now(
    batch: Batch, making: Making, now: datetime, ahead: Mapping[str, Sequence[Spell]] = MappingProxyType({})
) -> Exposure:
    """The clock nearest its end, of the lot that is furthest on it.

    ``ahead`` are the spells of each lot that are still planned: they say when the clock would be
    spent (``spent_at``) and count for nothing else. Fish that forms histamine is counted from catch
    to cold, other fish in the raw stages alone (a later cook undoes the rest).
    """
    clocks = [clock for lot in making.lots for clock in _clocks(batch, making, lot.name, now)]
    # Where no clock has moved yet, the one that will matter is shown.
    worst = max(clocks, key=lambda c: (c.share, c.rule.startswith("histamine")))
    if not ahead or worst.spent:
        return worst
    future = [
        clock for lot in making.lots for clock in _clocks(batch, making, lot.name, now, ahead.get(lot.name, ()))
    ]
    spent = [c.spent_at for c in future if c.spent_at is not None]
    return replace(worst, spent_at=min(spent)) if spent else worst


def _clocks(
    batch: Batch, making: Making, lot: str, now: datetime, ahead: Sequence[Spell] = ()
) -> list[Exposure]:
    """Every clock of a lot with the spells that it counts."""
    raw = [*_before(batch, now), *_raw(batch, making, lot, now), *(s for s in ahead if s.what != "heat")]
    clocks = exposures(
        raw, histamine=False, previously_frozen=making.thawed, cold_smoked=making.cold_smoke
    )
    if making.species.histamine:
        warm = [*raw, *_heated(batch, making, lot, now), *(s for s in ahead if s.what == "heat")]
        every = exposures(
            warm, histamine=True, previously_frozen=making.thawed, cold_smoked=making.cold_smoke
        )
        clocks += [clock for clock in every if clock.rule.startswith("histamine")]
    return clocks


def _before(batch: Batch, now: datetime) -> list[Spell]:
    first = min(batch.started.values(), default=now)
    warm_h = batch.told.get("warm_h")
    if warm_h is not None:
        return [warm_before(float(warm_h), min(first, batch.told_at["warm_h"]))]
    caught = batch.told.get("caught_at")
    if caught is None:
        return []
    at = datetime.fromisoformat(caught)
    chilled = min([first, now, *(h.at for h in _into_cold(batch) if h.at >= at)])
    hours = (chilled - at) / timedelta(hours=1)
    return [warm_before(hours, chilled)] if hours > 0 else []


def _into_cold(batch: Batch) -> list[Told]:
    return [h for h in batch.happenings if h.slots["what"] == "fridge"]


def _raw(batch: Batch, making: Making, lot: str, now: datetime) -> list[Spell]:
    spells: list[Spell] = []
    trim = batch.started_at(Stage.TRIM)
    if trim:
        trimmed = batch.done_at(Stage.TRIM) or min(_next_start(batch, trim), now)
        spells += _in_air(batch, making, trim, trimmed)
    end = min(now, batch.started_at(Stage.SMOKE, lot) or now)
    moves = [*(m for m in _moves(batch, lot) if m.at < end), _Move(end, _Place.SMOKE)]
    for move, following in pairwise(moves):
        if move.to is _Place.COLD:
            spells += _in_fridge(batch, move.at, following.at)
        else:
            spells += _in_air(batch, making, move.at, following.at)
    return spells


class _Place(IntEnum):
    """Where raw fish goes; of moves told for one moment the later of these counts."""

    AIR = 0  #: out of the brine
    COLD = 1  #: thawing, in the brine, back in the cold
    RACKS = 2
    SMOKE = 3


@dataclass(frozen=True, order=True)
class _Move:
    at: datetime
    to: _Place


def _moves(batch: Batch, lot: str) -> list[_Move]:
    """Every time that the lot was said to go into the warm or the cold before the smoke, in order."""
    moves = [_Move(h.at, _Place.COLD) for h in _into_cold(batch)]
    cold = (Stage.THAW, Stage.SOAK, Stage.SALT, Stage.REST)
    moves += [_Move(at, _Place.COLD) for (s, of), at in batch.started.items() if s in cold and of in (None, lot)]
    pulls = (Stage.SOAK, Stage.SALT)
    moves += [_Move(at, _Place.AIR) for (s, of), at in batch.done.items() if s in pulls and of in (None, lot)]
    racked = (t for t in batch.steps if t.slots["stage"] == Stage.DRY and t.slots.get("started"))
    moves += [_Move(t.at, _Place.RACKS) for t in racked if t.lot in (None, lot)]
    return sorted(moves)


def _in_fridge(batch: Batch, start: datetime, end: datetime) -> list[Spell]:
    """A fridge or a core that was read too warm in the cold stages counts like any other warm place."""
    read = sorted(
        Reading(r.at, float(r.slots[key]))
        for key in ("fridge_c", "core_c")
        for r in batch.values(key)
        if start <= r.at <= end
    )
    if not read or end <= start:
        return []
    marks = [Reading(start, read[0].value_c), *read, Reading(end, read[-1].value_c)]
    return [s for s in spells_between(marks, end, "fridge") if s.warmest_c > _COUNTS_ABOVE_C]


def _next_start(batch: Batch, moment: datetime) -> datetime:
    later = [at for at in batch.started.values() if at > moment]
    return min(later, default=moment + _STILL_WARM)


def _in_air(batch: Batch, making: Making, start: datetime, end: datetime) -> list[Spell]:
    """Spells from air reading to air reading between two moments, each as warm as the warmer end."""
    if end <= start:
        return []
    read = [(r.at, float(r.slots["air_c"])) for r in batch.values("air_c") if start < r.at < end]
    before = [float(r.slots["air_c"]) for r in batch.values("air_c") if r.at <= start]
    first = before[-1] if before else (read[0][1] if read else making.air.air_c)
    marks = [(start, first), *read]
    ends = [*marks[1:], (end, marks[-1][1])]
    return [
        Spell(a_at, b_at, max(a_c, b_c), min(a_c, b_c), "air")
        for (a_at, a_c), (b_at, b_c) in zip(marks, ends, strict=True)
        if b_at > a_at
    ]


def _heated(batch: Batch, making: Making, lot: str, now: datetime) -> list[Spell]:
    start = batch.started_at(Stage.SMOKE, lot)
    if start is None:
        return []
    if making.cold_smoke:
        # The chamber stands in for the fish, as the air does while drying.
        end = batch.done_at(Stage.SMOKE, lot) or now
        warmest = max([making.chamber_c, *(float(r.slots["chamber_c"]) for r in batch.values("chamber_c"))])
        return [Spell(start, min(end, now), warmest, making.air.air_c, "heat")] if end > start else []
    core = [Reading(r.at, float(r.slots["core_c"])) for r in batch.values("core_c", lot, since=start)]
    readings = [Reading(start, making.air.air_c), *core]
    last, outs = max(readings), batch.left_heat(lot)
    for out in outs:
        after = next((r for r in sorted(core) if r.at > out), None)
        if after is not None and limit("histamine.hot_from").reached(after.value_c):
            # Heated once more, for all that is known: it fell to the room's warmth as soon as it was out.
            readings.append(Reading(out + _AT_ONCE, min(after.value_c, making.air.air_c)))
    if last.value_c > _COUNTS_ABOVE_C and now > last.at:
        # Out of the smoke and not read since, it may have fallen to the room's warmth at once.
        fell = batch.done_at(Stage.SMOKE, lot) is not None or (outs and outs[-1] >= last.at)
        readings.append(Reading(now, min(last.value_c, making.air.air_c) if fell else last.value_c))
    return spells_between(readings, now, "heat")
