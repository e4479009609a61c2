"""What stands on a label, in order, and what its QR code says."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from bot.documents import words
from bot.documents.records import Ingredient, Label
from bot.pictures.habits import long_date
from bot.pictures.lettering import printable

KEEPING = "keeping advice"
#: Most characters of each free text, whatever the label's size.
MOST = {"title": 90, "species": 70, "ingredients": 600, KEEPING: 160}
QR_MOST_BYTES = 150
QR_TITLE = 30
ADDRESS = re.compile(r"\S*(?:://|[^\W\d_]\.[^\W\d_]{2})\S*")


@dataclass(frozen=True)
class Piece:
    """Words in one weight."""

    text: str
    bold: bool = False


@dataclass(frozen=True)
class Part:
    """A paragraph of a label. ``size`` is relative to the body.

    ``free`` names a free text; of its ``had`` characters some may be cut already. One that ``gives_way``
    may lose more where the label is small; how to keep the fish may not.
    """

    pieces: tuple[Piece, ...]
    size: float = 1.0
    free: str = ""
    had: int = 0
    gives_way: bool = False

    @property
    def length(self) -> int:
        """Characters that are left."""
        return sum(len(piece.text) for piece in self.pieces)


def label_parts(label: Label) -> list[Part]:
    """Everything that must stand on the label; the allergens once more on a line that is never cut."""
    parts = [_free("title", label.title, 1.45, bold=True)]
    if label.species:
        parts.append(_free("species", label.species))
    if label.ingredients:
        parts.append(_ingredients(label.ingredients))
    made = Piece(_whole(f"{words.MADE} {long_date(label.made_on, label.habit)}."))
    parts.append(Part((Piece(f"{words.CONTAINS} {', '.join(allergens(label))}.", True),)))
    parts.append(Part((made, Piece(_keep_by(label), True))))
    if label.keep_how:
        parts.append(_free(KEEPING, label.keep_how))
    parts += [Part((Piece(f"◆ {printable(caution)}", True),)) for caution in label.cautions]
    parts.append(Part((Piece(words.at_risk(label.habit)),)))
    parts.append(Part((Piece(f"{words.LABEL_FOOD_CODES} {words.BATCH} {printable(label.batch)[:24]}"),)))
    return parts


def allergens(label: Label) -> list[str]:
    """Every allergen once, fish always: it is what this tool makes."""
    return list(dict.fromkeys(["fish", *(printable(a) for i in label.ingredients for a in i.allergens)]))


def qr_text(label: Label) -> str:
    """A summary in plain text, without anything that a phone would open as a web address."""
    keep = f"Keep by {label.keep_by.isoformat()}. {label.keep_how}" if label.keep_by else words.NO_KEEP_BY
    contains = f"{words.CONTAINS} {', '.join(allergens(label))}."
    facts = f"{words.BATCH} {label.batch[:24]}. {contains} {words.MADE} {label.made_on.isoformat()}. {keep}"
    text = " ".join(ADDRESS.sub("", f"{label.title[:QR_TITLE]}. {facts}").split())
    return text.encode(errors="replace")[:QR_MOST_BYTES].decode(errors="ignore").rstrip()


def _free(name: str, text: str, size: float = 1.0, bold: bool = False) -> Part:
    plain, most = printable(text), MOST[name]
    kept = plain if len(plain) <= most else plain[: most - 1].rstrip() + "…"
    return Part((Piece(kept, bold),), size, name, len(plain), gives_way=name != KEEPING)


def _keep_by(label: Label) -> str:
    if label.keep_by is None:
        return words.NO_KEEP_BY
    return _whole(f"{words.KEEP_BY} {long_date(label.keep_by, label.habit)}.")


def _whole(text: str) -> str:
    """Text that no line break may divide."""
    return text.replace(" ", "\u00a0")


def _ingredients(ingredients: tuple[Ingredient, ...]) -> Part:
    """The list with allergens in bold, cut after so many characters."""
    last = len(ingredients) - 1
    listed = [Piece(words.INGREDIENTS)]
    listed += [
        Piece(f"{printable(one.name)}{'.' if n == last else ','}", bool(one.allergens))
        for n, one in enumerate(ingredients)
    ]
    kept, room = [], MOST["ingredients"]
    for piece in listed:
        fits = piece if len(piece.text) <= room else replace(piece, text=piece.text[: max(room - 1, 0)] + "…")
        kept.append(fits)
        room -= len(piece.text)
        if room <= 0:
            break
    return Part(tuple(kept), free="ingredients", had=sum(len(piece.text) for piece in listed), gives_way=True)
