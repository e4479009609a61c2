"""What is kept of a picture, and what is not."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, PngImagePlugin

from bot.messengers.pictures import BYTES_LIMIT, KEPT_SIDE, PIXELS_LIMIT, NotAPicture, clean_picture, keep_picture

GPS_IFD, ORIENTATION, MAKER = 0x8825, 0x0112, 0x010F
WHERE = "N 59 20"


def jpeg(size: tuple[int, int] = (120, 60), orientation: int = 1) -> bytes:
    """A picture whose left half is red, with a place, a maker and a comment in it."""
    image = Image.new("RGB", size, "white")
    image.paste("red", (0, 0, size[0] // 2, size[1]))
    exif = Image.Exif()
    exif[MAKER], exif[ORIENTATION] = WHERE, orientation
    exif.get_ifd(GPS_IFD)[1] = "N"
    out = io.BytesIO()
    image.save(out, "JPEG", exif=exif, comment=WHERE.encode(), quality=95)
    return out.getvalue()


def test_place_maker_and_comment_are_gone() -> None:
    before = jpeg()
    assert WHERE.encode() in before
    after = clean_picture(before)
    with Image.open(io.BytesIO(after)) as image:
        assert not image.getexif()
        assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert WHERE.encode() not in after


def test_text_chunks_of_a_png_are_gone() -> None:
    notes = PngImagePlugin.PngInfo()
    notes.add_text("Location", WHERE)
    out = io.BytesIO()
    Image.new("RGBA", (40, 40), (255, 0, 0, 128)).save(out, "PNG", pnginfo=notes)
    assert WHERE.encode() in out.getvalue()
    assert WHERE.encode() not in clean_picture(out.getvalue())


def test_a_picture_taken_sideways_is_upright() -> None:
    # Exif 2.32, tag 0x0112, value 6: the left of the stored rows is the top of the picture.
    with Image.open(io.BytesIO(clean_picture(jpeg(orientation=6)))) as image:
        assert image.size == (60, 120)
        red, green, blue = image.getpixel((30, 10))  # type: ignore[misc]
        assert red > 200
        assert max(green, blue) < 60


def test_a_large_picture_is_made_smaller_in_its_own_shape() -> None:
    with Image.open(io.BytesIO(clean_picture(jpeg((4000, 1000))))) as image:
        assert image.size == (KEPT_SIDE, KEPT_SIDE // 4)


@pytest.mark.parametrize(
    "content",
    [b"", b"%PDF-1.7 a document", jpeg()[:200], b"\x89PNG\r\n\x1a\n" + b"\0" * 40, b"x" * (BYTES_LIMIT + 1)],
    ids=["empty", "a document", "cut off", "damaged", "too large"],
)
def test_what_is_no_picture_is_refused(content: bytes) -> None:
    with pytest.raises(NotAPicture):
        clean_picture(content)


def test_a_small_file_with_a_flood_of_pixels_is_refused() -> None:
    out = io.BytesIO()
    side = int(PIXELS_LIMIT**0.5) + 1
    Image.new("1", (side, side)).save(out, "PNG")
    assert len(out.getvalue()) < BYTES_LIMIT
    with pytest.raises(NotAPicture):
        clean_picture(out.getvalue())


def test_a_photo_of_the_largest_phone_cameras_is_kept() -> None:
    with Image.open(io.BytesIO(clean_picture(jpeg((12_000, 9_000))))) as image:
        assert image.size == (KEPT_SIDE, KEPT_SIDE * 3 // 4)


@settings(max_examples=60)
@given(st.data())
def test_a_damaged_picture_is_kept_or_refused_and_nothing_else(data: st.DataObject) -> None:
    content = bytearray(jpeg())
    for _ in range(data.draw(st.integers(1, 20))):
        content[data.draw(st.integers(0, len(content) - 1))] = data.draw(st.integers(0, 255))
    try:
        kept = clean_picture(bytes(content))
    except NotAPicture:
        return
    assert kept.startswith(b"\xff\xd8")


def test_the_name_comes_from_the_event_and_the_same_event_is_one_file(tmp_path: Path) -> None:
    name = keep_picture(jpeg(), "../../7:500", tmp_path)
    assert keep_picture(jpeg(), "../../7:500", tmp_path) == name
    other = keep_picture(jpeg(), "7:501", tmp_path)
    kept = sorted(path.relative_to(tmp_path).as_posix() for path in tmp_path.rglob("*") if path.is_file())
    assert kept == sorted([name, other])
