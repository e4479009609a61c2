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
from bot.understanding.wordlists import every_word, single_words

#: (category, key): what a phrase can say.
Sense = tuple[str, str]
#: Only words of these categories are restored from slips; sizes and everyday words never.
_RESTORED = frozenset(
    {"species", "form", "salt_kind", "label", "stage", "place", "surface", "wood", "cure", "sugar", "fuel"}
)
#: A word this short is restored only from swapped or doubled letters; a shorter one never.
_SHORT = 5


@dataclass
class _Node:
    then: dict[str, _Node] = field(default_factory=dict)
    senses: tuple[Sense, ...] = ()


def read_lexicon(name: str) -> str:
    """Return the text of a file of the lexicon."""
    return files("bot.lexicon").joinpath(name).read_text(encoding="utf-8")


@cache
def _root() -> _Node:
    root = _Node()
    for category, by_key in tomllib.loads(read_lexicon("terms.toml")).items():
        for key, phrases in by_key.items():
            for phrase in phrases:
                _add(root, phrase, (category, key))
    for key, phrase in _species():
        _add(root, phrase, ("species", key))
    return root


def _species() -> list[tuple[str, str]]:
    rows = csv.DictReader(read_lexicon("species.csv").splitlines())
    return [(row["key"], phrase) for row in rows for phrase in row["words"].split("|")]


def _add(root: _Node, phrase: str, sense: Sense) -> None:
    node = root
    for token in tokens(plain(phrase).text):
        node = node.then.setdefault(token.text, _Node())
    if sense not in node.senses:
        node.senses += (sense,)


@cache
def _restorable() -> tuple[str, ...]:
    """Words that a slip may stand for."""
    return tuple(
        sorted(
            word
            for word, node in _root().then.items()
            if len(word) >= _SHORT and word.isalpha() and _RESTORED & {category for category, _ in node.senses}
        )
    )


@cache
def ordinary_words() -> frozenset[str]:
    """Everyday English and the grammar's own words, which are never taken for slips."""
    return frozenset(read_lexicon("ordinary.txt").split()) | frozenset(light_words()) | every_word()


@cache
def light_words() -> frozenset[str]:
    """Words that may stand in any message without changing what it says."""
    return frozenset(read_lexicon("light.txt").split())


def is_known(word: str) -> bool:
    """True if ``word`` is a word of the trade by itself, a light word or one of the grammar's."""
    node = _root().then.get(word)
    return bool(node and node.senses) or word in light_words() or word in single_words()


@lru_cache(maxsize=2048)
def restored(word: str) -> str | None:
    """Return the trade's word that ``word`` is a slip of, or None."""
    if word.endswith("'s") and word[:-2] in _root().then:
        return word[:-2]
    if not _SHORT <= len(word) <= 20 or not word.isascii() or word in ordinary_words():
        return None
    found = process.extract(word, _restorable(), scorer=fuzz.ratio, score_cutoff=72, limit=3)
    fits = [target for target, _, _ in found if _is_slip(word, target)]
    return fits[0] if fits else None


def _is_slip(word: str, target: str) -> bool:
    """True if ``word`` is ``target`` with one slip, or two in a long word; the first letter stands."""
    if word[0] != target[0]:
        return False
    if len(target) == _SHORT:
        same_letters = sorted(word) == sorted(target) or set(word) == set(target)
        return same_letters and DamerauLevenshtein.distance(word, target) == 1
    return DamerauLevenshtein.distance(word, target) <= (1 if len(target) < 8 else 2)


@lru_cache(maxsize=2048)
def unglued(word: str) -> tuple[str, str] | None:
    """Return the two words of the trade that ``word`` is made of where a space was left out: ``filletsskin``."""
    if not 8 <= len(word) <= 24 or not word.isascii() or is_known(word) or word in ordinary_words():
        return None
    if restored(word) is not None:
        return None
    for k in range(4, len(word) - 3):
        first, second = _root().then.get(word[:k]), word[k:]
        named = first is not None and any(category in {"form", "species", "skin"} for category, _ in first.senses)
        if named and second in _root().then:
            return word[:k], second
    return None


def read_term(found: Sequence[Token], i: int) -> tuple[tuple[Sense, ...], int] | None:
    """Return the senses of the longest phrase at ``i`` and the index behind it."""
    node, best, j = _root(), None, i
    while j < len(found):
        step = node.then.get(found[j].text)
        if step is None and j == i and found[j].kind == "word":
            right = restored(found[j].text)
            step = node.then.get(right) if right else None
        if step is None:
            break
        node, j = step, j + 1
        if node.senses:
            best = (node.senses, j)
    return best
