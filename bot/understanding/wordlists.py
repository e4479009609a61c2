"""The short word lists of the grammar, from the lexicon."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files


@cache
def _lists() -> dict[str, dict[str, str]]:
    return tomllib.loads(files("bot.lexicon").joinpath("words.toml").read_text(encoding="utf-8"))


@cache
def words(section: str, name: str) -> frozenset[str]:
    """Return a list of single words, or of phrases where the list begins with a bar."""
    text = _lists()[section][name].strip()
    if text.startswith("|"):
        return frozenset(" ".join(phrase.split()) for phrase in text[1:].split("|"))
    return frozenset(text.split())


@cache
def every_word() -> frozenset[str]:
    """Return all words of all lists."""
    return frozenset(
        word for section in _lists().values() for text in section.values() for word in text.replace(":", " ").split()
    )
