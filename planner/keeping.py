"""How long smoked fish may be kept: a date that only ever moves earlier.

Each temperature has a cap (``data/storage_caps.csv``); a fridge log uses the cap up as the sum of
hours over cap, and the time to toxin of Skinner and Larkin speaks as a second voice. Never beyond the
14 days of home guidance. No credit for smoke, vacuum, sugar or a salt that was not measured.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from itertools import zip_longest
from typing import Literal

from planner.growth import toxin_days
from planner.limits import Limit, citation, rule
from planner.ranges import require_between
from planner.readings import Reading, warmest_by_moment
from planner.sources import Citation, cite, table

Product = Literal["hot", "cold"]
Pack = Literal["open", "airless", "frozen"]


@dataclass(frozen=True)
class Keep:
    """How long a packed batch keeps.

    ``until`` is the last moment to eat or freeze it, None where no date may be given: ``why`` then
    says ``airless_not_proven`` or ``used_up``. ``best_until`` is when it is at its best. ``assumed_c``
    is the temperature taken from the last reading on; ``why`` holds the keys of what set the date
    (``ceiling``, ``cap``, ``toxin_time``, ``fridge_not_read``, ``frozen_quality``). ``days`` counts
    from the end of smoking, for a frozen pack from packing.
    """

    until: datetime | None
    best_until: datetime | None
    days: float
    assumed_c: float
    why: tuple[str, ...]
    citations: tuple[Citation, ...]


@dataclass(frozen=True)
class _Cap:
    top_c: float
    hours: float
    citation: Citation


def keep_by(
    *,
    smoked_at: datetime,
    packed_at: datetime,
    product: Product,
    pack: Pack,
    fridge: Sequence[Reading],
    now: datetime,
    airless_proven: bool,
    histamine: bool,
    raw_chill_d: float = 0.0,
) -> Keep:
    """Date for a batch smoked until ``smoked_at`` and packed at ``packed_at``, as known at ``now``.

    ``fridge`` are all readings of the fridge it lies in. Between two readings the warmer counts; a
    fridge that nobody read before packing is taken as 5 °C (our own rule). ``airless_proven`` is the
    airless gate as it stood at packing. ``raw_chill_d`` (0..60 d) are the days that fish which forms
    histamine lay raw in the cold. Sources: home guidance (PNW 450, Michigan State University
    Extension), FDA Hazards Guide 4th ed., Appendix 4, and FDA 1998 in the IFT report, Table VI-1.
    """
    require_between("raw_chill_d", raw_chill_d, 0.0, 60.0, "d")
    caps = _caps("histamine" if histamine else product)
    raw_used = raw_chill_d * 24.0 / caps[0].hours if histamine else 0.0
    log = _log(smoked_at, packed_at, warmest_by_moment(fridge, now))
    ends = {
        "ceiling": smoked_at + timedelta(days=rule("keep.ceiling")["days"]),
        "cap": _used_up(log, packed_at, lambda temp_c: _cap(caps, temp_c).hours, raw_used),
        "toxin_time": _used_up(log, packed_at, _toxin_hours, 0.0),
    }
    why, until = min(ends.items(), key=lambda end: end[1])
    known = any(r.at <= min(packed_at, now) for r in fridge)
    reasons = (why,) if known else (why, "fridge_not_read")
    where = (_source(why, log, caps),)
    temp_c = log[-1].value_c
    if pack == "airless" and not airless_proven:
        return Keep(None, None, 0.0, temp_c, ("airless_not_proven",), (citation("airless"),))
    if until <= packed_at:
        return Keep(None, None, 0.0, temp_c, ("used_up", *reasons), where)
    if pack == "frozen":
        return _frozen(packed_at, temp_c)
    best = min(until, smoked_at + timedelta(days=rule("keep.best")["days"]))
    return Keep(until, best, (until - smoked_at) / timedelta(days=1), temp_c, reasons, where)


def _frozen(packed_at: datetime, temp_c: float) -> Keep:
    found = rule("keep.frozen")
    until = packed_at + timedelta(days=found["days"])
    best = packed_at + timedelta(days=found["best_days"])
    return Keep(until, best, float(found["days"]), temp_c, ("frozen_quality",), (citation("keep.frozen"),))


def _used_up(
    log: Sequence[Reading], packed_at: datetime, hours_at: Callable[[float], float], used: float
) -> datetime:
    """Moment at which the sum of hours over ``hours_at`` reaches one.

    From packing on, what each reading promised stands: a colder one later does not give time back.
    """
    promised: list[datetime] = []
    for look, following in zip_longest(log, log[1:]):
        left = max(0.0, 1.0 - used)
        if following is None or following.at > packed_at:
            promised.append(look.at + timedelta(hours=left * hours_at(look.value_c)))
        if following is not None:
            cap_h = hours_at(max(look.value_c, following.value_c))
            hours = (following.at - look.at) / timedelta(hours=1)
            if hours >= left * cap_h:
                return min([*promised, look.at + timedelta(hours=left * cap_h)])
            used += hours / cap_h
    return min(promised)


def _toxin_hours(temp_c: float) -> float:
    """Hours to toxin; hotter than the model reaches as at its end, where the caps are shorter."""
    model = rule("growth.toxin_time")
    return 24.0 * toxin_days(min(max(temp_c, float(model["clamp_c"])), float(model["to_c"])))


def _cap(caps: Sequence[_Cap], temp_c: float) -> _Cap:
    return next(cap for cap in caps if temp_c <= cap.top_c)


def _source(why: str, log: Sequence[Reading], caps: Sequence[_Cap]) -> Citation:
    if why == "ceiling":
        return citation("keep.ceiling")
    if why == "toxin_time":
        return citation("growth.toxin_time")
    return _cap(caps, max(look.value_c for look in log)).citation


@cache
def _caps(kind: str) -> tuple[_Cap, ...]:
    """Caps of a class, coldest first."""
    return tuple(
        _Cap(
            Limit(kind, float(row["to_c"]), float(row["to_f"])).most_c if row["to_c"] else math.inf,
            float(row["hours"]),
            cite(row["source"], row["place"], row["status"]),
        )
        for row in table("storage_caps")
        if row["class"] == kind
    )


def _log(smoked_at: datetime, packed_at: datetime, read: Sequence[Reading]) -> list[Reading]:
    """Readings from the end of smoking on; the first stands for what was known of the fridge by then."""
    known = [r for r in read if r.at <= packed_at]
    before = [r.value_c for r in known if r.at <= smoked_at][-1:] or [r.value_c for r in known][:1]
    first_c = before[0] if before else float(rule("fridge_not_read")["assumed_c"])
    return [Reading(smoked_at, first_c), *(r for r in read if r.at > smoked_at)]
