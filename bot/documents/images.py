"""Pictures and photos in the record: two beside each other, each with its caption."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

from bot.documents import words
from bot.documents.records import PageSize, RecordImage
from bot.documents.sheet_style import page_width, paragraph, section, styles
from bot.pictures.photo import open_upright

TALLEST = 380.0  #: points
SIDE_PX = 1400  #: more would not show in print at this size
GAP = 12.0
PNG = b"\x89PNG"


def image_section(title: str, images: Sequence[RecordImage], page: PageSize) -> list[Any]:
    """Rows of two pictures; the heading goes to the next page with the first row where it must."""
    from reportlab.platypus import KeepTogether, Table

    wide = page_width(page) / 2
    cells = [_cell(image, wide - GAP) for image in images]
    if len(cells) % 2:
        cells.append([])
    look = [("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (-1, -1), 0)]
    pairs = [cells[i : i + 2] for i in range(0, len(cells), 2)]
    first, *others = (Table([pair], colWidths=[wide, wide], style=look) for pair in pairs)
    return [KeepTogether(section(title, first)), *(KeepTogether(row) for row in others)]


def _cell(image: RecordImage, wide: float) -> list[Any]:
    from reportlab.platypus import Image

    caption = paragraph(words.with_entry(image.caption[:300], image.entry), styles().quiet)
    opened = reencoded(image.encoded)
    if opened is None:
        return [paragraph(words.UNREADABLE), caption]
    encoded, width_px, height_px = opened
    scale = min(wide / width_px, TALLEST / height_px)
    drawn = Image(io.BytesIO(encoded), width=width_px * scale, height=height_px * scale)
    drawn.hAlign = "LEFT"
    return [drawn, caption]


def reencoded(encoded: bytes) -> tuple[bytes, int, int] | None:
    """The picture no larger than it can show, and its width and height; None if it cannot be opened.

    What was a PNG stays one, all else becomes JPEG; nothing that a camera wrote beside it is kept.
    """
    picture = open_upright(encoded, SIDE_PX)
    if picture is None:
        return None
    picture.thumbnail((SIDE_PX, SIDE_PX))
    out = io.BytesIO()
    picture.save(out, "PNG" if encoded.startswith(PNG) else "JPEG", quality=85)
    return out.getvalue(), picture.width, picture.height
