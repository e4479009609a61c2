"""The soak: salt across the piece now and at the pull, and water-phase salt over the night."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bot.pictures import words
from bot.pictures.habits import length_unit, length_value, moment
from bot.pictures.look import (
    AXIS,
    HAIR,
    INK,
    LEFT,
    LINE,
    MARGIN,
    WIDTH,
    Page,
    fit,
    heading_height,
    label_ticks,
    lot_style,
    png,
)
from bot.pictures.records import SaltAt, SoakPicture
from bot.pictures.rows import message_page, name_and_value
from bot.pictures.timeaxis import draw_now, draw_time, span
from bot.pictures.values import draw_band, draw_curve, draw_event, draw_level, draw_values

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

CHART = 290
ABOVE = 22  #: room for the mark of the present
BETWEEN = 16
ROOM = WIDTH - LEFT - MARGIN
NOW, PULL, MEAN, MIDDLE = (lot_style(n) for n in range(4))


def soak_png(soak: SoakPicture) -> bytes:
    """The soak as a PNG, 720 pixels wide."""
    return png(draw_soak(soak))


def draw_soak(soak: SoakPicture) -> Figure:
    """The figure behind ``soak_png``."""
    below = words.now_line(moment(soak.now, soak.habit))
    if not soak.now_profile and not soak.mean_pct:
        return message_page(soak.title, below, words.NO_SALT)
    page = Page(round(heading_height(soak.title, below) + _height(soak) + MARGIN))
    page.heading(soak.title, below)
    if soak.now_profile:
        _across(page, soak)
    if soak.mean_pct:
        _over_time(page, soak)
    return page.figure


def _height(soak: SoakPicture) -> float:
    panel = LINE + ABOVE + CHART + AXIS
    across = panel + LINE * (2 if soak.pull_profile else 1) + BETWEEN if soak.now_profile else 0
    return across + (panel + LINE * (2 if soak.core_pct else 1) if soak.mean_pct else 0)


def _chart(page: Page, title: str) -> Axes:
    page.text(MARGIN, page.y, title, bold=True)
    area = page.axes(LEFT, page.y + LINE + ABOVE, ROOM, CHART)
    page.y += LINE + ABOVE + CHART + AXIS
    return area


def _highest(soak: SoakPicture) -> float:
    across = [p.wps_pct for p in (*soak.now_profile, *soak.pull_profile)]
    return max([*across, *(p.high for p in soak.mean_pct), soak.mark.wps_pct if soak.mark else 1.0]) * 1.15


def _level(area: Axes, soak: SoakPicture) -> None:
    if soak.mark:
        draw_level(area, soak.mark.wps_pct, fit(soak.mark.says, ROOM - 20))


def _across(page: Page, soak: SoakPicture) -> None:
    thick = max(p.depth_mm for p in soak.now_profile)
    size = f"{length_value(thick, soak.habit):.2g} {length_unit(soak.habit)}"
    area = _chart(page, words.across(size))
    draw_values(area, 0, _highest(soak), "%", most=5)
    area.set_xlim(0, thick)
    edge = thick * 0.004
    ends = [fit(face, ROOM / 3) for face in soak.faces]
    label_ticks(area.xaxis, [edge, thick / 2, thick - edge], [ends[0], words.MIDDLE, ends[1]])
    first, _, last = area.get_xticklabels()
    first.set_horizontalalignment("left")
    last.set_horizontalalignment("right")
    area.axvline(thick / 2, color=HAIR, lw=0.8, zorder=0.5)
    for profile, style in ((soak.pull_profile, PULL), (soak.now_profile, NOW)):
        draw_curve(area, [p.depth_mm for p in profile], [p.wps_pct for p in profile], style)
    _level(area, soak)
    name_and_value(page, NOW, words.NOW, _ends(soak.now_profile))
    if soak.pull_profile:
        name_and_value(page, PULL, words.at_pull(soak.pull_at, soak.habit), _ends(soak.pull_profile))
    page.y += BETWEEN


def _ends(profile: tuple[SaltAt, ...]) -> str:
    values = [p.wps_pct for p in profile]
    return words.from_to_pct(min(values), max(values)) if values else ""


def _over_time(page: Page, soak: SoakPicture) -> None:
    moments = [soak.now, *(p.at for p in soak.mean_pct), *(p.at for p in soak.core_pct)]
    over = span(moments + ([soak.pull_at] if soak.pull_at else []), ROOM, soak.habit)
    area = _chart(page, words.THROUGH_THE_SOAK)
    draw_values(area, 0, _highest(soak), "%", most=5)
    draw_time(area, over)
    draw_now(area, over, soak.now)
    if soak.pull_at:
        draw_event(area, over, soak.pull_at, INK)
    draw_band(area, over, soak.mean_pct, MEAN, float)
    draw_curve(area, [over.x(p.at) for p in soak.core_pct], [p.value for p in soak.core_pct], MIDDLE)
    _level(area, soak)
    name_and_value(page, MEAN, words.MEAN, words.ends_at(soak.mean_pct[-1].mid))
    if soak.core_pct:
        name_and_value(page, MIDDLE, words.MIDDLE, words.ends_at(soak.core_pct[-1].value))
