"""Speed of the heat and water solver beside scipy's BDF on the same equations.

    python -m tests.benchmarks.bench_heat

Both are judged by their error against a fine run of the other method; the rows say what each costs.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from scipy.interpolate import CubicSpline

from planner.cooling import curve, time_to
from planner.drying import Air, _evaporation, pellicle_time
from planner.piece import Piece
from planner.slab import solve, time_steps
from planner.smoking import Chamber, cook, time_to_core
from tests.planner.finite_volume import FiniteVolumes
from tests.planner.given import FILLET, SALMON
from tests.planner.test_slab import salmon, smoker

HOURS = np.array([0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0])


def median_ms(work: Callable[[], object], repeats: int = 7) -> float:
    """Median time of ``work`` [ms], after one run to warm up."""
    work()
    spent = []
    for _ in range(repeats):
        begun = time.perf_counter()
        work()
        spent.append(1e3 * (time.perf_counter() - begun))
    return float(np.median(spent))


def ours(longest_s: float, heat: int, water: int) -> tuple[float, np.ndarray]:
    times = time_steps(6 * 3600.0, longest_s=longest_s, first_s=60.0, growth=1.6)
    around, slab = smoker(len(times)), salmon()

    def work() -> np.ndarray:
        return solve(slab, times, around, heat, water).core_c[:, 0]

    return median_ms(work), CubicSpline(times, work())(HOURS * 3600.0)


def bdf(cells: int, stretch: float, rtol: float, sparse: bool) -> tuple[float, np.ndarray]:
    slab, around, at = salmon(), smoker(1), np.r_[0.0, HOURS * 3600.0]

    def work() -> np.ndarray:
        return FiniteVolumes(slab, around, cells, stretch).solve(at, rtol, sparse)[0]

    return median_ms(work, 3), work()[1:]


def race() -> None:
    fine = FiniteVolumes(salmon(), smoker(1), 300, 1.02).solve(np.r_[0.0, HOURS * 3600.0], 1e-7)[0][1:]
    print("one lot over 6 h, 25 mm salmon at 80 degC, error against 300 cells and a tolerance of 1e-7")
    print(f"{'method':58} {'ms':>8} {'worst error K':>14}")
    for longest_s, heat, water in ((150, 8, 32), (300, 6, 24), (450, 5, 20)):
        name = f"modes, steps to {longest_s} s, {heat} + {water} modes"
        row(name, ours(longest_s, heat, water), fine)
    for cells, stretch, rtol, sparse in (
        (40, 1.0, 1e-4, False),
        (40, 1.0, 1e-4, True),
        (80, 1.0, 1e-4, False),
        (80, 1.0, 1e-4, True),
        (60, 1.08, 1e-4, False),
        (60, 1.08, 1e-4, True),
    ):
        kind, told = "equal" if stretch == 1.0 else "graded", ", sparsity told" if sparse else ""
        name = f"finite volumes, BDF, {cells} {kind} cells, rtol {rtol:g}{told}"
        row(name, bdf(cells, stretch, rtol, sparse), fine)


def row(name: str, found: tuple[float, np.ndarray], fine: np.ndarray) -> None:
    spent, core = found
    print(f"{name:58} {spent:8.1f} {np.abs(core - fine).max():14.3f}")


def family() -> None:
    times = time_steps(6 * 3600.0)
    thickness = np.linspace(0.8, 1.2, 256)
    slab, around = salmon(thickness=thickness), smoker(len(times))
    print(f"\n256 runs over 6 h, {len(times)} steps: {median_ms(lambda: solve(slab, times, around)):.0f} ms")


def plan() -> None:
    piece, chamber, air = Piece(SALMON, 26.0, 2, 90.0), Chamber.steady(87.0), Air(15.0, 60.0, fan=True)

    def drying() -> object:
        _evaporation.cache_clear()
        return pellicle_time(piece, air)

    def cooling() -> object:
        curve.cache_clear()
        return time_to(FILLET, 71.0, 21.1, 15.0)

    print("\nblind estimates for one lot, nothing cached")
    for name, work in (
        ("smoke", lambda: time_to_core(cook(piece, chamber), 62.8)),
        ("dry, fan on and off", drying),
        ("cool", cooling),
    ):
        print(f"{name:22} {median_ms(work):6.1f} ms")


if __name__ == "__main__":
    race()
    family()
    plan()
