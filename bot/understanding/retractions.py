"""Whether a message takes back what was said before, by its grammar: a verb of taking back and what it points to."""

from __future__ import annotations

from bot.understanding.wordlists import words

_VERBS = words("corrections", "taking_back")
_POINTS = words("corrections", "pointing_back")
_THINGS = words("corrections", "taken_things")
_LEADS = frozenset(word for lead in words("corrections", "leads") for word in lead.split()) | {"please", "pls", "the"}
_LONGEST = 14


def takes_back(said: list[str]) -> bool:
    """True for "cancel the last one", "oops wrong chat, delete that", "that was yesterday's, forget it"."""
    if len(said) > _LONGEST or any(w[:1].isdigit() or w == "?" for w in said):
        return False
    at = next((i for i, word in enumerate(said) if word in _VERBS), None)
    if at is None:
        return False
    behind = said[at + 1 :]
    if not set(behind) & _POINTS or not set(behind) <= _POINTS | _THINGS:
        return False
    before = said[:at]
    return all(word in _LEADS | _THINGS for word in before) or bool(set(before) & {"that", "wrong", "mistake", "oops"})
