"""What a question is about."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from functools import cache

from bot.understanding.lexicon import read_lexicon

#: How many words ``..`` may stand for.
_GAP = 4


@cache
def _phrases() -> tuple[tuple[str, tuple[tuple[tuple[str, ...], ...], ...]], ...]:
    """Return (topic, phrases); a phrase is a tuple of runs of words, with a gap between the runs."""
    data = tomllib.loads(read_lexicon("topics.toml"))
    return tuple(
        (topic, tuple(tuple(tuple(run.split()) for run in phrase.split("..")) for phrase in phrases))
        for topic, phrases in data.items()
    )


@cache
def words_of(topic: str) -> frozenset[str]:
    """Return all words of a topic's phrases."""
    return frozenset(
        word for name, phrases in _phrases() if name == topic for phrase in phrases for run in phrase for word in run
    )


def topic_of(said: Sequence[str]) -> str | None:
    """Return the first topic one of whose phrases stands in the words."""
    told = tuple(said)
    present = set(told)
    for topic, phrases in _phrases():
        for phrase in phrases:
            if all(word in present for run in phrase for word in run) and _stands(phrase, told):
                return topic
    return None


def _stands(phrase: tuple[tuple[str, ...], ...], said: tuple[str, ...]) -> bool:
    return any(_from(phrase, said, i) for i in range(len(said)))


def _from(phrase: tuple[tuple[str, ...], ...], said: tuple[str, ...], start: int) -> bool:
    first = phrase[0]
    if said[start : start + len(first)] != first:
        return False
    i = start + len(first)
    for run in phrase[1:]:
        hit = next((k for k in range(i, i + _GAP + 1) if said[k : k + len(run)] == run), None)
        if hit is None:
            return False
        i = hit + len(run)
    return True
