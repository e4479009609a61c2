"""How long the sums of salt take. Run: python -m tests.benchmarks.bench_salt"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np

from planner.bar import in_bath
from planner.brine import recipe_for
from planner.cures import dry_salt
from planner.diffusion import uptake
from planner.levers import Soaking, outlook
from planner.piece import Piece
from planner.salted import even_out, wps_after_loss
from planner.soak import soak, strength_for, time_to_wps
from planner.species import species
from planner.spread import Spread

REPEATS = 60
PIECE = Piece(species("coho_salmon").composition, 25.4, 1)
BRINE = recipe_for(8.0, 4000.0)
LOSS = Spread(22.0, 28.0, 34.0)
CURVE = np.linspace(0.0, 0.4, 96)


def main() -> None:
    """Print a table of medians and 90 % in ms."""
    fo, aspect, alpha = np.full(65, 0.03), np.full(65, 0.4), np.full(65, 2.5)
    salted = soak(PIECE, BRINE, 2000.0, hours=12.0, temp_c=3.3)
    work: dict[str, Callable[[], object]] = {
        "series, a soak curve of 96 times": lambda: uptake(CURVE, 2.5),
        "bar in a bath, family of 65": lambda: in_bath(fo, aspect, alpha),
        "soak, family of 65": lambda: soak(PIECE, BRINE, 2000.0, hours=12.0, temp_c=3.3),
        "dry salt, family of 65": lambda: dry_salt(PIECE, 3.0, hours=12.0, temp_c=3.3),
        "time to a strength": lambda: time_to_wps(PIECE, BRINE, 2000.0, 2.0, temp_c=3.3),
        "strength for a time": lambda: strength_for(PIECE, 2000.0, 4000.0, 2.0, hours=12.0, temp_c=3.3),
        "rest": lambda: even_out(salted, 12.0, 3.3),
        "loss of water": lambda: wps_after_loss(salted, LOSS),
        "outlook with levers": lambda: outlook(Soaking(PIECE, BRINE, 2000.0, 12.0, 3.3), LOSS, 3.5),
    }
    print(f"{'':34}{'median':>10}{'90 %':>10}  ms")
    for name, job in work.items():
        times = [_once(job) for _ in range(REPEATS)]
        print(f"{name:34}{statistics.median(times):10.3f}{float(np.quantile(times, 0.9)):10.3f}")


def _once(job: Callable[[], object]) -> float:
    soak.cache_clear()
    dry_salt.cache_clear()
    start = time.perf_counter()
    job()
    return 1000.0 * (time.perf_counter() - start)


if __name__ == "__main__":
    main()
