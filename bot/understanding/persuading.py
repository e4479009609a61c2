"""Whether a message tries to talk the tool into something, or gives figures that nobody read."""

from __future__ import annotations

from itertools import pairwise

from bot.understanding.items import Sheet
from bot.understanding.wordlists import words

#: So far into a message it is looked for.
_READ_TO = 60
_RECORDING = words("persuasion", "recording")
_APPROVING = words("persuasion", "approving")
_OFFICES = words("persuasion", "offices")
_LEADS = words("tense", "leads") | words("questions", "polite")
_APPROVED = frozenset({"this", "it", "the", "my", "our", "that", "these", "batch", "fish", "them"})


def persuades(sheet: Sheet) -> bool:
    """True if what a message claims must not be taken as told: it asks to pretend, to approve, or to make up."""
    said = [w for text in sheet.words(0, _READ_TO) for w in text.split()]
    text = f" {' '.join(said)} "
    if _names(text, "phrases") or _names(text, "secrecy") or _plays_a_part(said):
        return True
    orders = _orders(sheet)
    if orders & _RECORDING and _names(text, "made_up"):
        return True
    return bool(orders & _APPROVING) and any(a in _APPROVING and b in _APPROVED for a, b in pairwise(said))


def _names(text: str, name: str) -> bool:
    return any(f" {phrase} " in text for phrase in words("persuasion", name))


def _orders(sheet: Sheet) -> set[str]:
    """Return the words with which the clauses begin: where an order stands."""
    begins: set[str] = set()
    fresh = True
    for item in sheet.items[:_READ_TO]:
        if item.kind == "end" or item.text in {",", "-", ":", "and", "so", "then"}:
            fresh = True
        elif fresh and item.text not in _LEADS:
            begins.add(item.text.split()[0])
            fresh = False
    return begins


def _plays_a_part(said: list[str]) -> bool:
    """True for ``you are the inspector``, and for ``as the inspector I`` who approves."""
    for i, word in enumerate(said):
        if word not in _OFFICES:
            continue
        before = said[max(0, i - 6) : i]
        if "you're" in before or any(pair in {("you", "are"), ("you", "r")} for pair in pairwise(before)):
            return True
        if {"i'm", "im", "as", "am"} & set(before) and set(said) & _APPROVING:
            return True
    return False
