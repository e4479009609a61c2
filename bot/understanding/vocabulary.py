"""Whether a sentence speaks of the work at all: a word from elsewhere makes a loose figure or verb mean nothing."""

from __future__ import annotations

from itertools import pairwise

from bot.understanding.items import Item, Sheet
from bot.understanding.lexicon import is_known
from bot.understanding.wordlists import words

_MARKS = frozenset({"¤", "$", "€", "£"})
#: Who may have done the work: "my wife put more wood in".
_FAMILY = words("others", "family")
_DEEDS = words("events", "add") | words("events", "pull") | words("events", "looks_back") | words("events", "turn")
_NOTHING = Item("end", "")


def strange(sheet: Sheet, span: tuple[int, int]) -> list[str]:
    """Return the words of a stretch that belong neither to the trade nor to plain talk about it."""
    if span not in sheet.strange:
        sheet.strange[span] = [
            item.text
            for item, behind in pairwise([*sheet.items[span[0] : span[1]], _NOTHING])
            if _is_strange(item) and not (item.text in _FAMILY and behind.text in _DEEDS)
        ]
    return sheet.strange[span]


def strange_deed(sheet: Sheet, span: tuple[int, int]) -> bool:
    """True where a word from elsewhere stands beside a deed; who did it is none: ``the wife pulled them at 5``."""
    return bool(set(strange(sheet, span)) - words("others", "family"))


def _is_strange(item: Item) -> bool:
    if item.key("label") == "elsewhere":
        return True
    if item.kind == "word":
        return not is_known(item.text) and not is_known(item.text.removesuffix("'s"))
    return item.text in _MARKS
