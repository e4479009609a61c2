"""Words that ask for a picture or a paper: "show the plan", "12 labels for the belly", "csv".

Only a message that asks for nothing else is read here. A word of the trade alone ("salt", "smoke")
is no wish for its picture; with "show" or "picture of" before it, it is.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from bot.understanding import Heard

#: What is asked for where nobody named it: the picture that suits the stage.
ANY = "picture"

_LONGEST = 120

_PICTURED = {
    "plan": "plan|schedule|stages",
    "soak": "salt|soak|brine|brining|salting|curing|cure",
    "dry": "drying|dry|pellicle|weights?",
    "cook": "cook|cooking|smoke|smoking|cores?|temps?|temperatures?|heat|core temps?",
    "cool": "cooling(?: down)?|cool ?down",
}
#: Nobody means anything else by these.
_CLEAR = {
    "plan": "time ?line",
    "card": "(?:batch |summary )?card",
    "table": "csv(?: file)?|spread ?sheet|excel(?: file)?|table",
    "journal": "json(?: file)?",
    "calendar": "calendar(?: file)?|ics(?: file)?|ical",
    "record": "(?:batch |whole |full )?record|pdf(?: file)?|batch sheet|report",
    ANY: "chart|graph|picture|pic|plot|drawing|diagram",
}
_NUMBERS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_COUNT = rf"\d{{1,6}}|a|an|{'|'.join(_NUMBERS)}|(?:a |two |three )?dozen"

_ASK = r"(?:(?:please|pls|can you|could you|can i|could i|i want|i need|i'd like|let me|let us|let's|to|and|now) )*"
_VERB = r"(?:show|draw|plot|chart|graph|see|have|get|give|send|make|print|export|write|look at|view|want|need|save)"
_ME = r"(?:me|us)?\s?"
_THE = r"(?:(?:a|an|the|that|this|my|our|its|whole) )?"
_OF = r"(?: (?:for|of|from|on) (?:the |my |our )?(?P<of>[^,.;:!?]{1,40}?))?"
_END = r"(?: (?:as (?:a )?(?:picture|chart|pdf|csv|json|file)|now|again|so far|please|pls|thanks))*"
_SHOWING = r"(?:show|draw|plot|chart|graph|see|look at|view)"
_PICTURE_OF = r"(?:picture|pic|chart|graph|plot|drawing|diagram|curve) (?:of|for) "
_HOW = r"how (?:it|they|the \w+)(?: is|'s| are|'re)? "


def _any_of(nouns: dict[str, str]) -> str:
    return "|".join(f"(?P<{what}>{words})" for what, words in nouns.items())


_PATTERNS = tuple(
    re.compile(pattern)
    for pattern in (
        rf"{_ASK}(?:{_VERB} )?{_ME}{_THE}(?:(?P<count>{_COUNT}) )?(?P<labels>labels?)(?: sheets?)?{_OF}{_END}",
        rf"{_ASK}{_SHOWING} {_ME}{_THE}(?:{_PICTURE_OF}{_THE})?(?:{_any_of(_PICTURED)})"
        rf"(?: (?:picture|chart|graph|curve|plot))?{_OF}{_END}",
        rf"{_ASK}(?:{_VERB} )?{_ME}{_THE}{_PICTURE_OF}{_THE}(?:{_any_of(_PICTURED)}){_OF}{_END}",
        rf"{_ASK}{_SHOWING} {_ME}{_HOW}(?:{_any_of(_PICTURED)}|(?P<{ANY}>doing|going|coming along)){_END}",
        rf"{_ASK}(?:{_VERB} )?{_ME}{_THE}(?:(?:batch |whole )?(?:record|log|batch|everything|it) )?as (?:a |an )?"
        rf"(?:{_any_of(_CLEAR)}){_OF}{_END}",
        rf"{_ASK}(?:{_VERB} )?{_ME}{_THE}(?:{_any_of(_CLEAR)}){_OF}{_END}",
        rf"{_ASK}(?P<{ANY}>show(?: me| us)?(?: it| that)?|draw it|what does it look like){_END}",
    )
)
#: These alone mean something else.
_NO_WISH = re.compile(rf"{_ASK}{_ME}{_THE}(?:table|report){_OF}{_END}")


@dataclass(frozen=True)
class Wish:
    """What is asked for: its name, how many (for labels; None where not said), and of what."""

    what: str
    count: int | None = None
    of: str | None = None


def wish_of(text: str) -> Wish | None:
    """The picture or paper that this message asks for, and nothing else; None where it says something else."""
    if len(text) > _LONGEST:
        return None
    said = " ".join(re.sub(r"[.!?,/]+", " ", text.casefold()).split())
    if _NO_WISH.fullmatch(said):
        return None
    for pattern in _PATTERNS:
        found = pattern.fullmatch(said)
        if found:
            return _wish({name: value for name, value in found.groupdict().items() if value})
    return None


def _wish(found: dict[str, str]) -> Wish:
    of, count = found.pop("of", None), found.pop("count", None)
    (what,) = found
    return Wish(what, _number(count) if count and what == "labels" else None, of)


def _number(said: str) -> int:
    if said.isdecimal():
        return int(said)
    first, _, dozen = said.partition(" ") if " " in said else ("a", "", said)
    if dozen == "dozen":
        return 12 * (1 if first == "a" else _NUMBERS.index(first) + 1)
    return 1 if said in ("a", "an") else _NUMBERS.index(said) + 1


#: What a record is asked for as, in words that ask for more than that.
_LOOSE = tuple(
    (what, re.compile(rf"\b(?:{words})\b"))
    for what, words in {
        "labels": "labels?",
        "table": "csv|spread ?sheet|excel",
        "journal": "json",
        "calendar": "calendar|ics",
        "card": "card",
    }.items()
)


def paper_named(text: str) -> Wish:
    """The paper that a question about the record is after, the record itself where it names none."""
    said = text.casefold()
    return Wish(next((what for what, words in _LOOSE if words.search(said)), "record"))


def part_wish(text: str) -> tuple[str, Heard | None]:
    """A message without the wish that it is or ends with ("core 150, show me the cook"), and that wish."""
    wish, rest = wish_of(text), ""
    if wish is None:
        rest, comma, last = _rpartition(text)
        wish = wish_of(last) if comma else None
    if wish is None:
        return text, None
    slots = {"show": wish.what, "count": wish.count, "of": wish.of}
    return rest, Heard("ask", {k: v for k, v in slots.items() if v is not None}, topic="show")


def _rpartition(text: str) -> tuple[str, str, str]:
    return max((text.rpartition(sign) for sign in (", ", "; ", ". ", "? ", "\n")), key=lambda found: len(found[0]))
