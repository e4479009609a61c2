"""Bars: one that fills (minutes held, hours used) and one that divides (a batch's stages)."""

from __future__ import annotations

from collections.abc import Sequence

from bot.pictures.look import INK, INNER, MARGIN, PAPER, WIDTH, Page

TALL = 16


def _box(page: Page, at: tuple[float, float], size: tuple[float, float], tone: str, edge: str = "none") -> None:
    """A rectangle by its top left corner, in pixels."""
    from matplotlib.patches import Rectangle

    (left, top), (wide, tall) = at, size
    corner = (left / WIDTH, 1 - (top + tall) / page.height)
    page.figure.add_artist(
        Rectangle(
            corner,
            wide / WIDTH,
            tall / page.height,
            fc=tone,
            ec=edge,
            lw=1,
            transform=page.figure.transFigure,
        )
    )


def draw_meter(page: Page, left: float, top: float, wide: float, parts: tuple[tuple[float, str], ...]) -> None:
    """A track ``wide`` pixels long; each part is a share (0..1, clipped) and its tone, later over earlier."""
    _box(page, (left, top), (wide, TALL), PAPER)
    for share, tone in parts:
        _box(page, (left, top), (wide * min(max(share, 0.0), 1.0), TALL), tone)
    _box(page, (left, top), (wide, TALL), "none", INK)


def draw_strip(page: Page, top: float, tall: float, parts: Sequence[tuple[float, str]]) -> None:
    """The full width divided among ``parts`` (size, tone), in order."""
    total = sum(size for size, _ in parts)
    if total <= 0:
        return
    x = float(MARGIN)
    for size, tone in parts:
        wide = INNER * size / total
        _box(page, (x, top), (wide, tall), tone, PAPER)
        x += wide
