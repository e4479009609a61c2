"""The plan as a timeline: one row a stage, soft ends, nights shaded, now as a line, limits marked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from bot.pictures import words
from bot.pictures.habits import Habit, clock, local, moment, short_date, weekday
from bot.pictures.legend import draw_lot_key, lot_key_height
from bot.pictures.lettering import wrap
from bot.pictures.look import (
    AXIS,
    BODY,
    COLD,
    INK,
    INNER,
    LIMIT,
    LINE,
    MARGIN,
    SOFT,
    WARM,
    Page,
    heading_height,
    lot_style,
    png,
    width_of,
)
from bot.pictures.records import PlanLimit, PlannedStage, PlanPicture
from bot.pictures.rows import message_page
from bot.pictures.timeaxis import TimeSpan, draw_days, draw_now_wedge, draw_time, span
from bot.say.words import STAGE
from planner.stages import COLD as COLD_STAGES
from planner.stages import ORDER, Stage

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

BAR = 22
GAP = 16  #: between rows
DAYS = 52  #: room for the names of the days
SHORTEST = 760
NEAR = timedelta(hours=3)
WEEKDAY_CLEAR = timedelta(days=6)  #: beyond it a weekday alone could mean another week


@dataclass(frozen=True)
class _Bar:
    planned: PlannedStage
    lot: int | None  #: which lot, None where the bar stands for all
    top: float


@dataclass(frozen=True)
class _Row:
    stage: Stage
    top: float
    bars: tuple[_Bar, ...]
    limits: tuple[tuple[PlanLimit, tuple[str, ...]], ...]
    bottom: float


def plan_png(plan: PlanPicture) -> bytes:
    """The plan as a PNG, 720 pixels wide, as tall as its rows need."""
    return png(draw_plan(plan))


def draw_plan(plan: PlanPicture) -> Figure:
    """The figure behind ``plan_png``."""
    if not plan.stages:
        return message_page(plan.title, _below(plan), words.NO_STAGES)
    over = _span(plan)
    shown_lots = plan.lots if _by_lot(plan) else ()
    rows = _rows(plan, over)
    top = heading_height(plan.title, _below(plan)) + lot_key_height(shown_lots) + DAYS
    height = rows[-1].bottom + 8
    key_top = top + height + AXIS
    page = Page(round(max(key_top + LINE + MARGIN, SHORTEST)))
    page.heading(plan.title, _below(plan))
    draw_lot_key(page, shown_lots)
    area = _area(page, plan, over, top, height)
    for row in rows:
        _draw_row(page, area, row, over, top)
        _draw_now(area, row, over, plan.now)
    page.text(MARGIN, key_top, words.PLAN_KEY, tone=SOFT)
    return page.figure


def _below(plan: PlanPicture) -> str:
    return words.now_line(moment(plan.now, plan.habit))


def _span(plan: PlanPicture) -> TimeSpan:
    ends = [m for s in plan.stages for m in _ends(s)] + [m.at for m in plan.limits]
    last = max(ends)
    # Keeping lasts for weeks: it begins on the picture and runs off its end, so that the hours stay wide.
    goes_on = last + (last - min(ends)) / 12
    ends += [min(s.end, goes_on) for s in plan.stages if s.stage is Stage.KEEP]
    # Now is drawn only where it touches the plan, or a plan for next week would shrink to a dot.
    if min(ends) - NEAR <= plan.now <= max(ends) + NEAR:
        ends.append(plan.now)
    return span(ends, INNER, plan.habit)


def _ends(planned: PlannedStage) -> tuple[datetime, ...]:
    if planned.stage is Stage.KEEP:
        return (planned.start,)
    return (planned.start, planned.end, planned.latest)


def _by_lot(plan: PlanPicture) -> bool:
    return any(len(_different(plan, stage)) > 1 for stage in ORDER)


def _different(plan: PlanPicture, stage: Stage) -> list[tuple[PlannedStage, int | None]]:
    """The stage's bars: one where all lots go together, else one for each lot."""
    found = [s for s in plan.stages if s.stage is stage]
    if len({(s.start, s.end, s.earliest, s.latest) for s in found}) <= 1:
        return [(s, None) for s in found[:1]]
    names = list(plan.lots)
    numbered = [(s, names.index(s.lot) if s.lot in names else None) for s in found]
    return sorted(numbered, key=lambda pair: -1 if pair[1] is None else pair[1])


def _rows(plan: PlanPicture, over: TimeSpan) -> list[_Row]:
    rows: list[_Row] = []
    y = 10.0
    for stage in ORDER:
        pairs = _different(plan, stage)
        if not pairs:
            continue
        top, bars = y, []
        y += LINE
        for planned, lot in pairs:
            if lot is not None and _beside(planned, lot, over) is None:
                y += LINE
            bars.append(_Bar(planned, lot, y))
            y += BAR if lot is None else LINE
        limits = []
        for limit in (m for m in plan.limits if m.stage is stage):
            lines = tuple(wrap(_limit_words(limit, plan.habit), INNER, BODY))
            limits.append((limit, lines))
            y += 6 + LINE * len(lines)
        rows.append(_Row(stage, top, tuple(bars), tuple(limits), y))
        y += GAP
    return rows


def _limit_words(limit: PlanLimit, habit: Habit) -> str:
    return f"◆ {moment(limit.at, habit)}: {limit.says}"


def _lot_words(planned: PlannedStage, lot: int, habit: Habit) -> str:
    return f"{lot_style(lot).sign} {clock(planned.end, habit)}"


def _beside(planned: PlannedStage, lot: int, over: TimeSpan) -> float | None:
    """Where the lot's words start, in pixels, right or left of its bar; None where neither has room."""
    room = width_of(_lot_words(planned, lot, over.habit)) + 12
    after = max(over.pixels(planned.latest), over.pixels(planned.start) + 8)
    if after + room <= INNER:
        return after + 12
    before = over.pixels(planned.start) - room
    return before if before >= 0 else None


def _area(page: Page, plan: PlanPicture, over: TimeSpan, top: float, height: float) -> Axes:
    area = page.axes(MARGIN, top, INNER, height)
    area.set_ylim(height, 0)
    area.set_yticks([])
    draw_time(area, over, lines=False)
    draw_days(area, over)
    draw_now_wedge(area, over, plan.now)
    return area


def _draw_row(page: Page, area: Axes, row: _Row, over: TimeSpan, top: float) -> None:
    page.text(MARGIN, top + row.top, STAGE[row.stage], bold=True)
    page.text(MARGIN + INNER, top + row.top, _when(row, over.habit), align="right")
    for bar in row.bars:
        _draw_bar(area, bar, row.stage, over)
        if bar.lot is not None:
            _name_bar(page, bar, over, top)
    y = row.bars[-1].top + (BAR if row.bars[-1].lot is None else LINE)
    for limit, lines in row.limits:
        x = over.x(limit.at)
        area.plot([x, x], [row.bars[0].top - 4, y], color=LIMIT, lw=1.6, ls=(0, (4, 1.5, 1, 1.5)), zorder=5)
        area.plot([x], [row.bars[0].top + BAR / 2], marker="D", ms=8, color=LIMIT, mec="white", zorder=6)
        y += 6
        for line in lines:
            page.text(MARGIN, top + y, line, tone=LIMIT)
            y += LINE


def _draw_now(area: Axes, row: _Row, over: TimeSpan, now: datetime) -> None:
    """The present beside each bar, but never through words."""
    x = over.pixels(now)
    if not 0 <= x <= INNER:
        return
    for bar in row.bars:
        beside = _beside(bar.planned, bar.lot, over) if bar.lot is not None else None
        if bar.lot is not None and beside is not None:
            ends = beside + width_of(_lot_words(bar.planned, bar.lot, over.habit))
            if beside - 6 < x < ends + 6:
                continue
        area.plot([over.x(now)] * 2, [bar.top - 3, bar.top + BAR + 3], color=INK, lw=2, zorder=4)


def _when(row: _Row, habit: Habit) -> str:
    start = min(b.planned.start for b in row.bars)
    if len(row.bars) > 1:
        return f"from {moment(start, habit)}"
    end = row.bars[0].planned.end
    if end - start > WEEKDAY_CLEAR:
        return f"{moment(start, habit)} – {short_date(local(end, habit).date(), habit)}"
    same_day = weekday(start, habit) == weekday(end, habit) and end - start < timedelta(days=1)
    return f"{moment(start, habit)} – {clock(end, habit) if same_day else moment(end, habit)}"


def _draw_bar(area: Axes, bar: _Bar, stage: Stage, over: TimeSpan) -> None:
    """A bar that is sure until its earliest end, then tapers to its latest; a notch at the best guess."""
    s = bar.planned
    least = 6 / over.room * over.hours
    start = over.x(s.start)
    sure = max(over.x(s.earliest), start + least)
    tip = max(over.x(s.latest), sure)
    top, low, middle = bar.top + 2, bar.top + BAR - 2, bar.top + BAR / 2
    tone, edge = (COLD, WARM) if stage in COLD_STAGES else (WARM, WARM)
    corners_x = [start, sure, tip, sure, start]
    area.fill(corners_x, [top, top, middle, low, low], fc=tone, ec=edge, lw=1.2, zorder=3)
    if s.latest > s.earliest and s.end <= over.end:
        end = over.x(s.end)
        area.plot([end, end], [top - 2, low + 2], color=INK, lw=2.2, zorder=3.5)


def _name_bar(page: Page, bar: _Bar, over: TimeSpan, top: float) -> None:
    lot = bar.lot
    if lot is None:
        return
    x, y = _beside(bar.planned, lot, over), top + bar.top - 7
    if x is None:
        x, y = 0.0, y - LINE + 2
    sign = lot_style(lot).sign
    page.text(MARGIN + x, y, sign, tone=lot_style(lot).tone)
    rest = clock(bar.planned.end, over.habit)
    page.text(MARGIN + x + width_of(sign + " "), y, rest)
