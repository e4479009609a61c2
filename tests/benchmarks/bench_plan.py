"""How long a plan takes: from nothing, after a reading, and asked again a minute later.

Run as ``python -m tests.benchmarks.bench_plan``. "From nothing" empties every memory of the sums first,
for each of a list of batches that differ; imports are paid before.
"""

from __future__ import annotations

import gc
import statistics
import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

from planner.batch import read_batch
from planner.entries import Entry, Kind
from planner.habits import Habits
from planner.plan import Plan
from planner.planning import plan_batch

NOW = datetime(2026, 9, 12, 0, 40, tzinfo=UTC)
HABITS = Habits("America/Vancouver")
THICKNESSES = (12.0, 16.0, 19.0, 22.0, 25.4, 28.0, 32.0, 38.0, 45.0, 60.0)


def described(thickness_mm: float, **more: Any) -> list[Entry]:
    """A batch of one entry."""
    data = {"species": "coho_salmon", "mass_g": 2000.0, "thickness_mm": thickness_mm, "skin": "on", **more}
    return [Entry(1, Kind.DESCRIBE, NOW, NOW, "ida", data)]


def smoking(thickness_mm: float) -> list[Entry]:
    """The same in the smoke, with a chamber reading."""
    start = NOW + timedelta(hours=14)
    entries = described(thickness_mm, soak_start=NOW.isoformat(), salt_pct=10.0)
    for minutes, kind, data in (
        (-240, Kind.EVENT, {"stage": "soak", "done": True}),
        (-220, Kind.EVENT, {"stage": "dry", "started": True}),
        (0, Kind.EVENT, {"stage": "smoke", "started": True}),
        (1, Kind.READING, {"chamber_c": 90.0}),
    ):
        at = start + timedelta(minutes=minutes)
        entries.append(Entry(len(entries) + 1, kind, at, at, "ida", data))
    return entries


def read_core(entries: list[Entry], minutes: float, core_c: float) -> list[Entry]:
    """One more core reading, so many minutes after the last entry."""
    at = entries[-1].happened_at + timedelta(minutes=minutes)
    return [*entries, Entry(len(entries) + 1, Kind.READING, at, at, "ida", {"core_c": core_c})]


def plan(entries: list[Entry], later: timedelta = timedelta(0)) -> Plan:
    """The plan at the last entry's moment, or a little later."""
    return plan_batch(read_batch(entries, NOW), HABITS, entries[-1].told_at + later)


def forget() -> None:
    """Empty every lru_cache of the planner but those that hold data files."""
    for name, module in list(sys.modules.items()):
        if not name.startswith("planner") or name == "planner.sources":
            continue
        for thing in vars(module).values():
            clear = getattr(thing, "cache_clear", None)
            if clear is not None and thing.cache_parameters()["maxsize"]:
                clear()


def timed(work: Callable[[], object]) -> float:
    """Milliseconds of one call."""
    begun = time.perf_counter()
    work()
    return 1000.0 * (time.perf_counter() - begun)


def main() -> None:
    """Print the table."""
    plan(smoking(20.0))
    gc.disable()
    rows: dict[str, list[float]] = {"from nothing": [], "after a core reading": [], "a minute later": []}
    for thickness in THICKNESSES:
        forget()
        rows["from nothing"].append(timed(lambda t=thickness: plan(described(t))))
        entries = read_core(smoking(thickness), 60.0, 45.0)
        plan(entries)
        more = read_core(entries, 20.0, 55.0)
        rows["after a core reading"].append(timed(lambda e=more: plan(e)))
        rows["a minute later"].append(timed(lambda e=more: plan(e, timedelta(minutes=1))))
    print(f"{'plan':24}{'median ms':>12}{'worst ms':>12}")
    for name, found in rows.items():
        print(f"{name:24}{statistics.median(found):12.1f}{max(found):12.1f}")


if __name__ == "__main__":
    main()
