"""The air over the racks as it was told and read, hour by hour, and what a weighing says of the drying."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from planner.batch import Batch
from planner.drying import LONGEST_H, Air, pellicle_after_weighing
from planner.making import Making, air_as_dried
from planner.spread import Spread
from planner.stages import Stage

#: A weighing this close to the start of drying is the weight that the drying starts from.
_AT_START = timedelta(minutes=30)

Weather = tuple[tuple[float, Air], ...]


def weather(batch: Batch, making: Making) -> Weather:
    """Air from the start of drying on: (hours it lasted, air) from reading to reading, the last one stays."""
    start = batch.started_at(Stage.DRY)
    if start is None:
        return ((LONGEST_H, making.air),)
    read = [r for r in batch.readings if r.at > start and ("air_c" in r.slots or "rh_pct" in r.slots)]
    air = _before(batch, making, start)
    steps: list[tuple[float, Air]] = []
    since = start
    for reading in read:
        steps.append((round((reading.at - since) / timedelta(hours=1), 2), air))
        air = replace(
            air,
            air_c=air_as_dried(float(reading.slots.get("air_c", air.air_c))),
            rh_pct=float(reading.slots.get("rh_pct", air.rh_pct)),
        )
        since = reading.at
    steps.append((LONGEST_H, air))
    return tuple(step for step in steps if step[0] > 0.0)


def _before(batch: Batch, making: Making, start: datetime) -> Air:
    """The air at the start of drying: as read before it, else as it is first read or told."""
    air = making.air
    return replace(
        air,
        air_c=air_as_dried(_first(batch, "air_c", start, air.air_c)),
        rh_pct=_first(batch, "rh_pct", start, air.rh_pct),
    )


def _first(batch: Batch, key: str, start: datetime, usual: float) -> float:
    read = batch.values(key)
    before = [r for r in read if r.at <= start]
    chosen = before[-1] if before else (read[0] if read else None)
    return usual if chosen is None else float(chosen.slots[key])


def weighed(batch: Batch, making: Making, wps_pct: float) -> tuple[datetime, Spread] | None:
    """What the last weighing on the racks says: when it was, and the hours still to go then.

    None where there was none, or nothing to compare it with.
    """
    start = batch.started_at(Stage.DRY)
    if start is None:
        return None
    scale = [m for m in batch.values("mass_g") if m.at >= start - _AT_START and m.lot is None]
    if not scale:
        return None
    first = scale[0]
    base = float(first.slots["mass_g"]) if abs(first.at - start) <= _AT_START else _told_mass(making)
    last = scale[-1]
    hours = (last.at - start) / timedelta(hours=1)
    if base is None or hours < 0.25 or hours > LONGEST_H:
        return None
    loss = 100.0 * (1.0 - float(last.slots["mass_g"]) / base)
    if not -2.0 <= loss <= 30.0:
        return None
    left = pellicle_after_weighing(making.thickest, weather(batch, making), round(wps_pct, 1), hours, loss)
    return (last.at, left) if left is not None else None


def _told_mass(making: Making) -> float | None:
    """The raw weight, which brining changes by a percent or two; None where it was assumed."""
    return None if "mass_g" in making.assumed else making.mass_g
