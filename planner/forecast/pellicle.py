"""When the pellicle will be there, from weighings and what was felt."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from planner.drying import Tack, Weather, pellicle_after_weighing, pellicle_time
from planner.piece import Piece
from planner.ranges import require_between
from planner.spread import Spread

#: Felt wet or damp at a time, with no weighing: not there yet, so at least this much later [h].
_SOONEST_AFTER_TOUCH_H = 0.25


@dataclass(frozen=True)
class PellicleForecast:
    """``hours`` from the start of drying until the pellicle, None where the air cannot dry it.

    ``why`` then says so; ``look_h`` is when to feel or weigh next, hours from the start.
    """

    hours: Spread | None
    why: str | None
    look_h: float | None


def forecast_pellicle(
    piece: Piece,
    weather: Weather,
    weighings: Sequence[tuple[float, float]] = (),
    *,
    now_h: float,
    wps_pct: float = 3.0,
    start_c: float = 4.0,
    still_wet_at_h: float | None = None,
    tack: Tack | None = None,
) -> PellicleForecast:
    """Forecast from ``weighings`` (hours since the start, percent of the mass lost), none or many.

    The latest weighing counts: what has gone by then tells the rate of the whole time. A surface
    felt wet or damp at ``still_wet_at_h`` rules out a pellicle before. ``tack`` is what earlier batches
    taught of the rig, and weighs in beside the scale. Sums and sources:
    :mod:`planner.drying`. OutOfRange for impossible values.
    """
    require_between("now_h", now_h, 0.0, 72.0, "h")
    before = pellicle_time(piece, weather, wps_pct, start_c, tack)
    told = [(h, loss) for h, loss in sorted(weighings) if 0.0 < h <= now_h]
    if before.hours is None:
        return PellicleForecast(None, before.why, None)
    hours: Spread | None = before.hours
    if told:
        at_h, loss = told[-1]
        left = pellicle_after_weighing(piece, weather, wps_pct, at_h, loss, start_c=start_c)
        hours = None if left is None else Spread(at_h + left.low, at_h + left.mid, at_h + left.high)
        if hours is not None and tack is not None:
            hours = _between(hours, before.hours)
    if hours is None:
        return PellicleForecast(None, "too_humid", None)
    soonest = now_h if still_wet_at_h is None else max(now_h, still_wet_at_h + _SOONEST_AFTER_TOUCH_H)
    hours = Spread(*(max(h, soonest) for h in (hours.low, hours.mid, hours.high)))
    return PellicleForecast(hours, None, max(0.5 * (hours.low + hours.mid), now_h + _SOONEST_AFTER_TOUCH_H))


def _between(one: Spread, other: Spread) -> Spread:
    """Two estimates that share their errors: between them by how sure each is, and no surer than the surer one."""
    if not math.isfinite(one.high) or not math.isfinite(other.high) or min(one.low, other.low) <= 0.0:
        return one if math.isfinite(one.high) else other
    wide, wide_other = math.log(one.high / one.low), math.log(other.high / other.low)
    share = wide_other**2 / max(wide**2 + wide_other**2, 1e-12)
    surer = one if wide <= wide_other else other
    mid = one.mid**share * other.mid ** (1.0 - share)
    return Spread(mid * surer.low / surer.mid, mid, mid * surer.high / surer.mid)
