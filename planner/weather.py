"""The air over the racks as it was told and read, hour by hour, and what a weighing says of the drying."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from planner.batch import Batch
from planner.drying import LONGEST_H, Air, Tack
from planner.forecast.pellicle import forecast_pellicle
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


def pellicle_ahead(batch: Batch, making: Making, wps_pct: float, now: datetime) -> Spread | None:
    """Hours from the start of drying to the pellicle, by the air, the scale and the finger.

    None where drying has not begun, where nothing was weighed or felt, or where the air cannot dry.
    """
    start = batch.started_at(Stage.DRY)
    if start is None:
        return None
    hours = (now - start) / timedelta(hours=1)
    wet = [t for t in batch.values("surface", since=start) if t.slots["surface"] in ("wet", "damp")]
    losses, known = _losses(batch, making, start), making.known.tack
    if not 0.0 <= hours <= LONGEST_H or not (wet or losses):
        return None
    return forecast_pellicle(
        making.thickest,
        weather(batch, making),
        losses,
        now_h=hours,
        wps_pct=round(wps_pct, 1),
        still_wet_at_h=(wet[-1].at - start) / timedelta(hours=1) if wet else None,
        tack=Tack(known.mean, known.sd) if known else None,
    ).hours


def _losses(batch: Batch, making: Making, start: datetime) -> list[tuple[float, float]]:
    """Weighings on the racks: (hours since the start, percent lost); none where there is no first weight."""
    scale = [m for m in batch.values("mass_g") if m.at >= start - _AT_START and m.lot is None]
    if not scale:
        return []
    first = scale[0]
    base = float(first.slots["mass_g"]) if abs(first.at - start) <= _AT_START else _told_mass(making)
    if base is None:
        return []
    found = [
        ((m.at - start) / timedelta(hours=1), 100.0 * (1.0 - float(m.slots["mass_g"]) / base)) for m in scale
    ]
    return [(h, loss) for h, loss in found if h >= 0.25 and -2.0 <= loss <= 30.0]


def _told_mass(making: Making) -> float | None:
    """The raw weight, which brining changes by a percent or two; None where it was assumed."""
    return None if "mass_g" in making.assumed else making.mass_g
