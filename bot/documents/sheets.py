"""Label sheets by their geometry: how many labels lie where on which paper."""

from __future__ import annotations

from dataclasses import dataclass

from bot.documents.records import PageSize

PAGES_MM: dict[PageSize, tuple[float, float]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}


@dataclass(frozen=True)
class Sheet:
    """Labels in columns and rows; all lengths in millimetres.

    ``left_mm`` and ``top_mm`` lead to the first label, ``gap_x_mm`` and ``gap_y_mm`` lie between two. ``pad_mm``
    stays free inside each label: more where labels reach the paper's edge, which few printers do.
    """

    name: str
    page: PageSize
    columns: int
    rows: int
    width_mm: float
    height_mm: float
    left_mm: float
    top_mm: float
    gap_x_mm: float = 0.0
    gap_y_mm: float = 0.0
    pad_mm: float = 3.0

    @property
    def size(self) -> str:
        """A label's size in words."""
        return f"{self.width_mm:.0f} x {self.height_mm:.0f} mm"

    @property
    def places(self) -> int:
        """Labels on one page."""
        return self.columns * self.rows

    def corner_mm(self, place: int) -> tuple[float, float]:
        """Left and top edge of the label at ``place`` (0 is the first, then along the row)."""
        row, column = divmod(place, self.columns)
        x = self.left_mm + column * (self.width_mm + self.gap_x_mm)
        return x, self.top_mm + row * (self.height_mm + self.gap_y_mm)


#: Common cuts, as remembered from packs of sheets: print one page on plain paper and hold it against yours.
SHEETS: dict[str, Sheet] = {
    sheet.name: sheet
    for sheet in (
        Sheet("3x8 on A4", "A4", 3, 8, 70.0, 37.0, 0.0, 0.5, pad_mm=4.5),
        Sheet("3x7 on A4", "A4", 3, 7, 63.5, 38.1, 7.25, 15.15, 2.5),
        Sheet("2x7 on A4", "A4", 2, 7, 99.1, 38.1, 4.65, 15.15, 2.5),
        Sheet("2x4 on A4", "A4", 2, 4, 99.1, 67.7, 4.65, 13.1, 2.5),
        Sheet("2x5 on Letter", "Letter", 2, 5, 101.6, 50.8, 3.95, 12.7, 4.8),
        Sheet("2x3 on Letter", "Letter", 2, 3, 101.6, 84.6, 3.95, 12.7, 4.8),
    )
}


def sheet(name: str) -> Sheet:
    """The sheet of that name; raises ValueError that lists the names there are."""
    try:
        return SHEETS[name]
    except KeyError:
        raise ValueError(f"no label sheet is called {name!r}; there are {', '.join(SHEETS)}") from None
