"""Which of the running batches a message means."""

from __future__ import annotations

from bot.understanding.items import Sheet
from bot.understanding.model import Context
from bot.understanding.text import plain
from bot.understanding.tokens import tokens


def named_batch(sheet: Sheet, context: Context) -> str | None:
    """Return the one running batch whose name, or a word of it, stands in the message; None if none or several."""
    if len(context.batches) < 2:
        return None
    said = {word.removesuffix("'s") for item in sheet.items for word in item.text.split()}
    species = {key for item in sheet.items if (key := item.key("species"))}
    hits = [name for name in context.batches if _names(name, context) & said or _species(name) & species]
    return hits[0] if len(hits) == 1 else None


def _names(name: str, context: Context) -> set[str]:
    """Return the words of a batch's name that no other batch has."""
    others = {word for other in context.batches if other != name for word in _words(other)}
    return {word for word in _words(name) - others if len(word) > 2 or not word.isalpha()} - {"batch"}


def _words(name: str) -> set[str]:
    return {token.text for token in tokens(plain(name).text)}


def _species(name: str) -> set[str]:
    from bot.understanding.lexicon import read_term

    found = tokens(plain(name).text)
    return {
        key
        for i in range(len(found))
        if (term := read_term(found, i))
        for category, key in term[0]
        if category == "species"
    }
