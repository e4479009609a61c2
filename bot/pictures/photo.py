"""People's photos: opened with care, turned upright, without what a camera wrote beside them."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

from bot.pictures.look import WIDTH

if TYPE_CHECKING:
    from PIL.Image import Image

PHOTO_HEIGHT = 320
MOST_PIXELS = 50_000_000


def open_upright(encoded: bytes, least_px: int) -> Image | None:
    """Pixels of a JPEG or PNG, upright and RGB; None if it cannot be opened.

    A JPEG may come out smaller than it is, but not below ``least_px`` on a side. More than 50 million
    pixels count as unreadable: they would take more memory than a picture is worth.
    """
    from PIL import Image, ImageOps

    try:
        with Image.open(io.BytesIO(encoded), formats=("JPEG", "PNG")) as photo:
            if photo.width * photo.height > MOST_PIXELS:
                return None
            photo.draft("RGB", (least_px, least_px))
            return ImageOps.exif_transpose(photo).convert("RGB")
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError):
        return None


def banner(encoded: bytes) -> Any | None:
    """A photo cropped to go across the top of a page, as an array; None if it cannot be opened."""
    import numpy as np
    from PIL import ImageOps

    photo = open_upright(encoded, WIDTH)
    return None if photo is None else np.asarray(ImageOps.fit(photo, (WIDTH, PHOTO_HEIGHT)))
