"""Letters: which can be drawn, how wide they run, where lines break.

One typeface is used in pictures and documents: the one that ships with the drawing library, so that
nothing depends on what is installed. It covers Latin, Greek and Cyrillic. What it lacks, and what
would need shaping or runs right to left, is shown as one ``▯`` for each run of such letters.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache, lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.ImageFont import FreeTypeFont

MISSING = "▯"
_MEASURE_SIZE = 100  # large, so that hinting does not matter


@cache
def font_path(bold: bool = False) -> Path:
    """The font file in the drawing library's own data."""
    spec = find_spec("matplotlib")
    if spec is None or spec.origin is None:
        raise RuntimeError("matplotlib is not installed: run `pip install brinebell` again")
    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    return Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf" / name


@cache
def _covered() -> frozenset[int]:
    from matplotlib.ft2font import FT2Font

    each = [frozenset(FT2Font(str(font_path(bold))).get_charmap()) for bold in (False, True)]
    return each[0] & each[1]


def _drawable(letter: str) -> bool:
    if unicodedata.bidirectional(letter) in ("R", "AL", "AN"):
        return False
    return ord(letter) in _covered()


@lru_cache(maxsize=4096)
def printable(text: str) -> str:
    """``text`` on one line with letters that can be drawn; each run of others becomes ``▯``."""
    composed = unicodedata.normalize("NFC", text)
    kept = (c for c in composed if unicodedata.category(c) not in ("Cf", "Mn", "Me") or _joins(c))
    plain = "".join(" " if unicodedata.category(c) in ("Cc", "Zl", "Zp") else c for c in kept)
    marked = "".join(c if c.isspace() or _drawable(c) else "\0" for c in plain)
    runs = re.sub("\0[\0 ]*\0|\0", MISSING, marked)
    return re.sub("[^\\S\u00a0]+", " ", runs).strip()  # a no-break space stays one


def _joins(letter: str) -> bool:
    """A combining accent that no composed letter took up, but that can be drawn over its letter."""
    return unicodedata.category(letter) == "Mn" and _drawable(letter)


def all_printable(text: str) -> bool:
    """False if some letter of ``text`` can only be shown as ``▯``."""
    return MISSING not in printable(text.replace(MISSING, ""))


@cache
def _measure(bold: bool) -> FreeTypeFont:
    from PIL import ImageFont

    return ImageFont.truetype(str(font_path(bold)), _MEASURE_SIZE, layout_engine=ImageFont.Layout.BASIC)


@lru_cache(maxsize=8192)
def text_width(text: str, size: float, bold: bool = False) -> float:
    """How wide ``text`` runs, in the unit of ``size`` (the letter's em)."""
    return float(_measure(bold).getlength(text)) * size / _MEASURE_SIZE


def shorten(text: str, width: float, size: float, bold: bool = False) -> str:
    """``text``, or as much of it as fits into ``width`` with an ellipsis."""
    if text_width(text, size, bold) <= width:
        return text
    return text[: fitting(text, width - text_width("…", size, bold), size, bold)].rstrip() + "…"


def fitting(text: str, width: float, size: float, bold: bool) -> int:
    """How many leading letters fit, at least one so that a line break always gets on."""
    low, high = 1, min(len(text), 400)
    while low < high:
        middle = (low + high + 1) // 2
        if text_width(text[:middle], size, bold) <= width:
            low = middle
        else:
            high = middle - 1
    return low


def wrap(text: str, width: float, size: float, bold: bool = False, most: int | None = None) -> list[str]:
    """``text`` as lines that fit into ``width``; of more than ``most`` the last ends with an ellipsis."""
    lines: list[str] = []
    line = ""
    for word in printable(text).split(" "):
        if most is not None and len(lines) > most:
            break
        longer = f"{line} {word}" if line else word
        if text_width(longer, size, bold) <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        *full, line = _pieces(word, width, size, bold)
        lines.extend(full)
    lines.append(line)
    if most is None or len(lines) <= most:
        return lines
    return [*lines[: most - 1], shorten(" ".join(lines[most - 1 : most + 1]), width, size, bold)]


def _pieces(word: str, width: float, size: float, bold: bool) -> list[str]:
    pieces = []
    while text_width(word, size, bold) > width and len(word) > 1:
        cut = fitting(word, width, size, bold)
        pieces.append(word[:cut])
        word = word[cut:]
    return [*pieces, word]
