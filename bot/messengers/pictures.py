"""Pictures that people send: checked, stripped of what they tell about place and person, kept."""

from __future__ import annotations

import hashlib
import io
from pathlib import Path

from PIL import Image, ImageOps, UnidentifiedImageError

#: Telegram, "Bot API", getFile: bots can download files of up to 20 MB.
BYTES_LIMIT = 20 * 1024 * 1024
#: Decoding costs memory by the pixel whatever the file's size. Ours; a JPEG is counted as it is
#: decoded, at an eighth to the whole of its sides, so that any phone's photo passes.
PIXELS_LIMIT = 30_000_000
#: Longest side kept, in pixels: a probe's display stays readable.
KEPT_SIDE = 2048
FORMATS = ("JPEG", "PNG", "WEBP")


class NotAPicture(Exception):
    """The content is no picture that can be kept: too large, damaged, or something else."""


def keep_picture(content: bytes, key: str, data_dir: Path, folder: str = "photos") -> str:
    """Store a picture as JPEG in ``folder`` under ``data_dir``; its path relative to ``data_dir``.

    The name comes from ``key`` alone: the same event stored twice is one file, and no part of a
    name comes from a person. Raises NotAPicture.
    """
    name = f"{folder}/{hashlib.sha256(key.encode()).hexdigest()[:32]}.jpg"
    path = data_dir / name
    picture = clean_picture(content)
    path.parent.mkdir(parents=True, exist_ok=True)
    partial = path.with_suffix(".part")
    partial.write_bytes(picture)
    partial.replace(path)
    return name


def clean_picture(content: bytes) -> bytes:
    """The same picture as JPEG, upright and of bounded size, with pixels and nothing else.

    Raises NotAPicture.
    """
    if len(content) > BYTES_LIMIT:
        raise NotAPicture("larger than 20 MB")
    try:
        pixels = _decode(content)
    except (UnidentifiedImageError, Image.DecompressionBombError, OSError, ValueError, SyntaxError) as error:
        raise NotAPicture("damaged, or not a picture") from error
    # A new image carries no comment, profile, place or camera of the old one.
    bare = Image.new("RGB", pixels.size)
    bare.paste(pixels)
    out = io.BytesIO()
    bare.save(out, "JPEG", quality=85)
    return out.getvalue()


def _decode(content: bytes) -> Image.Image:
    with Image.open(io.BytesIO(content), formats=FORMATS) as image:
        image.draft("RGB", (KEPT_SIDE, KEPT_SIDE))
        if image.width * image.height > PIXELS_LIMIT:
            raise NotAPicture("more pixels than can be kept")
        upright = ImageOps.exif_transpose(image)
        upright.thumbnail((KEPT_SIDE, KEPT_SIDE))
        return upright.convert("RGB")
