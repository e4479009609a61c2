"""The cooling: cores on their way down, and the steps of the limit that they must pass under."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from bot.pictures import words
from bot.pictures.habits import degree_sign, degrees, moment, temperature
from bot.pictures.look import (
    AXIS,
    LEFT,
    LIMIT,
    LINE,
    MARGIN,
    WIDTH,
    LotStyle,
    Page,
    heading_height,
    lot_style,
    png,
)
from bot.pictures.records import CoolPicture
from bot.pictures.rows import message_page, name_and_value
from bot.pictures.timeaxis import TimeSpan, draw_now, draw_time, span
from bot.pictures.values import draw_band, draw_readings, draw_values

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

CHART = 520
STEP = LotStyle(LIMIT, "solid", "D", "◆")


def cool_png(cool: CoolPicture) -> bytes:
    """The cooling as a PNG, 720 pixels wide."""
    return png(draw_cool(cool))


def draw_cool(cool: CoolPicture) -> Figure:
    """The figure behind ``cool_png``."""
    below = words.now_line(moment(cool.now, cool.habit))
    if not cool.lots and not cool.deadlines:
        return message_page(cool.title, below, words.NO_COOLING)
    top = heading_height(cool.title, below) + 12
    rows = LINE * (len(cool.deadlines) + len(cool.lots)) + 14
    page = Page(round(top + CHART + AXIS + rows + MARGIN))
    page.heading(cool.title, below)
    _draw_chart(page, cool, top)
    page.y = top + CHART + AXIS
    for step in cool.deadlines:
        state = words.deadline_state(step.at, step.met_at, cool.now, cool.habit)
        name_and_value(page, STEP, words.deadline(step.core_c, step.at, cool.habit), state)
    page.y += 14
    for index, lot in enumerate(cool.lots):
        last = temperature(lot.core_c[-1].value, cool.habit) if lot.core_c else words.NO_READING
        name_and_value(page, lot_style(index), lot.name, last)
    return page.figure


def _span(cool: CoolPicture) -> TimeSpan:
    moments = [cool.now, cool.started_at, *(d.at for d in cool.deadlines)]
    for lot in cool.lots:
        moments += [p.at for p in lot.core_c] + [p.at for p in lot.forecast_c]
    return span(moments, WIDTH - LEFT - MARGIN, cool.habit, timedelta(hours=2))


def _draw_chart(page: Page, cool: CoolPicture, top: float) -> None:
    over = _span(cool)
    area = page.axes(LEFT, top, over.room, CHART)

    def show(c: float) -> float:
        return degrees(c, cool.habit)

    values = [d.core_c for d in cool.deadlines] + [0.0, 60.0]
    for lot in cool.lots:
        values += [p.value for p in lot.core_c] + [v for p in lot.forecast_c for v in (p.low, p.high)]
    low, high = show(min(values) - 3), show(max(values) + 5)
    draw_values(area, low, high, degree_sign(cool.habit))
    draw_time(area, over)
    draw_now(area, over, cool.now)
    _draw_steps(area, over, [(over.x(d.at), show(d.core_c)) for d in cool.deadlines], high)
    for index, lot in enumerate(cool.lots):
        draw_band(area, over, lot.forecast_c, lot_style(index), show)
        draw_readings(area, over, lot.core_c, lot_style(index), show)


def _draw_steps(area: Axes, over: TimeSpan, steps: list[tuple[float, float]], high: float) -> None:
    """Hatch what the core must not touch: above each step from its moment on."""
    if not steps:
        return
    ends = [x for x, _ in steps[1:]] + [over.hours]
    edge_x, edge_y = [steps[0][0]], [high]
    for (x, value), end in zip(steps, ends, strict=True):
        edge_x += [x, end]
        edge_y += [value, value]
        area.plot([x], [value], marker="D", ms=9, color=LIMIT, mec="white", zorder=5)
    area.fill_between(edge_x[1:], edge_y[1:], high, fc="none", ec=LIMIT, hatch="//", lw=0, alpha=0.35, zorder=1)
    area.plot(edge_x, edge_y, color=LIMIT, lw=1.8, zorder=2.4)
