"""How much a smoker's past cooks help the next one, on cooks by a richer model than the forecaster's.

    python -m tests.benchmarks.bench_rig [SMOKERS]

Each smoker keeps its draught, its moisture and the place of its rack; fish, chamber, doors and probe are
new in every cook. Before each cook its time to the floor is foretold from the cooks before it.
"""

from __future__ import annotations

import math
import sys
import time

import numpy as np

from planner.forecast import forecast_core
from planner.rig.closing import cook_lesson
from planner.rig.experience import prior_of
from planner.rig.groups import groups
from planner.smoking import Chamber, cook, time_to_core
from planner.unknowns import Prior
from tests.simulated.cooks import Smokers, Told, cooks

COOKS = 6
FLOOR_C = 62.8


def smokers(count: int, seed: int) -> Smokers:
    """So many smokers, the same in each of their cooks."""
    rng = np.random.default_rng(seed)
    wind = 0.3 * np.exp(rng.normal(0.0, math.log(1.6), count))
    moist = 0.030 * np.exp(rng.normal(0.0, math.log(1.3), count))
    return Smokers(wind, moist, rng.normal(0.0, 2.5, count))


def foretold(told: Told, prior: Prior | None) -> tuple[float, float, float] | None:
    """Log error, whether the 80 % range holds the truth, and its width in logs; None where it never gets there."""
    truth_h = told.reaches_s(FLOOR_C) / 3600.0
    level = float(np.median([c for s, c in told.chamber if s > 1500.0] or [c for _, c in told.chamber]))
    made = cook(told.piece, Chamber.steady(level), wps_pct=told.wps_pct, dried_kg_m2=0.1, prior=prior)
    found = time_to_core(made, FLOOR_C)
    if found is None or not math.isfinite(truth_h):
        return None
    high = min(found.high, 14.0)
    return math.log(found.mid / truth_h), float(found.low <= truth_h <= high), math.log(high / found.low)


def main(count: int = 30) -> None:
    """Print error, coverage and width by the number of cooks known, and what a lesson takes."""
    own, kept = groups()["smoke"], smokers(count, 1)
    series = [cooks(count, 100 + n, smokers=kept, hours=7.0) for n in range(COOKS)]
    lessons: list[list] = [[] for _ in range(count)]
    took = []
    print(f"{'cooks known':>12} {'median error':>13} {'in the 80 %':>12} {'width (high/low)':>17}")
    for n, batch in enumerate(series):
        rows = []
        for i, told in enumerate(batch):
            prior = prior_of(own.of_next_batch(lessons[i]), len(lessons[i])) if lessons[i] else None
            rows.append(foretold(told, prior))
            begun = time.perf_counter()
            now_s = max(s for s, _ in told.core)
            made = forecast_core(told.piece, told.core, told.chamber, now_s=now_s, wps_pct=told.wps_pct)
            lessons[i].append(cook_lesson(made))
            took.append(time.perf_counter() - begun)
        table = np.array([row for row in rows if row is not None])
        error, share = np.median(np.abs(np.expm1(table[:, 0]))), table[:, 1].mean()
        width = np.exp(np.median(table[:, 2]))
        print(f"{n:>12} {100 * error:>12.0f}% {100 * share:>11.0f}% {width:>17.2f}")
    print(f"a lesson: {1000 * np.median(took):.0f} ms median")


if __name__ == "__main__":
    main(*(int(a) for a in sys.argv[1:]))
