"""How long each picture takes to draw, in milliseconds: ``python -m tests.benchmarks.bench_pictures``.

The first row of all includes loading the drawing library. The goal is 400 ms or less for each picture.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

from bot.pictures.card import card_png
from bot.pictures.cook import cook_png
from bot.pictures.cool import cool_png
from bot.pictures.dry import dry_png
from bot.pictures.plan import plan_png
from bot.pictures.soak import soak_png
from tests.bot.pictures import cases

ROUNDS = 15


def _ms(draw: Callable[[], bytes]) -> float:
    start = time.perf_counter()
    draw()
    return (time.perf_counter() - start) * 1000


def _rows() -> list[tuple[str, Callable[[], bytes]]]:
    return [
        ("plan, one lot", lambda: plan_png(cases.PLANS["one_lot_us"])),
        ("plan, three lots", lambda: plan_png(cases.PLANS["three_lots_us"])),
        ("plan, long names", lambda: plan_png(cases.PLANS["long_names"])),
        ("cook, three lots", lambda: cook_png(cases.COOKS["three_lots_us"])),
        ("soak", lambda: soak_png(cases.SOAKS["us"])),
        ("dry", lambda: dry_png(cases.DRYINGS["us"])),
        ("cool, three lots", lambda: cool_png(cases.COOLINGS["three_us"])),
        ("card", lambda: card_png(cases.CARDS["us"])),
        ("card with photo", lambda: card_png(cases.CARDS["photo"])),
    ]


def main() -> None:
    """Print one row a picture: first drawing, median and slowest of the rest."""
    print(f"{'picture':<20}{'first':>9}{'median':>9}{'slowest':>9}   ms")
    for name, draw in _rows():
        first = _ms(draw)
        rest = [_ms(draw) for _ in range(ROUNDS)]
        print(f"{name:<20}{first:9.0f}{statistics.median(rest):9.0f}{max(rest):9.0f}")


if __name__ == "__main__":
    main()
