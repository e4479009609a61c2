"""May an airless pack be kept chilled? Only on a measured salt and a cold fridge.

FDA Fish and Fishery Products Hazards and Controls Guidance, 4th ed., ch. 13: reduced-oxygen packed and
refrigerated smoked fish needs 3.5 % salt in the water phase (WPS). A calculated WPS is not a measurement.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from planner.limits import citation, limit, rule
from planner.ranges import require_between
from planner.readings import Reading, warmest_by_moment
from planner.sources import Citation


@dataclass(frozen=True)
class AirlessGate:
    """Open only when nothing is ``missing``.

    Keys of what is missing: ``wps_not_measured``, ``wps_too_low``, ``fridge_not_read``,
    ``fridge_not_read_lately``, ``fridge_too_warm``. Shut means: freeze the bag, or pack in paper or
    open film.
    """

    missing: tuple[str, ...]
    wps_pct: float | None
    fridge_c: float | None
    citation: Citation

    @property
    def open(self) -> bool:
        """True if the pack may be kept chilled."""
        return not self.missing


def airless_gate(wps_measured_pct: float | None, fridge: Sequence[Reading], now: datetime) -> AirlessGate:
    """Judge an airless, chilled pack at ``now``.

    ``wps_measured_pct`` (0..27 %) is a laboratory's or a test strip's figure, never an estimate.
    ``fridge`` are the readings since the fish went in to chill: the newest within 24 h (our own rule),
    none above 3.3 °C (38 °F).
    """
    if wps_measured_pct is not None:
        require_between("wps_measured_pct", wps_measured_pct, 0.0, 27.0, "%")
    read = warmest_by_moment(fridge, now)
    missing = (*_salt_missing(wps_measured_pct), *_cold_missing(read, now))
    warmest_c = max((r.value_c for r in read), default=None)
    return AirlessGate(missing, wps_measured_pct, warmest_c, citation("airless"))


def _salt_missing(wps_measured_pct: float | None) -> tuple[str, ...]:
    if wps_measured_pct is None:
        return ("wps_not_measured",)
    return () if wps_measured_pct >= rule("airless")["wps_pct"] else ("wps_too_low",)


def _cold_missing(read: Sequence[Reading], now: datetime) -> tuple[str, ...]:
    if not read:
        return ("fridge_not_read",)
    late = now - read[-1].at > timedelta(hours=rule("airless_cold")["fresh_h"])
    warm = any(not limit("airless_cold").kept(r.value_c) for r in read)
    return tuple(key for key, holds in (("fridge_not_read_lately", late), ("fridge_too_warm", warm)) if holds)
