"""Whether a stretch of words looks back, ahead, asks, or says that something is not so."""

from __future__ import annotations

from collections.abc import Sequence

PAST = frozenset(
    [
        "went",
        "put",
        "pulled",
        "took",
        "started",
        "lit",
        "rinsed",
        "salted",
        "was",
        "were",
        "got",
        "dropped",
        "hung",
        "turned",
        "moved",
        "flipped",
        "swapped",
        "rotated",
        "added",
        "topped",
        "filled",
        "refilled",
        "threw",
        "tossed",
        "chucked",
        "came",
        "finished",
        "began",
        "had",
        "been",
        "drained",
        "packed",
        "bagged",
        "sealed",
        "racked",
        "laid",
        "set",
        "done",
        "did",
        "loaded",
        "unloaded",
        "removed",
        "transferred",
        "stuck",
        "popped",
        "shoved",
        "submerged",
        "dunked",
        "tossed",
        "caught",
        "landed",
        "thawed",
        "trimmed",
        "filleted",
        "cut",
        "gone",
        "stoked",
        "fed",
        "fired",
        "kicked",
        "rubbed",
        "covered",
        "wrapped",
        "lifted",
        "hauled",
        "yanked",
        "chilled",
        "cooled",
        "iced",
    ]
)
FUTURE = frozenset(
    [
        "will",
        "gonna",
        "going",
        "goin",
        "plan",
        "planning",
        "planned",
        "want",
        "wanna",
        "wants",
        "need",
        "needs",
        "tonight",
        "tomorrow",
        "later",
        "intend",
        "'ll",
        "should",
        "would",
        "i'll",
        "we'll",
        "gotta",
        "hoping",
        "hope",
        "shall",
        "aiming",
        "aim",
        "i'd",
        "we'd",
        "it'll",
        "they'll",
        "they're",
    ]
)
NEGATIONS = frozenset(
    [
        "not",
        "n't",
        "haven't",
        "hasn't",
        "didn't",
        "don't",
        "isn't",
        "aren't",
        "wasn't",
        "weren't",
        "never",
        "won't",
        "cannot",
        "can't",
        "forgot",
        "yet",
        "havent",
        "hasnt",
        "didnt",
        "dont",
        "isnt",
        "arent",
        "wasnt",
        "wont",
        "cant",
        "doesn't",
        "doesnt",
        "couldn't",
        "couldnt",
        "without",
    ]
)
_ASKING = frozenset(
    [
        "what",
        "what's",
        "whats",
        "when",
        "when's",
        "whens",
        "why",
        "how",
        "how's",
        "hows",
        "where",
        "which",
        "who",
        "whos",
        "who's",
        "is",
        "are",
        "can",
        "could",
        "should",
        "shall",
        "do",
        "does",
        "did",
        "will",
        "would",
        "may",
        "might",
        "am",
        "was",
        "were",
        "has",
        "have",
        "wat",
        "wen",
        "whn",
    ]
)
_TELLING = frozenset(
    [
        "is",
        "are",
        "do",
        "does",
        "did",
        "will",
        "would",
        "was",
        "were",
        "has",
        "have",
        "may",
        "might",
        "am",
        "can",
        "could",
    ]
)
_PRONOUNS = frozenset(
    [
        "i",
        "we",
        "it",
        "they",
        "you",
        "the",
        "this",
        "that",
        "he",
        "she",
        "my",
        "our",
        "these",
        "those",
        "there",
    ]
)


def asks(words: Sequence[str], marked: bool) -> bool:
    """True if a sentence is a question: by its mark, or by how it begins."""
    if marked:
        return True
    rest = list(words)
    while rest and rest[0] in {
        "so",
        "and",
        "but",
        "ok",
        "hey",
        "hi",
        "um",
        "er",
        "well",
        "also",
        ",",
        "then",
        "please",
        "pls",
        "question",
        ":",
    }:
        rest = rest[1:]
    if not rest:
        return False
    if rest[0] in _TELLING:
        after = rest[1].split()[0] if len(rest) > 1 else ""
        return (after in _PRONOUNS or after[:1].isdigit()) and rest[0] not in {"was", "were", "had"}
    return rest[0] in _ASKING


def negated(words: Sequence[str]) -> bool:
    """True if what is said did not happen."""
    flat = [w for word in words for w in word.split()]
    if "not yet" in " ".join(flat):
        return True
    return any(w in NEGATIONS and w not in {"yet", "without"} for w in flat)


def looks_ahead(words: Sequence[str]) -> bool:
    """True if the words speak of what is still to come."""
    return any(w in FUTURE for word in words for w in word.split())


def looks_back(words: Sequence[str]) -> bool:
    """True if the words speak of what has happened."""
    return any(w in PAST for word in words for w in word.split())
