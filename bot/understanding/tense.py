"""Whether a stretch of words looks back, ahead, asks, or says that something is not so."""

from __future__ import annotations

from collections.abc import Sequence

from bot.understanding.wordlists import words

_FUTURE = words("tense", "future")
_WILL = words("tense", "will")
_NEGATIONS = words("tense", "negations")
_ASKING = words("tense", "asking")
_TELLING = words("tense", "telling")
_REPORTING = words("tense", "reporting")
_SUBJECTS = words("tense", "pronouns")
_LEADS = words("tense", "leads")
#: Of whom "have" and "has" ask; "have it ready" does not.
_PERFECT = {"have": frozenset({"i", "we", "you", "they"}), "has": frozenset({"it", "that"})}


def asks(said: Sequence[str]) -> bool:
    """True if words begin as a question does."""
    rest = list(said)
    while rest and rest[0] in _LEADS:
        rest = rest[1:]
    if not rest:
        return False
    first = rest[0].split()[0]
    if first in _TELLING:
        after = rest[1].split()[0] if len(rest) > 1 else ""
        return after in _SUBJECTS or after[:1].isdigit()
    if first in _PERFECT:
        return len(rest) > 1 and rest[1].split()[0] in _PERFECT[first]
    return first in _ASKING


def negated(said: Sequence[str]) -> bool:
    """True if what is said did not happen."""
    flat = [w for text in said for w in text.split()]
    return any(w in _NEGATIONS and not _only_late(flat, i) for i, w in enumerate(flat)) or flat[:1] == ["no"]


def _only_late(flat: list[str], i: int) -> bool:
    """True for "forgot to say" and "almost forgot", behind which what happened is told after all."""
    if flat[i] != "forgot":
        return False
    told = flat[i + 1 : i + 2] == ["to"] and bool(set(flat[i + 2 : i + 3]) & _REPORTING)
    return told or flat[max(0, i - 1) : i] in (["almost"], ["nearly"])


def looks_ahead(said: Sequence[str]) -> bool:
    """True if the words speak of what is still to come."""
    return any(w in _FUTURE for text in said for w in text.split())


def will_be(said: Sequence[str]) -> bool:
    """True if the verb itself is in the future: will, gonna, going to, plan to."""
    flat = [w for text in said for w in text.split()]
    return bool(set(flat) & _WILL) or "going to" in " ".join(flat)
