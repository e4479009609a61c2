"""``python -m tests.faults [--long]``: every promise, on both databases, with counts."""

from __future__ import annotations

import argparse
import asyncio
import sys
import tempfile
from collections.abc import Awaitable, Callable
from pathlib import Path

from tests.faults import hostile
from tests.faults.bench import Report, killing
from tests.faults.removed import SAFEGUARDS
from tests.scheduler.servers import Server, postgresql

Run = Callable[[], Awaitable[Report]]
HEADER = f"{'run':44}{'told':>7}{'lost':>6}{'doubles':>9}{'at most':>9}{'disorder':>10}{'took':>9}  promise"


def line(database: str, report: Report) -> str:
    """Return a report as a row of the table."""
    lost = report.lost_messages + report.lost_reminders
    verdict = "kept" if report.met else "BROKEN " + "; ".join(report.inconsistent)
    return (
        f"{database + ': ' + report.name:44}{report.messages + report.reminders:7}{lost:6}"
        f"{report.doubles:9}{report.allowed:9}{report.disorder:10}{report.took_s:7.1f} s  {verdict}"
    )


def on_sqlite(folder: Path, long: bool) -> list[list[Run]]:
    """Return the runs on SQLite files: groups may run beside each other, runs in a group may not."""
    kills, seconds = (200, 30.0) if long else (10, 1.5)

    def url(name: str) -> str:
        return hostile.sqlite_url(folder, name)

    return [
        [
            lambda: killing(f"{kills} kills", url("kills"), kills),
            lambda: hostile.messenger(url("messenger"), seconds * 2),
        ],
        [
            lambda: hostile.full_disk(url("full"), seconds),
            lambda: hostile.read_only(url("read"), seconds),
            lambda: hostile.locked(url("locked"), seconds),
            lambda: hostile.wrong_clock(url("clock"), seconds),
        ],
        [
            lambda: hostile.little_memory(url("memory"), seconds),
            lambda: hostile.suspended(url("suspended"), 120.0 if long else 0.5),
        ],
        people(url("flood"), url("forged"), url("many"), long),
    ]


def on_postgresql(server: Server, other: Server, long: bool) -> list[list[Run]]:
    """Return the runs on a server; ``other`` is the one to be restarted."""
    kills, seconds = (200, 30.0) if long else (8, 1.5)
    new = server.database
    return [
        [
            lambda: killing(f"{kills} kills", new(), kills, size=2),
            lambda: hostile.messenger(new(), seconds * 2),
        ],
        [
            lambda: hostile.restarted(other.database(), other.restart, 10 if long else 2),
            lambda: hostile.suspended(new(), 120.0 if long else 0.5, size=2),
            lambda: hostile.wrong_clock(new(), seconds),
        ],
        people(new(), new(), new(), long),
    ]


def people(flood: str, forged: str, many: str, long: bool) -> list[Run]:
    """Return what hostile people do."""
    return [
        lambda: hostile.flood(flood, 5_000 if long else 150),
        lambda: hostile.forged(forged, 2_000 if long else 100),
        lambda: hostile.many_batches(many, 10_000),
    ]


def without(server: Server, folder: Path) -> list[list[Run]]:
    """Return runs with each safeguard taken away: the bench has to notice."""

    def run(safeguard: str) -> Run:
        url = server.database() if safeguard == "lease" else hostile.sqlite_url(folder, safeguard)
        size = 2 if safeguard == "lease" else 1
        return lambda: killing(f"without {safeguard}", url, 6, size=size, without=safeguard)

    return [[run(safeguard) for safeguard in SAFEGUARDS]]


async def together(database: str, groups: list[list[Run]]) -> list[bool]:
    """Run groups beside each other, printing a line for each run; returns which kept the promises."""
    kept: list[bool] = []

    async def one_after_another(group: list[Run]) -> None:
        for run in group:
            report = await run()
            print(line(database, report), flush=True)
            kept.append(report.met)

    async with asyncio.TaskGroup() as tasks:
        for group in groups:
            tasks.create_task(one_after_another(group))
    return kept


async def bench(long: bool) -> bool:
    """Run everything and print the table; True where every promise was kept."""
    print(HEADER, flush=True)
    with (
        tempfile.TemporaryDirectory(prefix="faults-") as folder,
        postgresql() as server,
        postgresql() as other,
    ):
        kept = await together("sqlite", on_sqlite(Path(folder), long))
        kept += await together("postgresql", on_postgresql(server, other, long))
        print("with a safeguard taken away, which has to break a promise:")
        broken = await together("sqlite", without(server, Path(folder)))
    well = all(kept) and not any(broken)
    print("every promise was kept" if well else "NOT EVERY PROMISE WAS KEPT")
    return well


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.faults", description=__doc__)
    parser.add_argument("--long", action="store_true", help="200 kills on each database; about half an hour")
    return 0 if asyncio.run(bench(parser.parse_args().long)) else 1


if __name__ == "__main__":
    sys.exit(main())
