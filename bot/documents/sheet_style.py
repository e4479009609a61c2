"""How the record's pages look: few sizes, hair lines, one tone for what went against the advice."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from bot.documents.records import PageSize
from bot.documents.typeface import BOLD, REGULAR, marked_up
from bot.pictures.look import HAIR, INK, LIMIT, SOFT

MARGIN = 45.0  #: points, from the paper's edge to the words
FRAME = 6.0  #: what the PDF library pads a page's frame with
LEAST_BELOW = 90.0
PIECE, ROW_LETTERS, LINE_LETTERS = 1000, 1800, 60  #: letters of a paragraph, a row, a line: well below a page
NAME_LETTERS = 160  #: more of a name would make a narrow column taller than the page
GRID = INK


@dataclass(frozen=True)
class Styles:
    """The paragraph styles of a record."""

    body: Any
    quiet: Any
    strong: Any
    good: Any
    warned: Any
    title: Any
    heading: Any


@cache
def styles() -> Styles:
    """All styles; made once."""
    from reportlab.lib.styles import ParagraphStyle

    def style(name: str, size: float = 9, bold: bool = False, tone: str = INK, **more: Any) -> Any:
        return ParagraphStyle(
            name,
            fontName=BOLD if bold else REGULAR,
            fontSize=size,
            leading=size * 1.35,
            textColor=tone,
            **more,
        )

    return Styles(
        body=style("body"),
        quiet=style("quiet", 8, tone=SOFT),
        strong=style("strong", bold=True),
        good=style("good", bold=True),
        warned=style("warned", bold=True, tone=LIMIT),
        title=style("title", 17, bold=True, spaceAfter=2),
        heading=style("heading", 12, bold=True, spaceBefore=14, spaceAfter=4),
    )


def paragraph(text: str, style: Any = None) -> Any:
    """Free text as a paragraph; markup in it is shown, not obeyed."""
    return marked_paragraph(marked_up(text), style)


def marked_paragraph(markup: str, style: Any = None) -> Any:
    """A paragraph from the project's own markup."""
    from reportlab.platypus import Paragraph

    return Paragraph(markup, style or styles().body)


def paragraphs(text: str, style: Any = None, mark: str = "{}") -> list[Any]:
    """A text of any length as paragraphs none of which is taller than a page; ``mark`` wraps each."""
    return [marked_paragraph(mark.format(escaped), style) for escaped in map(marked_up, _pieces(text))]


def _pieces(text: str) -> list[str]:
    pieces = []
    while len(text) > PIECE:
        cut = text.rfind(" ", PIECE // 2, PIECE)
        cut = PIECE if cut < 0 else cut
        pieces.append(text[:cut])
        text = text[cut:]
    return [*pieces, text]


def rows_of(lead: list[Any], parts: list[Any]) -> list[list[Any]]:
    """A table row with ``parts`` in its last cell, and further rows for what would make it too tall."""
    cells: list[list[Any]] = [[]]
    letters = 0
    for part in parts:
        size = len(part.getPlainText()) + LINE_LETTERS
        if cells[-1] and letters + size > ROW_LETTERS:
            cells.append([])
            letters = 0
        cells[-1].append(part)
        letters += size
    blank = [""] * len(lead)
    return [[*(blank if n else lead), cell] for n, cell in enumerate(cells)]


def section(title: str, *parts: Any) -> list[Any]:
    """A heading and its parts; a heading never stands alone at the foot of a page."""
    from reportlab.platypus import CondPageBreak

    return [CondPageBreak(LEAST_BELOW), paragraph(title, styles().heading), *parts]


def page_width(page: PageSize) -> float:
    """Width between the margins [points]."""
    from reportlab.lib import pagesizes

    return float((pagesizes.A4 if page == "A4" else pagesizes.letter)[0]) - 2 * MARGIN


def table_style(head: bool = True) -> list[tuple[Any, ...]]:
    """Hair lines between rows, a stronger one below the head."""
    lines: list[tuple[Any, ...]] = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LINEBELOW", (0, 0), (-1, -1), 0.5, HAIR),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 3),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 4),
    ]
    return [*lines, ("LINEBELOW", (0, 0), (-1, 0), 0.9, GRID)] if head else lines
