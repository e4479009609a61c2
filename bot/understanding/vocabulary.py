"""Whether a sentence speaks of the work at all: a word from elsewhere makes a loose figure or verb mean nothing."""

from __future__ import annotations

from bot.understanding.items import Sheet
from bot.understanding.lexicon import is_known


def strange(sheet: Sheet, span: tuple[int, int]) -> list[str]:
    """Return the words of a stretch that belong neither to the trade nor to plain talk about it."""
    return [
        item.text
        for item in sheet.items[span[0] : span[1]]
        if item.kind == "word" and not is_known(item.text) and not is_known(item.text.removesuffix("'s"))
    ] + ["¤" for item in sheet.items[span[0] : span[1]] if item.text in {"¤", "$", "€", "£", "@"}]
