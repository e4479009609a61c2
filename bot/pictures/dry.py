"""The drying: weight as read and as expected, touch, the air, and the limits that run."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import TYPE_CHECKING

from bot.pictures import words
from bot.pictures.habits import GRAMS_PER_LB, Habit, mass, moment
from bot.pictures.look import (
    AXIS,
    HAIR,
    LIMIT,
    LINE,
    MARGIN,
    SOFT,
    WARM,
    WIDTH,
    Page,
    heading_height,
    lot_style,
    png,
)
from bot.pictures.records import Clock, DryPicture
from bot.pictures.rows import meter_and_words, name_and_value, paragraph, paragraph_height
from bot.pictures.timeaxis import TimeSpan, draw_now, draw_time, span
from bot.pictures.values import draw_band, draw_event, draw_readings, draw_values

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

CHART = 400
LEFT = 152  #: weights are wider than degrees
ROOM = WIDTH - LEFT - MARGIN
TOUCHES = 4  #: the newest are the ones that matter


def dry_png(dry: DryPicture) -> bytes:
    """The drying as a PNG, 720 pixels wide."""
    return png(draw_dry(dry))


def draw_dry(dry: DryPicture) -> Figure:
    """The figure behind ``dry_png``."""
    below = words.now_line(moment(dry.now, dry.habit))
    top = heading_height(dry.title, below) + 12
    texts = _texts(dry)
    tall = LINE + sum(paragraph_height(t) for t in texts) + sum(_clock_height(c, dry.habit) for c in dry.clocks)
    page = Page(round(top + CHART + AXIS + tall + MARGIN))
    page.heading(dry.title, below)
    _draw_chart(page, dry, top)
    page.y = top + CHART + AXIS
    last = mass(dry.mass_g[-1].value, dry.habit) if dry.mass_g else words.NO_READING
    name_and_value(page, lot_style(0), words.WEIGHT, last)
    for text in texts:
        paragraph(page, text)
    for clock in dry.clocks:
        _draw_clock(page, clock, dry.habit)
    return page.figure


def _texts(dry: DryPicture) -> list[str]:
    texts = [] if dry.mass_g or dry.forecast_g else [words.NO_MASS]
    if dry.pellicle:
        texts.append(words.expected(words.PELLICLE, dry.pellicle, dry.habit))
    texts += [words.touch(t.at, t.surface, dry.habit) for t in dry.touches[-TOUCHES:]]
    air = words.air(dry.air_c, dry.rh_pct, dry.habit)
    return [*texts, air] if air else texts


def _scale(dry: DryPicture) -> tuple[str, Callable[[float], float]]:
    """Unit and conversion that suit the weight of the pieces."""
    if dry.habit.units == "us":
        return "lb", lambda g: g / GRAMS_PER_LB
    heaviest = max([0.0, *(p.value for p in dry.mass_g), *(p.high for p in dry.forecast_g)])
    return ("g", float) if heaviest < 1000 else ("kg", lambda g: g / 1000)


def _span(dry: DryPicture) -> TimeSpan:
    moments = [dry.now, dry.started_at, *(p.at for p in dry.mass_g), *(p.at for p in dry.forecast_g)]
    moments += [t.at for t in dry.touches] + ([dry.pellicle.p90] if dry.pellicle else [])
    # A limit is drawn where it is near; one that runs out days later would squeeze the rest.
    reach = max(moments) + (max(moments) - min(moments)) / 2
    moments += [c.spent_at for c in dry.clocks if c.spent_at and c.spent_at <= reach]
    return span(moments, ROOM, dry.habit, timedelta(hours=2))


def _draw_chart(page: Page, dry: DryPicture, top: float) -> None:
    over = _span(dry)
    area = page.axes(LEFT, top, ROOM, CHART)
    unit, show = _scale(dry)
    values = [p.value for p in dry.mass_g] + [v for p in dry.forecast_g for v in (p.low, p.high)]
    if values:
        air = max((max(values) - min(values)) * 0.12, max(values) * 0.005)
        draw_values(area, show(min(values) - air), show(max(values) + air), unit)
    else:
        area.set_yticks([])
    draw_time(area, over)
    draw_now(area, over, dry.now)
    _draw_pellicle(area, over, dry)
    draw_band(area, over, dry.forecast_g, lot_style(0), show)
    draw_readings(area, over, dry.mass_g, lot_style(0), show)
    for touch in dry.touches[-TOUCHES:]:
        area.plot([over.x(touch.at)], [0.03], marker="^", ms=9, color=SOFT, transform=area.get_xaxis_transform())
    for clock in dry.clocks:
        if clock.spent_at and over.start <= clock.spent_at <= over.end:
            draw_event(area, over, clock.spent_at, LIMIT)


def _draw_pellicle(area: Axes, over: TimeSpan, dry: DryPicture) -> None:
    if dry.pellicle is None:
        return
    start, end = over.x(dry.pellicle.p10), over.x(dry.pellicle.p90)
    area.axvspan(start, end, fc="none", ec=HAIR, hatch="///", lw=0, zorder=0.8)
    draw_event(area, over, dry.pellicle.p50, WARM)


def _clock_height(clock: Clock, habit: Habit) -> float:
    return 10 + paragraph_height(clock.says) + LINE + (LINE if clock.spent_at else 0)


def _draw_clock(page: Page, clock: Clock, habit: Habit) -> None:
    page.y += 10
    paragraph(page, clock.says, tone=LIMIT)
    meter_and_words(page, ((clock.used_h / clock.limit_h, LIMIT),), words.used(clock.used_h, clock.limit_h))
    if clock.spent_at:
        paragraph(page, words.spent(clock.spent_at, habit), tone=LIMIT)
