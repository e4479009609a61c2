"""The lines of text below a chart."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bot.pictures.lettering import wrap
from bot.pictures.look import BODY, INK, INNER, LINE, MARGIN, LotStyle, Page, fit, heading_height, width_of
from bot.pictures.meter import TALL, draw_meter

if TYPE_CHECKING:
    from matplotlib.figure import Figure

METER = 250


def name_and_value(page: Page, style: LotStyle, name: str, value: str) -> None:
    """A sign with its name, and a value at the right end; the name gives way."""
    sign = width_of(style.sign + " ")
    page.text(MARGIN, page.y, style.sign, tone=style.tone)
    room = INNER - sign - width_of(value, bold=True) - BODY
    page.text(MARGIN + sign, page.y, fit(name, room, bold=True), bold=True)
    page.text(MARGIN + INNER, page.y, value, bold=True, align="right")
    page.y += LINE


def meter_and_words(page: Page, shares: tuple[tuple[float, str], ...], words: str) -> None:
    """A meter with its figures at the right end."""
    draw_meter(page, MARGIN, page.y + (BODY - TALL) / 2 + 4, METER, shares)
    page.text(MARGIN + INNER, page.y, words, align="right")
    page.y += LINE


def paragraph_height(words: str, *, bold: bool = False) -> float:
    """Height that ``paragraph`` takes."""
    return len(wrap(words, INNER, BODY, bold)) * LINE


def paragraph(page: Page, words: str, *, bold: bool = False, tone: str = INK) -> None:
    """Words over as many lines as they need."""
    for line in wrap(words, INNER, BODY, bold):
        page.text(MARGIN, page.y, line, bold=bold, tone=tone)
        page.y += LINE


def message_page(title: str, below: str, words: str) -> Figure:
    """A page for a picture that has nothing to show yet, and says what it lacks."""
    page = Page(round(heading_height(title, below) + paragraph_height(words) + MARGIN))
    page.heading(title, below)
    paragraph(page, words)
    return page.figure
