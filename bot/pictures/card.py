"""The batch on one card: what it was, how it went, and what came out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from bot.pictures import words
from bot.pictures.habits import degree_sign, degrees, duration, long_date, mass, temperature
from bot.pictures.lettering import wrap
from bot.pictures.look import (
    AXIS,
    BODY,
    COLD,
    INNER,
    LEFT,
    LIMIT,
    LINE,
    MARGIN,
    SOFT,
    TITLE,
    WARM,
    WIDTH,
    Page,
    fit,
    heading_height,
    lot_style,
    png,
)
from bot.pictures.meter import draw_strip
from bot.pictures.photo import PHOTO_HEIGHT, banner
from bot.pictures.records import CardPicture
from bot.pictures.rows import paragraph, paragraph_height
from bot.pictures.timeaxis import draw_time, span
from bot.pictures.values import CHAMBER, draw_readings, draw_values
from bot.say.cautions import LOCAL_RULES
from planner.stages import COLD as COLD_STAGES

if TYPE_CHECKING:
    from matplotlib.figure import Figure

CHART = 190
GAP = 22
STRIP = 26
CELL = TITLE + LINE + 20  #: a figure and what it is
NOTE_LINES = 5


@dataclass(frozen=True)
class _Block:
    height: float
    draw: Callable[[Page], None]


def card_png(card: CardPicture) -> bytes:
    """The card as a PNG, 720 pixels wide, as tall as what it tells."""
    return png(draw_card(card))


def draw_card(card: CardPicture) -> Figure:
    """The figure behind ``card_png``."""
    below = ", ".join(part for part in (card.species, long_date(card.made_on, card.habit)) if part)
    photo = None if card.photo is None else banner(card.photo)
    top = float(PHOTO_HEIGHT) if photo is not None else 0.0
    failed = card.photo is not None and photo is None
    blocks = [b for b in (_stages(card), _figures(card), _curve(card), _note(card), _keep(card, failed)) if b]
    height = top + heading_height(card.name, below) + sum(b.height + GAP for b in blocks)
    page = Page(round(height + MARGIN - GAP))
    if photo is not None:
        page.figure.figimage(photo, xo=0, yo=page.height - PHOTO_HEIGHT)
        page.y += top
    page.heading(card.name, below)
    for block in blocks:
        top = page.y
        block.draw(page)
        page.y = top + block.height + GAP
    return page.figure


def _stages(card: CardPicture) -> _Block | None:
    if not card.stages:
        return None
    lengths = [(s.stage, (s.end - s.start) / timedelta(minutes=1)) for s in card.stages]
    text = words.stage_lengths(lengths)

    def draw(page: Page) -> None:
        tones = [(minutes, COLD if stage in COLD_STAGES else WARM) for stage, minutes in lengths]
        draw_strip(page, page.y, STRIP, tones)
        page.y += STRIP + 12
        paragraph(page, text)

    return _Block(STRIP + 12 + paragraph_height(text), draw)


def _told(card: CardPicture) -> list[tuple[str, str]]:
    """Figures and what they are."""
    told: list[tuple[str, str]] = []
    if card.hottest_core_c is not None:
        told.append((temperature(card.hottest_core_c, card.habit), words.CORE))
    if card.held_min is not None:
        told.append((duration(card.held_min), words.HELD))
    if card.wps_pct:
        told.append(words.salt_range(card.wps_pct.low, card.wps_pct.mid, card.wps_pct.high))
    if card.wood:
        told.append((card.wood, words.WOOD))
    return told


def _weight(card: CardPicture) -> tuple[str, str] | None:
    """Raw and finished weight, and what is left of it."""
    raw = mass(card.raw_g, card.habit) if card.raw_g else ""
    done = mass(card.done_g, card.habit) if card.done_g else ""
    if card.raw_g and card.done_g:
        return f"{raw} → {done}", words.raw_to_finished(100 * card.done_g / card.raw_g)
    return (raw or done, words.RAW if raw else words.FINISHED) if raw or done else None


def _figures(card: CardPicture) -> _Block | None:
    told, weight = _told(card), _weight(card)
    lines = bool(weight) + (len(told) + 1) // 2
    if not lines:
        return None

    def draw(page: Page) -> None:
        top: float = page.y
        if weight:
            _cell(page, (MARGIN, top), INNER, weight)
            top += CELL
        for index, one in enumerate(told):
            _cell(page, (MARGIN + index % 2 * INNER / 2, top + index // 2 * CELL), INNER / 2 - 16, one)

    return _Block(CELL * lines - 10, draw)


def _cell(page: Page, at: tuple[float, float], wide: float, told: tuple[str, str]) -> None:
    """A figure in large letters, and below it what it is."""
    (x, y), (value, name) = at, told
    page.text(x, y, fit(value, wide, size=TITLE, bold=True), size=TITLE, bold=True)
    page.text(x, y + TITLE + 10, fit(name, wide), tone=SOFT)


def _curve(card: CardPicture) -> _Block | None:
    if len(card.core_c) < 2:
        return None

    def show(c: float) -> float:
        return degrees(c, card.habit)

    def draw(page: Page) -> None:
        points = (*card.core_c, *card.chamber_c)
        over = span([p.at for p in points], WIDTH - LEFT - MARGIN, card.habit)
        area = page.axes(LEFT, page.y, over.room, CHART)
        values = [p.value for p in points]
        draw_values(area, show(min(values) - 5), show(max(values) + 6), degree_sign(card.habit), most=4)
        draw_time(area, over)
        draw_readings(area, over, card.chamber_c, CHAMBER, show)
        draw_readings(area, over, card.core_c, lot_style(0), show)
        page.y += CHART + AXIS - 8
        page.text(
            MARGIN,
            page.y,
            words.curve_key(lot_style(0).sign, CHAMBER.sign if card.chamber_c else ""),
            tone=SOFT,
        )

    return _Block(CHART + AXIS - 8 + LINE, draw)


def _note(card: CardPicture) -> _Block | None:
    if not card.note:
        return None
    lines = wrap(f"“{card.note}”", INNER, BODY, False, NOTE_LINES)

    def draw(page: Page) -> None:
        for line in lines:
            page.text(MARGIN, page.y, line)
            page.y += LINE

    return _Block(LINE * len(lines), draw)


def _keep(card: CardPicture, photo_failed: bool) -> _Block:
    day = long_date(card.keep_by, card.habit) if card.keep_by else ""
    keep = words.keep_line(day, card.keep_how)
    warned = [f"◆ {caution}" for caution in card.cautions]
    if photo_failed:
        warned.append(words.NO_PHOTO)

    def draw(page: Page) -> None:
        page.rule(page.y)
        page.y += 14
        if keep:
            paragraph(page, keep, bold=True)
        for caution in warned:
            paragraph(page, caution, tone=LIMIT)
        paragraph(page, LOCAL_RULES, tone=SOFT)

    tall = paragraph_height(keep, bold=True) if keep else 0
    return _Block(14 + tall + sum(paragraph_height(t) for t in (*warned, LOCAL_RULES)), draw)
