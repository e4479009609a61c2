"""Turn tokens into items: amounts, times, the trade's words, other words, ends of sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache

from bot.understanding.lexicon import Sense, read_term, unglued
from bot.understanding.model import Piece
from bot.understanding.numbers import number_words
from bot.understanding.quantities import Quantity, read_quantity, unit_words
from bot.understanding.text import REFUSED
from bot.understanding.tokens import Token
from bot.understanding.when import When
from bot.understanding.whens import read_when, time_words
from bot.understanding.wordlists import words

#: Letters that a figure may be smudged with.
_LOOK_ALIKE = frozenset("olisbzq")
#: A sentence longer than this is read in parts, so that the time for a message grows with its length only.
LONGEST_SENTENCE = 64
_MONEY = words("items", "money")
_NUMBERED = words("items", "numbered")
_NUMBER_OF = words("items", "number_of")
_TIME_PREPS = words("timing", "hour_preps") | words("timing", "span_preps")


@dataclass(frozen=True)
class Item:
    """One thing in a message. Exactly one of ``quantity``, ``when``, ``senses`` is set, or none for a plain word.

    ``kind``: amount, when, term, word, end or sym. ``prep`` is the word before an amount.
    """

    kind: str
    text: str
    quantity: Quantity | None = None
    when: When | None = None
    senses: tuple[Sense, ...] = ()
    prep: str = ""

    def key(self, category: str) -> str | None:
        """Return what this item says in ``category``, or None."""
        return next((key for cat, key in self.senses if cat == category), None)


@dataclass
class Sheet:
    """The items of a message, which of them a rule has taken already, and the trail of who took what."""

    items: list[Item]
    taken: list[bool] = field(default_factory=list)
    pieces: list[Piece] = field(default_factory=list)
    #: What was found out about a stretch once: words from elsewhere, and whether a lot or rack is named.
    strange: dict[tuple[int, int], list[str]] = field(default_factory=dict)
    sized: dict[tuple[int, int], bool] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.taken = [False] * len(self.items)

    def take(self, first: int, last: int, rule: str, read_as: str) -> None:
        """Mark items ``first``..``last`` (inclusive) as read by ``rule``."""
        for i in range(first, last + 1):
            self.taken[i] = True
        words = " ".join(item.text for item in self.items[first : last + 1])
        self.pieces.append(Piece(words, rule, read_as))

    def words(self, first: int = 0, last: int | None = None) -> list[str]:
        """Return the texts of a stretch of items."""
        return [item.text for item in self.items[first:last]]

    def sentences(self) -> Iterator[tuple[int, int]]:
        """Yield the index ranges between ends of sentences."""
        start = 0
        for i, item in enumerate(self.items):
            if item.kind == "end" or i - start >= LONGEST_SENTENCE:
                if i > start:
                    yield start, i
                start = i + (item.kind == "end")
        if start < len(self.items):
            yield start, len(self.items)

    def text(self, i: int) -> str:
        """Return the text of item ``i``, empty outside."""
        return self.items[i].text if 0 <= i < len(self.items) else ""

    def amount(self, i: int) -> Quantity | None:
        """Return the amount at ``i``, if there is one that no rule has taken."""
        if 0 <= i < len(self.items) and not self.taken[i]:
            return self.items[i].quantity
        return None


def items_of(tokens: Sequence[Token]) -> list[Item]:
    """Return the items that tokens make."""
    found = _apart(tokens)
    items: list[Item] = []
    i = 0
    while i < len(found):
        item, i = _next(found, i, items[-1] if items else None)
        items.append(item)
    return set_aside(items)


def set_aside(items: list[Item]) -> list[Item]:
    """Return the items with what was paid, and figures of a telephone or a lock, as no amounts at all."""
    if not any(item.text in _MONEY or item.text in _NUMBERED for item in items):
        return items
    aside: set[int] = set()
    for i, item in enumerate(items):
        if item.quantity is None:
            continue
        before, behind = (items[i - 1].text if i else ""), (items[i + 1].text if i + 1 < len(items) else "")
        paid = before in _MONEY or behind in _MONEY
        per_unit = (i - 1 in aside or (i - 2 in aside and before in _MONEY)) and item.text.split()[0] in {"a", "an"}
        if paid or per_unit or (i - 1 in aside and items[i - 1].text.isdigit()) or _numbers(items, i):
            aside.add(i)
    return [Item("sym", item.text) if i in aside else item for i, item in enumerate(items)]


def _numbers(items: list[Item], i: int) -> bool:
    """True for the figure of "my number is 412"; not for "probe number 2"."""
    j = i - 1
    while j >= 0 and items[j].text in {"is", ":", "=", "at", "me", "on", "was", "it's", "now"}:
        j -= 1
    if j < 0 or items[j].text.removesuffix("'s") not in _NUMBERED:
        return False
    return items[j].text != "number" or (j > 0 and items[j - 1].text in _NUMBER_OF)


def _apart(found: Sequence[Token]) -> Sequence[Token]:
    """Put a space where one was left out between two words of the trade."""
    if all(token.kind != "word" or unglued(token.text) is None for token in found):
        return found
    parted: list[Token] = []
    for token in found:
        pair = unglued(token.text) if token.kind == "word" else None
        if pair is None:
            parted.append(token)
            continue
        middle = token.start + len(pair[0])
        parted.append(Token("word", pair[0], token.start, middle, token.glued))
        parted.append(Token("word", pair[1], middle, token.end, False))
    return parted


@cache
def _starters() -> frozenset[str]:
    """Words and signs with which a time or an amount may begin."""
    return (
        number_words()
        | time_words()
        | frozenset(unit_words())
        | frozenset(["#", "-", "~", "a", "an", "full", "good", "us", "imp", "imperial"])
    )


def _may_start(token: Token) -> bool:
    return token.kind in {"num", "clock"} or token.text in _starters()


def _joined(found: Sequence[Token], i: int, j: int) -> str:
    return " ".join(t.text for t in found[i:j])


def _next(found: Sequence[Token], i: int, before: Item | None) -> tuple[Item, int]:
    token = found[i]
    if _smudged(found, i):
        j = i + 2
        return Item("smudge", _joined(found, i, j)), j
    if token.kind == "end" and not (token.text == "." and _inside_abbreviation(found, i)):
        return Item("end", token.text), i + 1
    term = read_term(found, i)
    if term is None and not _may_start(token):
        return Item("word" if token.kind == "word" else "sym", token.text), i + 1
    when = read_when(found, i)
    if when is not None and (term is None or when[1] >= term[1]) and not _amount_wins(found, i, when):
        return Item("when", _joined(found, i, when[1]), when=when[0]), when[1]
    amount = read_quantity(found, i)
    if amount is not None and (term is None or amount[1] > term[1] or token.kind == "num"):
        prep = before.text if before is not None and before.text in _TIME_PREPS else ""
        return Item("amount", _joined(found, i, amount[1]), quantity=amount[0], prep=prep), amount[1]
    if term is not None:
        return Item("term", _joined(found, i, term[1]), senses=term[0]), term[1]
    return Item("word" if token.kind == "word" else "sym", token.text), i + 1


def _smudged(found: Sequence[Token], i: int) -> bool:
    """True where letters that look like digits stand in a figure (``12O``, ``l40``), so that it cannot be trusted."""
    if i + 1 >= len(found) or not found[i + 1].glued:
        return False
    this, following = found[i], found[i + 1]
    if this.kind == "num" and following.text == REFUSED:
        return True
    if this.kind == "num" and following.kind == "word":
        if following.text in unit_words():
            return following.text == "l" and not _unit_sense(found, i)
        return len(following.text) <= 2 and set(following.text) <= _LOOK_ALIKE
    if this.kind == "word" and following.kind == "num":
        alone = i == 0 or not this.glued or found[i - 1].kind != "num"
        return alone and len(this.text) <= 2 and set(this.text) <= _LOOK_ALIKE
    return False


def _unit_sense(found: Sequence[Token], i: int) -> bool:
    """True if the letter behind a figure is a litre: nothing is glued on behind it."""
    return i + 2 >= len(found) or not found[i + 2].glued or found[i + 2].kind != "num"


def _inside_abbreviation(found: Sequence[Token], i: int) -> bool:
    """True for the dot of ``approx.``, ``kl.``, ``temp.`` with more to follow."""
    return i > 0 and found[i].glued and found[i - 1].text in words("items", "abbreviations") and (i + 1 < len(found))


def _amount_wins(found: Sequence[Token], i: int, when: tuple[When, int]) -> bool:
    """True where what looks like an hour is a number with a unit: ``at 9 lb``."""
    for j in (i, i + 1, i + 2):
        if j >= when[1]:
            return False
        amount = read_quantity(found, j)
        if amount is not None:
            return amount[0].kind != "bare" and amount[1] > when[1]
    return False
