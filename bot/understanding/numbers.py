"""Read numbers: digits, decimal commas, mixed and vulgar fractions, ranges, number words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from bot.understanding.tokens import Token

#: The small numbers of other tongues that are no English words.
_FOREIGN = {
    "zwei": 2, "drei": 3, "vier": 4, "funf": 5, "sechs": 6, "tre": 3, "fem": 5, "seks": 6, "dos": 2, "tres": 3,
    "cuatro": 4, "cinco": 5, "seis": 6, "deux": 2, "trois": 3, "quatre": 4, "cinq": 5, "dwa": 2, "dwie": 2, "trzy": 3,
    "cztery": 4, "kaksi": 2, "kolme": 3, "nelja": 4, "viisi": 5, "twee": 2, "drie": 3, "vijf": 5, "zes": 6,
}  # fmt: skip
_UNITS = _FOREIGN | {
    "zero": 0, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9,
}  # fmt: skip
_TEENS = {
    "ten": 10, "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15, "sixteen": 16,
    "seventeen": 17, "eighteen": 18, "nineteen": 19,
}  # fmt: skip
_TENS = {
    "twenty": 20, "thirty": 30, "forty": 40, "fourty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80,
    "ninety": 90,
}  # fmt: skip
_PARTS = {
    "half": Fraction(1, 2), "halves": Fraction(1, 2), "quarter": Fraction(1, 4), "quarters": Fraction(1, 4),
    "third": Fraction(1, 3), "thirds": Fraction(1, 3), "eighth": Fraction(1, 8), "eighths": Fraction(1, 8),
    "sixteenth": Fraction(1, 16), "sixteenths": Fraction(1, 16), "fourth": Fraction(1, 4),
    "fourths": Fraction(1, 4),
}  # fmt: skip
#: What comes by the handful but is not counted.
_LOOSE_STUFF = frozenset(
    [
        "wood",
        "chips",
        "alder",
        "apple",
        "salt",
        "sugar",
        "charcoal",
        "hickory",
        "oak",
        "maple",
        "cherry",
        "pellets",
        "coals",
        "briquettes",
        "more",
    ]
)
_ARTICLES = frozenset({"a", "an"})


@dataclass(frozen=True)
class Number:
    """A number as said. ``other`` is its second reading where a comma could group thousands.

    ``low`` and ``high`` are the ends of a range (equal otherwise); ``fraction`` if written as one.
    """

    value: float
    low: float
    high: float
    fraction: bool = False
    other: float | None = None
    negative: bool = False

    @classmethod
    def of(cls, value: float, fraction: bool = False, other: float | None = None) -> Number:
        """Return a plain number."""
        return cls(value, value, value, fraction, other)


def number_words() -> frozenset[str]:
    """Return the words with which a number may begin."""
    return frozenset(
        {
            *_UNITS,
            *_TEENS,
            *_TENS,
            *_PARTS,
            *_ARTICLES,
            "couple",
            "cpl",
            "pair",
            "handful",
            "dozen",
            "minus",
            "hundred",
            "between",
            "btw",
        }
    )


def read_number(tokens: Sequence[Token], i: int) -> tuple[Number, int] | None:
    """Read a number or a range at ``i``; return it and the index behind it."""
    if text_at(tokens, i) in {"between", "btw"}:
        return _between(tokens, i + 1)
    first = _signed(tokens, i)
    if first is None:
        return None
    number, j = first
    second = _range_end(tokens, j, number)
    return second or (number, j)


def _between(tokens: Sequence[Token], i: int) -> tuple[Number, int] | None:
    """Read ``between 3 and 4``."""
    low = _unsigned(tokens, i)
    high = _unsigned(tokens, low[1] + 1) if low is not None and text_at(tokens, low[1]) == "and" else None
    if low is None or high is None or not low[0].value < high[0].value:
        return None
    middle = (low[0].value + high[0].value) / 2
    return Number(middle, low[0].value, high[0].value, low[0].fraction or high[0].fraction), high[1]


def text_at(tokens: Sequence[Token], i: int) -> str:
    """Return the text of token ``i``, empty behind the end."""
    return tokens[i].text if 0 <= i < len(tokens) else ""


def _range_end(tokens: Sequence[Token], j: int, low: Number) -> tuple[Number, int] | None:
    joiner = text_at(tokens, j)
    if joiner not in {"-", "to", "or", "~"} or (joiner in {"to", "or"} and low.negative):
        return None
    following = _unsigned(tokens, j + 1)
    if following is None:
        return None
    high, k = following
    if text_at(tokens, k) == ":" or not low.value < high.value <= 12 * max(low.value, 1.0):
        return None
    middle = (low.value + high.value) / 2
    return Number(middle, low.value, high.value, low.fraction or high.fraction), k


def _signed(tokens: Sequence[Token], i: int) -> tuple[Number, int] | None:
    minus = text_at(tokens, i) == "minus" or (
        text_at(tokens, i) == "-"
        and i + 1 < len(tokens)
        and tokens[i + 1].glued
        and not (tokens[i].glued and i > 0 and tokens[i - 1].kind in {"num", "word"})
    )
    if not minus:
        return _unsigned(tokens, i)
    found = _unsigned(tokens, i + 1)
    if found is None:
        return None
    number, j = found
    return Number(-number.value, -number.value, -number.value, number.fraction, None, True), j


def _unsigned(tokens: Sequence[Token], i: int) -> tuple[Number, int] | None:
    if i >= len(tokens):
        return None
    if tokens[i].kind == "num":
        return _digits(tokens, i)
    if tokens[i].kind == "word":
        return _worded(tokens, i)
    return None


def decimal(text: str) -> tuple[float, float | None] | None:
    """Return the value of digits with marks, and its second reading; None if it is no number."""
    marks = [c for c in text if c in ".,"]
    if not marks:
        return (float(text), None) if len(text) <= 12 else None
    if len(marks) == 1:
        whole, part = text.replace(",", ".").split(".")
        value = float(f"{whole or '0'}.{part}")
        grouped = len(part) == 3 and 1 <= len(whole) <= 3 and whole[0] != "0"
        return value, float(whole + part) if grouped else None
    groups = text.replace(".", ",").split(",")
    if len(set(marks)) == 1 and all(len(g) == 3 for g in groups[1:]) and len(groups[0]) <= 3:
        return float("".join(groups)), None
    if len(marks) == 2 and marks[0] != marks[1] and len(groups[1]) == 3:
        return float(f"{groups[0]}{groups[1]}.{groups[2]}"), None
    return None


def _digits(tokens: Sequence[Token], i: int) -> tuple[Number, int] | None:
    read = decimal(tokens[i].text)
    if read is None:
        return None
    value, other = read
    if text_at(tokens, i + 1) == "dozen":
        return Number.of(value * 12), i + 2
    simple = _slash(tokens, i)
    if simple is not None:
        return Number.of(float(simple), fraction=True), i + 3
    j = i + 1
    part = _fraction_after(tokens, j) if value == int(value) and other is None else None
    if part is not None:
        return Number.of(value + float(part[0]), fraction=True), part[1]
    return Number.of(value, other=other), j


def _slash(tokens: Sequence[Token], i: int) -> Fraction | None:
    """Return the fraction ``n/d`` at ``i``, with the denominators that measures have."""
    if text_at(tokens, i + 1) != "/" or i + 2 >= len(tokens) or tokens[i + 2].kind != "num":
        return None
    top, bottom = tokens[i].text, tokens[i + 2].text
    if not (top.isdigit() and bottom.isdigit()) or int(bottom) not in {2, 3, 4, 5, 6, 8, 16, 32}:
        return None
    if int(top) >= int(bottom) * 2 or text_at(tokens, i + 3) == "/":
        return None
    return Fraction(int(top), int(bottom))


def _fraction_after(tokens: Sequence[Token], j: int) -> tuple[Fraction, int] | None:
    """Read ``1/2``, ``-1/2``, ``& 1/2``, ``and a half``, ``and three quarters`` behind a whole number."""
    joined = text_at(tokens, j) in {"-", "&", "and"}
    k = j + 1 if joined else j
    if k < len(tokens) and tokens[k].kind == "num":
        part = _slash(tokens, k)
        return (part, k + 3) if part is not None and part < 1 else None
    return _worded_part(tokens, k) if joined and text_at(tokens, j) != "-" else None


def _worded_part(tokens: Sequence[Token], k: int) -> tuple[Fraction, int] | None:
    """Read ``a half``, ``half``, ``three quarters``."""
    count, word = 1, text_at(tokens, k)
    if word in _ARTICLES or word in _UNITS:
        count = _UNITS.get(word, 1)
        k += 1
        word = text_at(tokens, k)
        if word == "-":
            k += 1
            word = text_at(tokens, k)
    if word not in _PARTS:
        return None
    return count * _PARTS[word], k + 1


def and_a_part(tokens: Sequence[Token], j: int) -> tuple[float, int] | None:
    """Read ``and a half``, ``n a quarter``, ``and 3/4`` and the like, as they stand behind a unit."""
    if text_at(tokens, j) not in {"and", "&", "n", "an"}:
        return None
    part = _slash(tokens, j + 1) if j + 1 < len(tokens) and tokens[j + 1].kind == "num" else None
    if part is not None and part < 1:
        return float(part), j + 4
    worded = _worded_part(tokens, j + 1)
    if worded is None or _of_another(tokens, worded[1]):
        return None
    return float(worded[0]), worded[1]


def _of_another(tokens: Sequence[Token], k: int) -> bool:
    """True where the part is of something else: "per gallon and half as much sugar", "1 lb and half a cup"."""
    if text_at(tokens, k) == "of":
        return text_at(tokens, k + 1) in {"that", "it", "this"}
    return text_at(tokens, k) in {"as", "that", "the", "this", "a", "an", "cup", "pint", "quart", "gallon"}


def _worded(tokens: Sequence[Token], i: int) -> tuple[Number, int] | None:
    word = text_at(tokens, i)
    fixed = _fixed(tokens, i)
    if fixed is not None:
        return fixed
    if word in _ARTICLES:
        return _with_article(tokens, i)
    if word == "hundred":
        return _hundreds(tokens, 100, i + 1)
    if word in _PARTS and not word.endswith("s"):
        k = i + 1
        if text_at(tokens, k) == "-":
            k += 1
        return Number.of(float(_PARTS[word]), fraction=True), k
    return _spoken(tokens, i)


def _fixed(tokens: Sequence[Token], i: int) -> tuple[Number, int] | None:
    """Read ``a couple of``, ``a pair of``, ``a dozen``, ``half a dozen``."""
    k = i + 1 if text_at(tokens, i) in _ARTICLES else i
    if text_at(tokens, k) in {"couple", "cpl", "pair"}:
        return Number.of(2), k + 2 if text_at(tokens, k + 1) == "of" else k + 1
    if (
        text_at(tokens, k) == "handful"
        and text_at(tokens, k + 1) == "of"
        and text_at(tokens, k + 2) not in _LOOSE_STUFF
    ):
        return Number.of(5), k + 2
    if text_at(tokens, k) == "dozen":
        return Number.of(12), k + 1
    if text_at(tokens, i) == "half" and "dozen" in {text_at(tokens, i + 1), text_at(tokens, i + 2)}:
        return Number.of(6), i + (2 if text_at(tokens, i + 1) == "dozen" else 3)
    return None


def _with_article(tokens: Sequence[Token], i: int) -> tuple[Number, int] | None:
    """Read ``a hundred and forty`` and ``a half``; an article alone is no number."""
    if text_at(tokens, i + 1) == "hundred":
        return _hundreds(tokens, 100, i + 2)
    if text_at(tokens, i + 1) in {"half", "quarter", "third"}:
        return Number.of(float(_PARTS[tokens[i + 1].text]), fraction=True), i + 2
    return None


def _below_hundred(tokens: Sequence[Token], i: int) -> tuple[int, int] | None:
    word = text_at(tokens, i)
    if word in _UNITS:
        return _UNITS[word], i + 1
    if word in _TEENS:
        return _TEENS[word], i + 1
    if word not in _TENS:
        return None
    k = i + 2 if text_at(tokens, i + 1) == "-" else i + 1
    unit = _UNITS.get(text_at(tokens, k), 0)
    return (_TENS[word] + unit, k + 1) if unit else (_TENS[word], i + 1)


def _hundreds(tokens: Sequence[Token], value: int, i: int) -> tuple[Number, int]:
    k = i + 1 if text_at(tokens, i) == "and" else i
    rest = _below_hundred(tokens, k)
    return (Number.of(value + rest[0]), rest[1]) if rest else (Number.of(value), i)


def _spoken(tokens: Sequence[Token], i: int) -> tuple[Number, int] | None:
    """Read ``forty five``, ``one forty five``, ``two oh five``, ``one hundred and ten``, ``five point two``."""
    first = _below_hundred(tokens, i)
    if first is None:
        return None
    value, j = first
    word = text_at(tokens, j)
    if word == "hundred":
        return _hundreds(tokens, value * 100, j + 1)
    if value in {1, 2, 3} and word in {"oh", "o"} and text_at(tokens, j + 1) in _UNITS:
        return Number.of(value * 100 + _UNITS[text_at(tokens, j + 1)]), j + 2
    if value in {1, 2, 3} and (word in _TENS or word in _TEENS):
        rest = _below_hundred(tokens, j)
        if rest is not None:
            return Number.of(value * 100 + rest[0]), rest[1]
    return _spoken_tail(tokens, value, j)


def _spoken_tail(tokens: Sequence[Token], value: int, j: int) -> tuple[Number, int]:
    if text_at(tokens, j) == "dozen":
        return Number.of(value * 12), j + 1
    if text_at(tokens, j) == "point" and text_at(tokens, j + 1) in _UNITS:
        return Number.of(value + _UNITS[text_at(tokens, j + 1)] / 10), j + 2
    part = _fraction_after(tokens, j)
    if part is not None:
        return Number.of(value + float(part[0]), fraction=True), part[1]
    if text_at(tokens, j) in _PARTS and text_at(tokens, j) not in {"half", "halves"}:
        return Number.of(value * float(_PARTS[text_at(tokens, j)]), fraction=True), j + 1
    return Number.of(value), j
