"""Find the trade's words in tokens: longest phrase first, slips of the thumb forgiven in long words."""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache, lru_cache
from importlib.resources import files

from rapidfuzz import fuzz, process
from rapidfuzz.distance import DamerauLevenshtein

from bot.understanding.text import plain
from bot.understanding.tokens import Token, tokens

#: (category, key): what a phrase can say.
Sense = tuple[str, str]
#: Words shorter than this are never corrected.
LEAST_LETTERS = 5


@dataclass
class _Node:
    then: dict[str, _Node] = field(default_factory=dict)
    senses: tuple[Sense, ...] = ()


@cache
def _root() -> _Node:
    root = _Node()
    for category, by_key in _terms().items():
        for key, phrases in by_key.items():
            for phrase in phrases:
                _add(root, phrase, (category, key))
    for key, phrase in _species():
        _add(root, phrase, ("species", key))
    return root


def _terms() -> dict[str, dict[str, list[str]]]:
    return tomllib.loads(files("bot.lexicon").joinpath("terms.toml").read_text(encoding="utf-8"))


def _species() -> list[tuple[str, str]]:
    text = files("bot.lexicon").joinpath("species.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(text.splitlines())
    return [(row["key"], phrase) for row in rows for phrase in row["words"].split("|")]


def _add(root: _Node, phrase: str, sense: Sense) -> None:
    node = root
    for token in tokens(plain(phrase).text):
        node = node.then.setdefault(token.text, _Node())
    if sense not in node.senses:
        node.senses += (sense,)


@cache
def _correctable() -> tuple[str, ...]:
    """Single long words that a slip may stand for."""
    firsts = {word for word, node in _root().then.items() if node.senses and word.isalpha()}
    return tuple(sorted(w for w in firsts if len(w) >= LEAST_LETTERS))


@cache
def ordinary_words() -> frozenset[str]:
    """Words of everyday English that are never taken for slips."""
    text = files("bot.lexicon").joinpath("ordinary.txt").read_text(encoding="utf-8")
    return frozenset(text.split())


@lru_cache(maxsize=2048)
def corrected(word: str) -> str | None:
    """Return the trade's word that ``word`` is a slip of, or None."""
    if len(word) < LEAST_LETTERS or len(word) > 20 or word in ordinary_words() or not word.isascii():
        return None
    best = process.extractOne(word, _correctable(), scorer=fuzz.ratio, score_cutoff=80)
    if best is None:
        return None
    target = best[0]
    allowed = 1 if len(target) < 8 else 2
    slips = DamerauLevenshtein.distance(word, target, score_cutoff=allowed)
    return target if slips <= allowed and target[0] == word[0] else None


def read_term(found: Sequence[Token], i: int) -> tuple[tuple[Sense, ...], int] | None:
    """Return the senses of the longest phrase at ``i`` and the index behind it."""
    node, best, j = _root(), None, i
    while j < len(found):
        step = node.then.get(found[j].text)
        if step is None and j == i and found[j].kind == "word":
            right = corrected(found[j].text)
            step = node.then.get(right) if right else None
        if step is None:
            break
        node, j = step, j + 1
        if node.senses:
            best = (node.senses, j)
    return best
