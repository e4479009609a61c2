"""Which sign stands for which lot."""

from __future__ import annotations

from bot.pictures.look import INNER, LINE, MARGIN, Page, fit, lot_style, width_of

BETWEEN = 28


def _placed(names: tuple[str, ...]) -> list[tuple[float, int, str]]:
    """Each name's x and line, several to a line while they fit."""
    found: list[tuple[float, int, str]] = []
    x, line = 0.0, 0
    for index, name in enumerate(names):
        sign = width_of(lot_style(index).sign + " ")
        shown = fit(name, INNER - sign)
        wide = sign + width_of(shown)
        if x and x + wide > INNER:
            x, line = 0.0, line + 1
        found.append((x, line, shown))
        x += wide + BETWEEN
    return found


def lot_key_height(names: tuple[str, ...]) -> float:
    """Height that the key takes; nothing where there are no names."""
    return (_placed(names)[-1][1] + 1) * LINE + 12 if names else 0.0


def draw_lot_key(page: Page, names: tuple[str, ...]) -> None:
    """The key at the page's current height."""
    for index, (x, line, shown) in enumerate(_placed(names)):
        style = lot_style(index)
        y = page.y + line * LINE
        page.text(MARGIN + x, y, style.sign, tone=style.tone)
        page.text(MARGIN + x + width_of(style.sign + " "), y, shown)
    page.y += lot_key_height(names)
