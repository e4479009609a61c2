"""The value axis, and the curves, points, bands and marks that stand on it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

from bot.pictures.look import BODY, HAIR, LIMIT, SOFT, LotStyle, font, halo, label_ticks
from bot.pictures.records import BandPoint, Point
from bot.pictures.timeaxis import TimeSpan

STEPS = (1, 2, 2.5, 5)
CHAMBER = LotStyle(SOFT, (0, (1.5, 1.5)), "P", "✚")
Show = Callable[[float], float]


def value_ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Round values between ``low`` and ``high``, at most ``most`` of them."""
    raw = (high - low) / most
    scale = 10.0 ** math.floor(math.log10(raw))
    step = next((s * scale for s in STEPS if s * scale >= raw), 10 * scale)
    first = math.ceil(low / step - 1e-9)
    return [n * step for n in range(first, math.floor(high / step + 1e-9) + 1)]


def draw_values(area: Any, low: float, high: float, unit: str, most: int = 6) -> None:
    """Limits and ticks; the unit stands with the topmost tick only."""
    area.set_ylim(low, high)
    places = value_ticks(low, high, most)
    digits = next(d for d in range(9) if all(abs(round(p, d) - p) < 1e-9 * max(1, abs(p)) for p in places))
    label_ticks(area.yaxis, places, [f"{p:.{digits}f}" + (f" {unit}" if p == places[-1] else "") for p in places])
    for place in places:
        area.axhline(place, color=HAIR, lw=0.8, zorder=0.5)


def draw_readings(area: Any, over: TimeSpan, points: Sequence[Point], style: LotStyle, show: Show) -> None:
    """Readings as marked points, joined."""
    area.plot(
        [over.x(p.at) for p in points], [show(p.value) for p in points],
        color=style.tone, ls=style.dash, lw=2.2, marker=style.marker, ms=8, mec="white", mew=1, zorder=3,
    )  # fmt: skip


def draw_band(area: Any, over: TimeSpan, band: Sequence[BandPoint], style: LotStyle, show: Show) -> None:
    """A forecast: its range as a veil between thin edges, its best guess as a dotted line."""
    x = [over.x(p.at) for p in band]
    low, high = [show(p.low) for p in band], [show(p.high) for p in band]
    area.fill_between(x, low, high, color=style.tone, alpha=0.16, lw=0, zorder=1)
    for edge in (low, high):
        area.plot(x, edge, color=style.tone, lw=0.8, alpha=0.7, zorder=1.2)
    area.plot(x, [show(p.mid) for p in band], color=style.tone, lw=1.8, ls=(0, (1, 1.6)), zorder=2)
    if band:  # an open marker at the end, so that a band is known without its tone
        end = (x[-1], show(band[-1].mid))
        area.plot(*end, marker=style.marker, ms=8, mfc="white", mec=style.tone, mew=1.6, clip_on=False, zorder=3)


def draw_curve(area: Any, x: Sequence[float], y: Sequence[float], style: LotStyle) -> None:
    """A computed curve with a few markers to know it by."""
    every = max(len(x) // 5, 1)
    area.plot(
        x, y, color=style.tone, ls=style.dash, lw=2.2, zorder=3,
        marker=style.marker, ms=8, mec="white", mew=1, markevery=(every // 2, every),
    )  # fmt: skip


def draw_level(
    area: Any, value: float, words: str, *, above: bool = True, at: float = 0.012, right: bool = False
) -> None:
    """A limit across the picture with its name above or below the line."""
    area.axhline(value, color=LIMIT, lw=1.6, ls=(0, (8, 2, 1.5, 2)), zorder=2.5)
    area.annotate(
        words, (1 - at if right else at, value), xycoords=area.get_yaxis_transform(),
        xytext=(0, 2 if above else -3), textcoords="offset points",
        ha="right" if right else "left", va="bottom" if above else "top",
        font=font(BODY), color=LIMIT, parse_math=False, zorder=6, path_effects=halo(),
    )  # fmt: skip


def draw_event(area: Any, over: TimeSpan, at: Any, tone: str = SOFT) -> None:
    """An upright line at a moment."""
    area.axvline(over.x(at), color=tone, lw=1.6, ls=(0, (4, 1.5, 1, 1.5)), zorder=2)
