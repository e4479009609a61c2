"""What an eye would complain of in a drawn figure: words that overlap, are cut, or are too small."""

from __future__ import annotations

from itertools import combinations

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.text import Text
from matplotlib.transforms import Bbox

SLACK = 1.0  #: pixels: rounding of letter outlines


def words(figure: Figure) -> list[tuple[Text, Bbox]]:
    """Every visible text with where it stands, in pixels."""
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    shown = [t for t in figure.findobj(Text) if t.get_visible() and t.get_text().strip()]
    return [(t, t.get_window_extent(canvas.get_renderer())) for t in shown]


def _apart(one: Bbox, other: Bbox) -> bool:
    return (
        one.x1 - SLACK <= other.x0
        or other.x1 - SLACK <= one.x0
        or one.y1 - SLACK <= other.y0
        or other.y1 - SLACK <= one.y0
    )


def overlaps(figure: Figure) -> list[str]:
    """Pairs of texts that lie over one another."""
    return [
        f"{a.get_text()!r} over {b.get_text()!r}"
        for (a, box), (b, other) in combinations(words(figure), 2)
        if not _apart(box, other)
    ]


def cut(figure: Figure) -> list[str]:
    """Texts that leave the page."""
    page = figure.bbox
    return [
        t.get_text()
        for t, box in words(figure)
        if box.x0 < page.x0 or box.x1 > page.x1 or box.y0 < page.y0 or box.y1 > page.y1
    ]


def small(figure: Figure, least_px: float) -> list[str]:
    """Texts in letters smaller than ``least_px`` pixels to the em."""
    return [t.get_text() for t, _ in words(figure) if t.get_fontsize() * figure.dpi / 72 < least_px - 0.01]


def curves_cut(figure: Figure) -> list[str]:
    """Curves that leave the area in which they are drawn, and so lose a part."""
    found = []
    for area in figure.axes:
        (left, right), (one, other) = area.get_xlim(), area.get_ylim()
        low, high = min(one, other), max(one, other)
        for line in area.findobj(Line2D):
            if line.get_transform() is not area.transData:
                continue
            if any(not left - 1e-6 <= float(x) <= right + 1e-6 for x in line.get_xdata()):
                found.append(f"x of {line}")
            if any(not low - 1e-6 <= float(y) <= high + 1e-6 for y in line.get_ydata()):
                found.append(f"y of {line}")
    return found
