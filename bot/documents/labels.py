"""Labels to print and to send: sheets as PDF, a single one as PNG."""

from __future__ import annotations

import io
from typing import Any

from bot.documents.label_layout import Layout, lay_out
from bot.documents.label_text import qr_text
from bot.documents.records import Label, Made
from bot.documents.sheets import PAGES_MM, Sheet, sheet
from bot.documents.typeface import BOLD, REGULAR, load_fonts
from bot.pictures.look import INK

MOST_LABELS = 500
PNG_SIZE_MM = (100.0, 66.0)
PNG_DPI = 300
FINER = 3  #: letters are drawn larger and reduced, so that they stand where they were measured
MM_PER_INCH = 25.4
POINTS_PER_MM = 72 / MM_PER_INCH
QUIET_MODULES = 4  #: the white margin that ISO/IEC 18004 asks for around a code


def label_sheet_pdf(label: Label, count: int, sheet_name: str, skip: int = 0) -> Made:
    """``count`` (1..500) equal labels on as many pages as they need.

    ``skip`` places of the first page are left free, for a sheet that was begun. Raises ValueError for a
    count out of range or an unknown sheet, LabelTooSmall where the cautions do not fit.
    """
    from reportlab.pdfgen.canvas import Canvas

    if not 1 <= count <= MOST_LABELS:
        raise ValueError(f"between 1 and {MOST_LABELS} labels can be made at once, not {count}")
    chosen = sheet(sheet_name)
    layout = lay_out(label, chosen.width_mm, chosen.height_mm, chosen.pad_mm)
    load_fonts()
    buffer = io.BytesIO()
    wide, tall = PAGES_MM[chosen.page]
    canvas = Canvas(buffer, pagesize=(wide * POINTS_PER_MM, tall * POINTS_PER_MM), invariant=1)
    _place_labels(canvas, chosen, layout, qr_text(label), range(skip % chosen.places, skip % chosen.places + count))
    canvas.save()
    return Made(buffer.getvalue(), layout.notes)


def _place_labels(canvas: Any, chosen: Sheet, layout: Layout, code: str, places: range) -> None:
    """One form, drawn once and stamped at each place, so that many labels stay a small file."""
    canvas.beginForm("label", 0, 0, chosen.width_mm * POINTS_PER_MM, chosen.height_mm * POINTS_PER_MM)
    _draw_label(canvas, chosen.height_mm, layout, code)
    canvas.endForm()
    for n, place in enumerate(places):
        if n and place % chosen.places == 0:
            canvas.showPage()
        x, y = chosen.corner_mm(place % chosen.places)
        canvas.saveState()
        canvas.translate(x * POINTS_PER_MM, (PAGES_MM[chosen.page][1] - y - chosen.height_mm) * POINTS_PER_MM)
        canvas.doForm("label")
        canvas.restoreState()
    canvas.showPage()


def _draw_label(canvas: Any, height_mm: float, layout: Layout, code: str) -> None:
    canvas.setFillColor(INK)
    for run in layout.runs:
        canvas.setFont(BOLD if run.bold else REGULAR, run.size_mm * POINTS_PER_MM)
        canvas.drawString(run.x_mm * POINTS_PER_MM, (height_mm - run.y_mm) * POINTS_PER_MM, run.text)
    left, top, side = layout.qr_mm
    modules = qr_modules(code)
    step = side / len(modules)
    canvas.setFillColor("#000000")
    for row, line in enumerate(modules):
        for first, length in _dark_runs(line):
            x, y = left + first * step, height_mm - top - (row + 1) * step
            canvas.rect(*(v * POINTS_PER_MM for v in (x, y, length * step, step)), stroke=0, fill=1)


def qr_modules(text: str) -> list[list[bool]]:
    """The QR code of ``text`` (UTF-8) with its quiet margin: rows of modules, True is dark."""
    import segno

    code = segno.make_qr(text, error="l", encoding="utf-8")
    return [[bool(module) for module in row] for row in code.matrix_iter(border=QUIET_MODULES)]


def _dark_runs(line: list[bool]) -> list[tuple[int, int]]:
    """Where dark modules begin and how many stand together."""
    runs: list[tuple[int, int]] = []
    for place, dark in enumerate(line):
        if dark and runs and sum(runs[-1]) == place:
            runs[-1] = (runs[-1][0], runs[-1][1] + 1)
        elif dark:
            runs.append((place, 1))
    return runs


def label_png(label: Label, size_mm: tuple[float, float] = PNG_SIZE_MM) -> Made:
    """One label as a PNG at 300 dots to the inch; raises LabelTooSmall where the cautions do not fit."""
    from PIL import Image, ImageDraw

    layout = lay_out(label, *size_mm)
    dots = PNG_DPI / MM_PER_INCH * FINER
    large = Image.new("L", (round(size_mm[0] * dots), round(size_mm[1] * dots)), 255)
    pen = ImageDraw.Draw(large)
    for run in layout.runs:
        pen.text((run.x_mm * dots, run.y_mm * dots), run.text, 0, _font(run.size_mm * dots, run.bold), anchor="ls")
    picture = large.reduce(FINER)
    _draw_code(picture, layout, qr_text(label))
    buffer = io.BytesIO()
    picture.save(buffer, "PNG", dpi=(PNG_DPI, PNG_DPI))
    return Made(buffer.getvalue(), layout.notes)


def _font(size_px: float, bold: bool) -> Any:
    from PIL import ImageFont

    from bot.pictures.lettering import font_path

    return ImageFont.truetype(str(font_path(bold)), size_px, layout_engine=ImageFont.Layout.BASIC)


def _draw_code(picture: Any, layout: Layout, code: str) -> None:
    """The code in whole dots a module, so that its edges stay sharp."""
    from PIL import Image

    modules = qr_modules(code)
    left, top, side = (v * PNG_DPI / MM_PER_INCH for v in layout.qr_mm)
    step = int(side // len(modules))
    small = Image.new("L", (len(modules), len(modules)))
    small.putdata([0 if dark else 255 for line in modules for dark in line])
    sharp = small.resize((step * len(modules),) * 2, Image.Resampling.NEAREST)
    picture.paste(sharp, (round(left + side) - sharp.width, round(top)))
