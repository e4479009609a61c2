"""The look that all pictures share: one page, one typeface, few tones, every size in pixels.

A page is 720 pixels wide and meant to be seen at half that, so its smallest letters (28 pixels) are
as large as a chat's. Tones differ in lightness, lines in dash and marker, so grey is enough.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from bot.pictures.lettering import font_path, printable, shorten, text_width, wrap

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.font_manager import FontProperties

WIDTH = 720
DPI = 144  # two pixels to a point
MARGIN = 36
BODY = 28  #: letter size of all text but titles
TITLE = 38
LINE = 38  #: from one line of body text to the next
INNER = WIDTH - 2 * MARGIN
LEFT = 128  #: where a chart with a value axis begins
AXIS = 62  #: room below a chart for its ticks

PAPER = "#fcfbf7"
INK = "#1d2b36"
SOFT = "#55636d"  #: secondary text
HAIR = "#d3d6d4"
NIGHT = "#e4e7ec"
COLD = "#a9c3cf"
WARM = "#33566b"
LIMIT = "#8c1d2f"


@dataclass(frozen=True)
class LotStyle:
    """How one lot is told from the others: tone, dash, marker, and the marker as a letter."""

    tone: str
    dash: Any
    marker: str
    sign: str


LOT_STYLES = (
    LotStyle("#123f5c", "solid", "o", "●"),
    LotStyle("#b04e22", (0, (6, 2)), "s", "■"),
    LotStyle("#96923f", (0, (2, 1.5)), "^", "▲"),
    LotStyle("#5b2a5e", (0, (6, 1.5, 1.5, 1.5)), "D", "◆"),
    LotStyle("#2f7f77", (0, (1, 1)), "v", "▼"),
)


def lot_style(index: int) -> LotStyle:
    """Style of the lot that stands at ``index``; after the last they start again."""
    return LOT_STYLES[index % len(LOT_STYLES)]


@cache
def font(size: float, bold: bool = False) -> FontProperties:
    """The project's typeface at ``size`` pixels."""
    from matplotlib.font_manager import FontProperties

    return FontProperties(fname=str(font_path(bold)), size=size * 72 / DPI)


class Page:
    """A figure measured in pixels from its top left corner, filled from the top down."""

    def __init__(self, height: int) -> None:
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        self.height = height
        self.y = float(MARGIN)
        self.figure = Figure(figsize=(WIDTH / DPI, height / DPI), dpi=DPI, facecolor=PAPER)
        FigureCanvasAgg(self.figure)

    def text(
        self,
        x: float,
        y: float,
        words: str,
        *,
        size: float = BODY,
        bold: bool = False,
        tone: str = INK,
        align: str = "left",
    ) -> None:
        """One line of text, its top at ``y``."""
        self.figure.text(
            x / WIDTH,
            1 - (y + size) / self.height,
            words,
            font=font(size, bold),
            color=tone,
            ha=align,
            va="baseline",
            parse_math=False,
        )

    def lines(self, words: str, *, most: int = 2, size: float = BODY, bold: bool = False, tone: str = INK) -> None:
        """A paragraph over the full width at the page's current height, which moves down."""
        for line in wrap(words, INNER, size, bold, most):
            self.text(MARGIN, self.y, line, size=size, bold=bold, tone=tone)
            self.y += size * LINE / BODY

    def heading(self, title: str, below: str) -> None:
        """Title and one quieter line."""
        self.lines(title, size=TITLE, bold=True)
        self.y += 4
        if below:
            self.lines(below, tone=SOFT)
        self.y += 14

    def axes(self, left: float, top: float, width: float, height: float) -> Axes:
        """A bare plotting area at a place in pixels."""
        place = (left / WIDTH, 1 - (top + height) / self.height, width / WIDTH, height / self.height)
        area = self.figure.add_axes(place, facecolor="none")
        for name, spine in area.spines.items():
            spine.set_visible(name == "bottom")
            spine.set_color(SOFT)
        area.tick_params(length=0, pad=8)
        return area

    def rule(self, y: float) -> None:
        """A hair line across the page."""
        from matplotlib.lines import Line2D

        at = 1 - y / self.height
        self.figure.add_artist(Line2D([MARGIN / WIDTH, 1 - MARGIN / WIDTH], [at, at], color=HAIR, lw=1))


def halo() -> list[Any]:
    """An effect that keeps words readable where a line runs behind them."""
    from matplotlib.patheffects import withStroke

    return [withStroke(linewidth=5, foreground=PAPER)]


def label_ticks(axis: Any, places: list[float], words: list[str]) -> None:
    """Put ``words`` at ``places`` of an axis, in the page's letters."""
    axis.set_ticks(places, words, font=font(BODY), color=SOFT)


def heading_height(title: str, below: str) -> float:
    """How much of a page ``Page.heading`` takes, margin included."""
    titles = len(wrap(title, INNER, TITLE, True, 2)) * TITLE * LINE / BODY
    return MARGIN + titles + 4 + (len(wrap(below, INNER, BODY, False, 2)) * LINE if below else 0) + 14


def fit(words: str, width: float, *, size: float = BODY, bold: bool = False) -> str:
    """Free text on one line, shortened to ``width`` pixels."""
    return shorten(printable(words), width, size, bold)


def width_of(words: str, *, size: float = BODY, bold: bool = False) -> float:
    """Width of a text in pixels."""
    return text_width(words, size, bold)


def png(figure: Figure) -> bytes:
    """The figure as a PNG file."""
    buffer = io.BytesIO()
    # No version in the file: the same record gives the same bytes.
    options = {"compress_level": 3}  # the last bytes would cost half as much time again
    figure.savefig(buffer, format="png", facecolor=PAPER, dpi=DPI, metadata={"Software": None}, pil_kwargs=options)
    return buffer.getvalue()
