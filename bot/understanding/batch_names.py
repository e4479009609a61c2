"""Which of the running batches a message means."""

from __future__ import annotations

from bot.understanding.items import Sheet
from bot.understanding.model import Context
from bot.understanding.text import plain
from bot.understanding.tokens import tokens


def named_batches(sheet: Sheet, context: Context) -> list[tuple[int, str]]:
    """Return where which running batch is named; a name's own words are marked as read, so that they mean no more.

    A word that several batches share names none of them.
    """
    if len(context.batches) < 2:
        return []
    found: list[tuple[int, str]] = []
    for i, item in enumerate(sheet.items):
        said = {word.removesuffix("'s") for word in item.text.split()}
        species = item.key("species")
        hits = [n for n in context.batches if _names(n, context) & said or (species and species in _species(n))]
        if len(hits) != 1:
            continue
        found.append((i, hits[0]))
        if item.when is not None or item.text == "batch":
            sheet.take(i, i, "name of a batch", hits[0])
    return found


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
