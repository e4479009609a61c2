"""Cut plain text into tokens, in one pass."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

#: Each alternative is a run of one class, so the scan is linear in the length of the text.
_TOKEN = re.compile(
    r"(?P<clock>(?<![\d:.,])\d{1,2}:\d{2}(?![\d:]))"
    r"|(?P<num>\d+(?:[.,]\d+)*|(?<![\d.,])\.\d+)"
    r"|(?P<word>[^\W\d_]+(?:'[^\W\d_]+)*)"
    r"|(?P<end>[.;!?\n]+)"
    r"|(?P<sym>\S)"
)


@dataclass(frozen=True)
class Token:
    """A number, word, sign or end of a sentence; ``glued`` if no space stands before it."""

    kind: str
    text: str
    start: int
    end: int
    glued: bool


@lru_cache(maxsize=256)
def tokens(text: str) -> tuple[Token, ...]:
    """Return the tokens of plain text."""
    found: list[Token] = []
    last_end = -1
    for match in _TOKEN.finditer(text):
        kind = match.lastgroup or "sym"
        start, end = match.span()
        found.append(Token(kind, match.group(), start, end, start == last_end))
        last_end = end
    return tuple(found)
