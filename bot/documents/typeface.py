"""The documents' letters: the pictures' own typeface, embedded in every PDF."""

from __future__ import annotations

from functools import cache
from xml.sax.saxutils import escape

from bot.pictures.lettering import font_path, printable

REGULAR, BOLD = "Brinebell", "Brinebell-Bold"


@cache
def load_fonts() -> None:
    """Make the two fonts known to the PDF library; once a process is enough."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for name, bold in ((REGULAR, False), (BOLD, True)):
        pdfmetrics.registerFont(TTFont(name, str(font_path(bold))))
    pdfmetrics.registerFontFamily(REGULAR, normal=REGULAR, bold=BOLD, italic=REGULAR, boldItalic=BOLD)


def marked_up(text: str) -> str:
    """Free text for a paragraph: letters that can be printed, nothing that reads as markup."""
    return escape(printable(text))
