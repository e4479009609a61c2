"""How warm the fish of a batch was, and for how long, as spells for the growth clocks.

Where no core was read the air stands in for the fish. Time in the cold counts as cold only where
somebody said that the fish went there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from planner.batch import Batch, Told
from planner.exposure import Exposure, Spell, exposures, spells_between, warm_before
from planner.making import Making
from planner.readings import Reading
from planner.stages import Stage

#: A probe is put in once the fish hangs in the smoke: before that the air stands in.
_STILL_WARM = timedelta(hours=48)


def exposure_now(batch: Batch, making: Making, now: datetime, ahead: Sequence[Spell] = ()) -> Exposure:
    """The clock nearest its end, of the lot that is furthest on it.

    ``ahead`` are the spells still planned: they say when the clock would be spent (``spent_at``)
    and count for nothing else. Fish that forms histamine is counted from catch to cold, other fish
    in the raw stages alone (a later cook undoes the rest).
    """
    clocks = [clock for lot in making.lots for clock in _clocks(batch, making, lot.name, now)]
    # Where no clock has moved yet, the one that will matter is shown.
    worst = max(clocks, key=lambda c: (c.share, c.rule.startswith("histamine")))
    if not ahead or worst.spent:
        return worst
    end = max(s.end for s in ahead)
    future = [clock for lot in making.lots for clock in _clocks(batch, making, lot.name, end, ahead)]
    spent = [c.spent_at for c in future if c.spent_at is not None]
    return replace(worst, spent_at=min(spent)) if spent else worst


def _clocks(
    batch: Batch, making: Making, lot: str, now: datetime, ahead: Sequence[Spell] = ()
) -> list[Exposure]:
    """Every clock of a lot with the spells that it counts."""
    raw = [*_before(batch, now), *_raw(batch, making, now), *(s for s in ahead if s.what != "heat")]
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


def _raw(batch: Batch, making: Making, now: datetime) -> list[Spell]:
    spells: list[Spell] = [*_in_fridge(batch, now)]
    trim = batch.started_at(Stage.TRIM)
    if trim:
        trimmed = batch.done_at(Stage.TRIM) or min(_next_start(batch, trim), now)
        spells += _in_air(batch, making, trim, trimmed)
    pulled = batch.done_at(Stage.SOAK) or batch.done_at(Stage.SALT)
    dry = batch.started_at(Stage.DRY)
    smoke = min((at for (s, _), at in batch.started.items() if s is Stage.SMOKE), default=None)
    if pulled:
        out = dry or smoke or now
        spells += _in_air(batch, making, pulled, min([out, *_cold_after(batch, pulled)]))
    if dry:
        done = batch.done_at(Stage.DRY)
        end = smoke or min([now, *_cold_after(batch, max(dry, done or dry))])
        spells += _in_air(batch, making, dry, end)
    return spells


def _in_fridge(batch: Batch, now: datetime) -> list[Spell]:
    """Thawing and soaking in a fridge that was read too warm counts like any other warm place."""
    starts = [at for (s, _), at in batch.started.items() if s in (Stage.THAW, Stage.SOAK, Stage.SALT)]
    if not starts:
        return []
    start = min(starts)
    ends = [batch.done_at(Stage.SOAK), batch.done_at(Stage.SALT), batch.started_at(Stage.DRY)]
    end = min([now, *(at for at in ends if at is not None and at >= start)])
    read = [Reading(r.at, float(r.slots["fridge_c"])) for r in batch.values("fridge_c") if start <= r.at <= end]
    if not read or end <= start:
        return []
    marks = [Reading(start, read[0].value_c), *read, Reading(end, read[-1].value_c)]
    return [s for s in spells_between(marks, end, "fridge") if s.warmest_c > 4.45]


def _cold_after(batch: Batch, moment: datetime) -> list[datetime]:
    """When the fish was said to go back in the cold after ``moment``."""
    rest = batch.started_at(Stage.REST)
    told = [h.at for h in _into_cold(batch)] + ([rest] if rest else [])
    return [at for at in told if at >= moment]


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
    last = max(readings)
    out = batch.done_at(Stage.SMOKE, lot)
    if last.value_c > 4.45 and now > last.at:
        # Out of the smoke and not read since, it may have fallen to the room's warmth at once.
        readings.append(Reading(now, min(last.value_c, making.air.air_c) if out else last.value_c))
    return spells_between(readings, now, "heat")
