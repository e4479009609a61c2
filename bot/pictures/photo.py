"""A person's photo, made to fit across the top of a page."""

from __future__ import annotations

import io
from typing import Any

from bot.pictures.look import WIDTH

PHOTO_HEIGHT = 320
MOST_PIXELS = 50_000_000


def open_photo(encoded: bytes) -> Any | None:
    """Pixels of a JPEG or PNG, upright and cropped to the page's width; None if it cannot be opened.

    Larger than 50 million pixels counts as unreadable: it would take more memory than a card is worth.
    """
    import numpy as np
    from PIL import Image, ImageOps

    try:
        with Image.open(io.BytesIO(encoded), formats=("JPEG", "PNG")) as photo:
            if photo.width * photo.height > MOST_PIXELS:
                return None
            photo.draft("RGB", (WIDTH * 2, PHOTO_HEIGHT * 2))
            upright = ImageOps.exif_transpose(photo).convert("RGB")
            return np.asarray(ImageOps.fit(upright, (WIDTH, PHOTO_HEIGHT)))
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError):
        return None
