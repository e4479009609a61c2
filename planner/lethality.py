"""Heat treatment in equivalent minutes, from the readings.

Log-linear death: rate = 10^((T - T_ref)/z), equivalent minutes = the integral of the rate, decades =
minutes / D_ref (the General Method with the trapezoid rule). It informs; it never replaces the hold.
Spores are never said to be killed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from planner.limits import citation, rule
from planner.ranges import require_between
from planner.readings import Reading, coldest_by_moment
from planner.sources import Citation


@dataclass(frozen=True)
class KillModel:
    """Log-linear heat resistance: reference [°C], z below and above it [K], D at the reference [min].

    Colder than ``from_c`` nothing is credited, hotter than ``to_c`` no more than at ``to_c``.
    """

    ref_c: float
    z_below_c: float
    z_above_c: float
    d_ref_min: float
    from_c: float = -math.inf
    to_c: float = math.inf

    def rate(self, temp_c: float) -> float:
        """Equivalent minutes at the reference per minute at ``temp_c``."""
        if temp_c < self.from_c:
            return 0.0
        above_k = min(temp_c, self.to_c) - self.ref_c
        return float(10.0 ** (above_k / (self.z_below_c if above_k < 0 else self.z_above_c)))

    def decades(self, minutes: float) -> float:
        """Decades that ``minutes`` at the reference destroy."""
        return minutes / self.d_ref_min

    def minutes_for(self, decades: float, temp_c: float) -> float:
        """Minutes at ``temp_c`` that destroy so many ``decades``; infinite where nothing is credited."""
        rate = self.rate(temp_c)
        return decades * self.d_ref_min / rate if rate > 0 else math.inf


@dataclass(frozen=True)
class Lethality:
    """Heat treatment of one lot so far: ``minutes`` equivalent at ``ref_c``, ``decades`` of Listeria."""

    ref_c: float
    z_c: float
    minutes: float
    decades: float
    citation: Citation


def kill_model(key: str) -> KillModel:
    """Model ``listeria`` (FDA Hazards Guide, Appendix 4, Table A-3) or ``botulinum_b`` (Table A-4)."""
    found = rule(f"kill.{key}")
    names = ("ref_c", "z_below_c", "z_above_c", "d_ref_min", "from_c", "to_c")
    return KillModel(*(float(found[name]) for name in names))


def equivalent_minutes(
    readings: Sequence[Reading], model: KillModel, coarse_gap_min: float = math.inf
) -> float:
    """Equivalent minutes at the reference over ``readings`` in order of time.

    Trapezoid rule on the rate; where two readings are more than ``coarse_gap_min`` apart, the colder
    one counts for the whole interval, since a trapezoid over-estimates on a rising curve.
    """
    total = 0.0
    for a, b in pairwise(readings):
        minutes = (b.at - a.at).total_seconds() / 60.0
        rates = model.rate(a.value_c), model.rate(b.value_c)
        total += minutes * (min(rates) if minutes > coarse_gap_min else sum(rates) / 2.0)
    return total


def lethality(core: Sequence[Reading], now: datetime) -> Lethality:
    """Listeria lethality of one lot by its ``core`` readings up to ``now``.

    z 7.5 °C, reference 70 °C, 6 decades in 2 min (FDA Hazards Guide 4th ed., Appendix 4, Table A-3);
    nothing below 60 °C, where published D-values in fish exceed the model's; beyond 10 min between
    readings the colder counts (our own rule).
    """
    model = kill_model("listeria")
    coarse = float(rule("lethality")["coarse_gap_min"])
    minutes = equivalent_minutes(coldest_by_moment(core, now), model, coarse)
    return Lethality(model.ref_c, model.z_below_c, minutes, model.decades(minutes), citation("kill.listeria"))


def held_decades(temp_c: float, minutes: float) -> float:
    """Decades of Listeria after ``minutes`` (0..1e5) at a constant core ``temp_c`` (-80..300 °C)."""
    require_between("minutes", minutes, 0.0, 1e5, "min")
    require_between("temp_c", temp_c, -80.0, 300.0, "°C")
    model = kill_model("listeria")
    return model.decades(minutes * model.rate(temp_c))
