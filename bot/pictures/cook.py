"""The cook: core of each lot, the chamber, the forecast, the two marks, and the hold counted."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from bot.pictures import words
from bot.pictures.habits import degree_sign, degrees, moment, temperature
from bot.pictures.look import (
    AXIS,
    COLD,
    LEFT,
    LINE,
    MARGIN,
    SOFT,
    WARM,
    WIDTH,
    LotStyle,
    Page,
    heading_height,
    lot_style,
    png,
)
from bot.pictures.records import CookLot, CookPicture
from bot.pictures.rows import meter_and_words, name_and_value
from bot.pictures.timeaxis import TimeSpan, draw_now, draw_time, span
from bot.pictures.values import CHAMBER, draw_band, draw_level, draw_readings, draw_values
from planner.verdict import Eta

if TYPE_CHECKING:
    from matplotlib.figure import Figure

CHART = 500


def cook_png(cook: CookPicture) -> bytes:
    """The cook as a PNG, 720 pixels wide."""
    return png(draw_cook(cook))


def draw_cook(cook: CookPicture) -> Figure:
    """The figure behind ``cook_png``."""
    below = words.now_line(moment(cook.now, cook.habit))
    top = heading_height(cook.title, below) + 12
    rows = sum(_row_height(lot) for lot in cook.lots) + (LINE if cook.chamber_c else 0)
    page = Page(round(top + CHART + AXIS + rows + MARGIN))
    page.heading(cook.title, below)
    _draw_chart(page, cook, top)
    page.y = top + CHART + AXIS
    for index, lot in enumerate(cook.lots):
        _draw_row(page, cook, lot, lot_style(index))
    if cook.chamber_c:
        name_and_value(page, CHAMBER, words.CHAMBER, temperature(cook.chamber_c[-1].value, cook.habit))
    return page.figure


def _span(cook: CookPicture) -> TimeSpan:
    moments = [cook.now, *(p.at for p in cook.chamber_c)]
    for lot in cook.lots:
        moments += [p.at for p in lot.core_c] + [p.at for p in lot.forecast_c]
    return span(moments, WIDTH - LEFT - MARGIN, cook.habit, timedelta(hours=2))


def _draw_chart(page: Page, cook: CookPicture, top: float) -> None:
    over = _span(cook)
    area = page.axes(LEFT, top, over.room, CHART)

    def show(c: float) -> float:
        return degrees(c, cook.habit)

    values = [p.value for p in cook.chamber_c]
    for lot in cook.lots:
        values += [p.value for p in lot.core_c] + [v for p in lot.forecast_c for v in (p.low, p.high)]
    low, high = min([*values, cook.floor_c - 30]) - 4, max([*values, cook.aim_c + 14]) + 6
    draw_values(area, show(low), show(high), degree_sign(cook.habit))
    draw_time(area, over)
    draw_now(area, over, cook.now)
    draw_readings(area, over, cook.chamber_c, CHAMBER, show)
    for index, lot in enumerate(cook.lots):
        draw_band(area, over, lot.forecast_c, lot_style(index), show)
        draw_readings(area, over, lot.core_c, lot_style(index), show)
    draw_level(area, show(cook.floor_c), f"{words.FLOOR} {temperature(cook.floor_c, cook.habit)}", above=False)
    if cook.aim_c > cook.floor_c:
        draw_level(area, show(cook.aim_c), f"{words.AIM} {temperature(cook.aim_c, cook.habit)}")


def _etas(lot: CookLot) -> list[tuple[str, Eta]]:
    return [(name, eta) for name, eta in ((words.AT_FLOOR, lot.floor), (words.HOLD_OVER, lot.done)) if eta]


def _row_height(lot: CookLot) -> float:
    return LINE * (2 + len(_etas(lot))) + 14


def _draw_row(page: Page, cook: CookPicture, lot: CookLot, style: LotStyle) -> None:
    last = temperature(lot.core_c[-1].value, cook.habit) if lot.core_c else words.NO_READING
    name_and_value(page, style, lot.name, last)
    shares = ((lot.floor_held_min / cook.hold_min, COLD), (lot.aim_held_min / cook.hold_min, WARM))
    held = words.held(lot.floor_held_min, lot.aim_held_min, cook.hold_min, cook.aim_c > cook.floor_c)
    meter_and_words(page, shares, held)
    for name, eta in _etas(lot):
        page.text(MARGIN, page.y, words.expected(name, eta, cook.habit), tone=SOFT)
        page.y += LINE
    page.y += 14
