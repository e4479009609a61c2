"""How long a picture or paper takes from the journal on: ``python -m tests.benchmarks.bench_illustrate``.

The plan is reckoned anew for each, as a turn does; what the planner remembers by its arguments stays warm.
"""

from __future__ import annotations

from pathlib import Path
from statistics import median
from time import perf_counter

from bot.illustrate.batches import Case
from bot.illustrate.making import make_file
from bot.illustrate.references import PAPERS, PICTURES, Reference
from tests.bot.illustrate.story import WHOLE, told

ROUNDS = 7


def main() -> None:
    """Print a table."""
    looked = told(WHOLE)
    print(f"{'':10} {'at':>9} {'median ms':>10} {'worst ms':>9} {'kB':>6}")
    for what in (*PICTURES, *PAPERS):
        name = {"dry": "weighed", "cook": "floor", "cool": "cooling", "soak": "soaking"}.get(what, "noted")
        took, size = [], 0
        for _ in range(ROUNDS):
            case = looked.cases[name]
            begun = perf_counter()
            size = len(make_file(Reference(what, 1, 12), Case(case.file, case.chat, case.now), Path()).data)
            took.append(1000.0 * (perf_counter() - begun))
        print(f"{what:10} {name:>9} {median(took):10.0f} {max(took):9.0f} {size / 1000:6.0f}")


if __name__ == "__main__":
    main()
