"""The smoker's air: the band of hot smoking, and the window of cold smoking."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from planner.limits import citation, limit, rule
from planner.readings import Reading, coldest_by_moment, warmest_by_moment
from planner.sources import Citation
from planner.verdict import Call


class ChamberState(StrEnum):
    """What the newest chamber readings say."""

    NOT_READ = "chamber_not_read"
    IN_BAND = "chamber_in_band"
    BELOW_BAND = "chamber_below_band"
    ABOVE_BAND = "chamber_above_band"
    TOO_HOT = "chamber_too_hot"  #: fat and curd come out, the surface seals
    TOO_COLD_LONG = "chamber_too_cold_long"  #: the fish lies in the warm without getting hot


@dataclass(frozen=True)
class HotChamber:
    """State of a hot smoker with the call it makes; ``low_h`` is how long it has been read too low."""

    state: ChamberState
    call: Call
    chamber_c: float | None
    low_h: float
    citation: Citation


@dataclass(frozen=True)
class ColdSmoke:
    """A cold smoke's window: ``rule`` is ``cold_smoke.mild`` or ``cold_smoke.cool``.

    ``too_warm`` when the chamber was read above 32.2 °C: no window allows that. ``read`` is False
    where nobody read it.
    """

    rule: str
    call: Call
    used_h: float
    limit_h: float
    too_warm: bool
    citation: Citation
    read: bool = True

    @property
    def left_h(self) -> float:
        """Hours left in the window."""
        return max(0.0, self.limit_h - self.used_h)

    @property
    def spent(self) -> bool:
        """True if the smoke has lasted longer than its window."""
        return self.used_h > self.limit_h + 1e-9


def hot_chamber(chamber: Sequence[Reading], core_c: float | None, now: datetime) -> HotChamber:
    """Judge a hot smoker at ``now`` by its readings and the coldest core, None where not read.

    82-93 °C (180-200 °F), not above 99 °C (210 °F): common practice, no source. An hour of readings below
    71 °C (160 °F) with a core below 60 °C asks for heat: our own rule.
    """
    read = warmest_by_moment(chamber, now)
    if not read:
        return HotChamber(ChamberState.NOT_READ, Call.WAIT, None, 0.0, citation("chamber.low"))
    low_h = _low_h(coldest_by_moment(chamber, now))
    newest_c = read[-1].value_c
    state, call, key = _state(newest_c, core_c, low_h)
    return HotChamber(state, call, newest_c, low_h, citation(key))


def _state(chamber_c: float, core_c: float | None, low_h: float) -> tuple[ChamberState, Call, str]:
    low = rule("chamber.too_low")
    cold_core = core_c is None or core_c < low["cold_core_c"]
    if not limit("chamber.ceiling").kept(chamber_c):
        return ChamberState.TOO_HOT, Call.ACT, "chamber.ceiling"
    if cold_core and low_h >= low["for_h"]:
        return ChamberState.TOO_COLD_LONG, Call.ACT, "chamber.too_low"
    if not limit("chamber.high").kept(chamber_c):
        return ChamberState.ABOVE_BAND, Call.NOTED, "chamber.high"
    if not limit("chamber.low").reached(chamber_c):
        return ChamberState.BELOW_BAND, Call.NOTED, "chamber.low"
    return ChamberState.IN_BAND, Call.GO, "chamber.low"


def _low_h(read: Sequence[Reading]) -> float:
    """Hours from the first to the last reading of the row of low ones that ends the log."""
    low: list[Reading] = []
    for reading in reversed(read):
        if limit("chamber.too_low").reached(reading.value_c):
            break
        low.append(reading)
    return (low[0].at - low[-1].at) / timedelta(hours=1) if low else 0.0


def cold_smoke(chamber: Sequence[Reading], started_at: datetime, now: datetime) -> ColdSmoke:
    """Judge a cold smoke that began (drying before it included) at ``started_at``.

    At most 32.2 °C (90 °F) for at most 20 h, or at most 10 °C (50 °F) for at most 24 h: Association of Food
    and Drug Officials, smoked fish practices. A chamber nobody read is in the stricter window.
    """
    read = warmest_by_moment(chamber, now)
    cool = bool(read) and all(limit("cold_smoke.cool").kept(r.value_c) for r in read)
    too_warm = any(not limit("cold_smoke.mild").kept(r.value_c) for r in read)
    key = "cold_smoke.cool" if cool else "cold_smoke.mild"
    used_h = max(0.0, (now - started_at) / timedelta(hours=1))
    limit_h = float(rule(key)["hours"])
    call = Call.STOP if used_h > limit_h else Call.ACT if too_warm else Call.WAIT
    return ColdSmoke(key, call, used_h, limit_h, too_warm, citation(key), bool(read))
