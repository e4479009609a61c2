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


#: Lists whose words may belong to any talk.
_UNTOLD = frozenset({"others", "quantities", "food", "answers", "persuasion", "hearsay", "gear"})


@cache
def single_words() -> frozenset[str]:
    """Return the words of the lists of single words: what the grammar itself uses."""
    sections = (lists for section, lists in _lists().items() if section not in _UNTOLD)
    plain = (text for lists in sections for name, text in lists.items() if name != "idle")
    return frozenset(
        word.partition(":")[0] for text in plain if not text.strip().startswith("|") for word in text.split()
    )


@cache
def every_word() -> frozenset[str]:
    """Return all words of all lists."""
    return frozenset(
        word for section in _lists().values() for text in section.values() for word in text.replace(":", " ").split()
    )
