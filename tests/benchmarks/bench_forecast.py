"""Core forecasts on simulated cooks: error and coverage, beside a straight line and Newton's law.

    python -m tests.benchmarks.bench_forecast [cooks]

The truth is two-dimensional (tests/simulated): doors opened, a chamber that cycles and sags, probes
3 to 6 mm off, readings rounded. Newton's law is fitted with the chamber known, in two ways: one rate
through the temperature at the start and all readings, as people do it ("Newton"), and through the first
reading, which is better because it leaves out how the surface was wet at first ("later").
"""

from __future__ import annotations

import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from planner.forecast import forecast_core
from tests.simulated.cooks import Told, cooks

MARK_C = 62.8
#: A forecast is judged while more than this is left [s].
LEAST_LEFT_S = 300.0


@dataclass(frozen=True)
class Judged:
    """One forecast against the truth: shares of the time left."""

    count: int
    ours: float
    held: bool
    newton: float
    later: float
    line: float
    spent_ms: float


def straight_line_s(core: Sequence[tuple[float, float]]) -> float:
    """When the line through the last two readings meets the mark."""
    (s0, c0), (s1, c1) = core[-2:]
    slope = (c1 - c0) / (s1 - s0)
    return s1 + (MARK_C - c1) / slope if slope > 0 else np.inf


def newton_s(begun: tuple[float, float], core: Sequence[tuple[float, float]], chamber_c: float) -> float:
    """When Newton's law with a known chamber meets the mark: through ``begun``, its rate fitted to all of ``core``.

    Where it meets the mark is told from its own curve; where it starts at the first reading, from the last.
    """
    seconds, degrees = np.array(core).T
    first = max(chamber_c - begun[1], 1.0)

    def slope(rate: float) -> float:
        share = np.exp(-rate * (seconds - begun[0]))
        off = chamber_c - first * share - degrees
        return float(np.sum(off * share * (seconds - begun[0])))

    low, high = 1e-7, 1e-2
    rate = brentq(slope, low, high) if slope(low) * slope(high) < 0 else low
    since = begun if begun != core[0] else core[-1]
    left = (chamber_c - MARK_C) / max(chamber_c - since[1], 1e-3)
    return float(since[0] - np.log(left) / rate) if 0 < left < 1 else np.inf


def judge(cook: Told, seed: int) -> list[Judged]:
    """All forecasts of one cook before it meets the mark."""
    due = cook.reaches_s(MARK_C)
    found = []
    for count in range(1, len(cook.core) + 1):
        core = cook.core[:count]
        now = core[-1][0]
        if not np.isfinite(due) or now > due - LEAST_LEFT_S:
            break
        chamber = [c for c in cook.chamber if c[0] <= now]
        begun = time.perf_counter()
        forecast = forecast_core(cook.piece, core, chamber, now_s=now, wps_pct=cook.wps_pct, seed=seed)
        spent = 1e3 * (time.perf_counter() - begun)
        when = forecast.marks["floor"].when
        left = due - now
        ours = abs(when.mid - due) / left if when else 1.0
        held = when is not None and when.low <= due <= when.high
        newton = later = line = np.nan
        if count >= 2:
            begun_at = (0.0, float(cook.core_c[0]))
            peers = (newton_s(begun_at, core, chamber[-1][1]), newton_s(core[0], core, chamber[-1][1]))
            newton, later, line = (min(abs(s - due) / left, 10.0) for s in (*peers, straight_line_s(core)))
        found.append(Judged(count, ours, held, newton, later, line, spent))
    return found


def table(title: str, judged: Sequence[Judged]) -> None:
    print(f"\n{title}")
    print(f"{'readings':>9} {'n':>5} {'ours %':>7} {'held %':>7} {'Newton %':>9} {'later %':>8} {'line %':>7}")
    groups = [(str(n), [j for j in judged if j.count == n]) for n in range(1, 9)]
    groups += [("3 up", [j for j in judged if j.count >= 3]), ("all", list(judged))]
    for name, some in groups:
        if not some:
            continue
        ours, newton, later, line = (
            100 * np.nanmedian([getattr(j, k) for j in some]) if name != "1" or k == "ours" else np.nan
            for k in ("ours", "newton", "later", "line")
        )
        held = 100 * np.mean([j.held for j in some])
        print(f"{name:>9} {len(some):5d} {ours:7.1f} {held:7.1f} {newton:9.1f} {later:8.1f} {line:7.1f}")


def main(count: int = 40) -> None:
    whole: list[Judged] = []
    for skin in (False, True):
        judged = [j for i, c in enumerate(cooks(count, 501 + skin, skin)) for j in judge(c, i + 1)]
        table("skin on" if skin else "two open faces", judged)
        whole += judged
    table("both", whole)
    print(f"\nmedian time of a forecast {np.median([j.spent_ms for j in whole]):.0f} ms")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40)
