"""Read a number with its unit, in SI; also ``a cup``, ``an inch and a half``, ``1 lb 6 oz``, ``1h30``."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from bot.understanding.numbers import Number, and_a_part, read_number, text_at
from bot.understanding.tokens import Token
from bot.understanding.wordlists import words
from planner import units

_SI = {
    "mass": "gram", "length": "millimeter", "volume": "milliliter", "time": "second", "speed": "meter / second",
    "percent": "percent", "salometer": "salometer_degree",
}  # fmt: skip
_DEGREES = frozenset({"°", "deg", "degs", "degree", "degrees", "degreees", "grad", "graden", "grader"})
_SCALES = {
    "f": "F", "fahrenheit": "F", "farenheit": "F", "fahr": "F", "fahrenhiet": "F", "c": "C", "celsius": "C",
    "celcius": "C", "centigrade": "C", "cels": "C",
}  # fmt: skip
#: What follows a ``c`` that stands for cup, not for Celsius.
_CUPPED = words("quantities", "cupped")
_NOT_ALONE = frozenset({"s", "d", "m", "h", "in", "l", "g", "f", "c", '"', "#", "%", "sal", "mil", "std", "lit"})
#: Units that may follow an article or stand alone after "per".
_DOTTED = frozenset(
    {"lb", "lbs", "oz", "in", "hr", "hrs", "min", "mins", "tbsp", "tsp", "gal", "qt", "qts", "pt", "approx"}
)
_PRONOUN_BEFORE = words("quantities", "pronoun_before")


@dataclass(frozen=True)
class Quantity:
    """A measured amount. ``value`` (``low``–``high`` for a range) is SI; ``unit`` the registry's name.

    ``kind``: mass, length, volume, time, speed, percent, salometer, temperature or bare. A temperature keeps its
    figure as said, in the scale ``unit`` (F, C or empty where none was said); so does a bare number.
    """

    kind: str
    value: float
    low: float
    high: float
    unit: str
    number: Number
    glued: bool = False


@cache
def unit_words() -> dict[str, tuple[str, str]]:
    """Return word -> (kind, registry unit), from the lexicon."""
    data = tomllib.loads(files("bot.lexicon").joinpath("units.toml").read_text(encoding="utf-8"))
    return {word: (kind, unit) for kind, by in data.items() for unit, words in by.items() for word in words}


def read_quantity(tokens: Sequence[Token], i: int) -> tuple[Quantity, int] | None:
    """Read an amount at ``i``; a number without a unit comes back as ``bare``."""
    alone = _unit_alone(tokens, i)
    if alone is not None:
        return alone
    if _is_pronoun(tokens, i):
        return None
    hash_first = text_at(tokens, i) == "#" and i + 1 < len(tokens) and tokens[i + 1].kind == "num"
    found = read_number(tokens, i + 1 if hash_first else i)
    if found is None:
        return None
    number, j = found
    united = _with_unit(tokens, number, j)
    if united is None:
        return Quantity("bare", number.value, number.low, number.high, "", number), j
    first, k = united
    return _compound(tokens, first, k)


def _is_pronoun(tokens: Sequence[Token], i: int) -> bool:
    """True for the ``one`` of "the big one"."""
    if text_at(tokens, i) != "one":
        return False
    if i + 1 < len(tokens) and tokens[i + 1].kind == "num":
        return True  # "the skinny one 165"
    if i > 0:
        return text_at(tokens, i - 1) in _PRONOUN_BEFORE
    return text_at(tokens, i + 1) in {"of", "is", "was", "reads"}


def unit_at(tokens: Sequence[Token], j: int) -> tuple[str, str, int] | None:
    """Read a unit word at ``j``: its kind, the registry's name, and the index behind it."""
    word = text_at(tokens, j)
    if word in {"imp", "imperial"} and text_at(tokens, j + 1) in unit_words():
        kind, unit = unit_words()[text_at(tokens, j + 1)]
        return (kind, f"imperial_{unit}", j + 2) if kind == "volume" else None
    if word == "us" and unit_words().get(text_at(tokens, j + 1), ("",))[0] == "volume":
        return unit_at(tokens, j + 1)
    speed = _speed_at(tokens, j)
    if speed is not None:
        return speed
    if word == "fl" and text_at(tokens, j + 1) in {"oz", "."}:
        return "volume", "fluid_ounce", j + (3 if text_at(tokens, j + 1) == "." else 2)
    if word in {"degree", "degrees", "deg", "°"} and unit_words().get(text_at(tokens, j + 1), ("",))[0] == "salometer":
        return "salometer", "salometer_degree", j + 2
    if word not in unit_words():
        return None
    kind, unit = unit_words()[word]
    if kind == "length" and text_at(tokens, j + 1) == "/":
        return None
    k = j + 2 if word in _DOTTED and text_at(tokens, j + 1) == "." and tokens[j + 1].glued else j + 1
    return kind, unit, k


def _speed_at(tokens: Sequence[Token], j: int) -> tuple[str, str, int] | None:
    per = text_at(tokens, j + 1) in {"/", "per"}
    pair = (text_at(tokens, j), text_at(tokens, j + 2)) if per else ("", "")
    if pair[0] in {"m", "meters", "metres"} and pair[1] in {"s", "sec", "second"}:
        return "speed", "meter / second", j + 3
    if pair[0] in {"km", "kilometers", "kilometres"} and pair[1] in {"h", "hr", "hour"}:
        return "speed", "kilometer / hour", j + 3
    return None


def _with_unit(tokens: Sequence[Token], number: Number, j: int) -> tuple[Quantity, int] | None:
    word = text_at(tokens, j)
    if word == "-" and j + 1 < len(tokens) and tokens[j + 1].kind == "word":
        after = _with_unit(tokens, number, j + 1)
        if after is not None and after[0].kind in {"length", "mass", "time", "volume"}:
            return after  # 1-inch, 2-lb
    temperature = _temperature(tokens, number, j)
    if temperature is not None:
        return temperature
    if word == "in" and _is_inch(tokens, number, j):
        return _amount("length", "inch", number), j + (2 if _dot(tokens, j + 1) else 1)
    if word == "m" and tokens[j].glued:
        return _amount("time", "minute", number), j + 1
    if word in {"t"} and tokens[j].glued:
        return None
    of = j
    if word == "of" and text_at(tokens, j + 1) in {"a", "an"}:
        of = j + 2  # three quarters of an inch
    elif word in {"a", "an"} and number.fraction:
        of = j + 1  # half an inch
    unit = unit_at(tokens, of)
    if unit is None or (of != j and unit[0] not in {"length", "volume", "mass", "time"}):
        return None
    kind, name, k = unit
    if text_at(tokens, of) in {"s", "d"} and not tokens[of].glued:
        return None
    return _amount(kind, name, number), k


def _dot(tokens: Sequence[Token], j: int) -> bool:
    return text_at(tokens, j) == "." and tokens[j].glued


def _is_inch(tokens: Sequence[Token], number: Number, j: int) -> bool:
    """True where ``in`` is a unit: glued on, or not followed by what the preposition needs."""
    if number.value > 20:
        return False
    spoken = j > 0 and tokens[j - 1].kind == "word"
    if tokens[j].glued or (number.fraction and not spoken):
        return text_at(tokens, j + 1) not in {"the", "an", "a"} or tokens[j].glued
    following = text_at(tokens, j + 1)
    return following in {
        "",
        ".",
        ",",
        "thick",
        "thk",
        "and",
        "fillets",
        "fillet",
        "skin",
        "sides",
        "steaks",
        "at",
        "pieces",
    }


def _temperature(tokens: Sequence[Token], number: Number, j: int) -> tuple[Quantity, int] | None:
    word = text_at(tokens, j)
    k = j + 1 if word in _DEGREES else j
    if k > j and _dot(tokens, k) and word == "deg":
        k += 1
    if k > j and unit_words().get(text_at(tokens, k), ("",))[0] == "salometer":
        return None
    scale = _SCALES.get(text_at(tokens, k))
    if scale == "C" and text_at(tokens, k) == "c" and k == j and text_at(tokens, k + 1) in _CUPPED:
        return _amount("volume", "cup", number), k + 1
    if scale == "C" and k == j and _dot(tokens, k + 1) and text_at(tokens, k + 2) in _CUPPED:
        return _amount("volume", "cup", number), k + 2
    if scale is not None:
        return Quantity("temperature", number.value, number.low, number.high, scale, number), k + 1
    if k > j:
        return Quantity("temperature", number.value, number.low, number.high, "", number), k
    return None


#: The most that a figure with a unit can sensibly be; a comma groups thousands only below it.
_SENSIBLE = {
    "kilogram": 400.0,
    "pound": 900.0,
    "liter": 900.0,
    "gallon": 300.0,
    "inch": 20.0,
    "centimeter": 40.0,
}


def _amount(kind: str, unit: str, number: Number) -> Quantity:
    if number.other is not None and unit in {"gram", "milliliter"}:
        number = Number.of(number.other)
    factor = units.factor(unit, _SI[kind])
    return Quantity(kind, number.value * factor, number.low * factor, number.high * factor, unit, number)


def _unit_alone(tokens: Sequence[Token], i: int) -> tuple[Quantity, int] | None:
    """Read ``a cup``, ``an inch and a half``, ``inch and a half``, ``hour and a half``."""
    word = text_at(tokens, i)
    article = word in {"a", "an"}
    k = i + 1 if article else i
    if text_at(tokens, k) in {"full", "good", "solid", "scant", "heaping", "level", "rounded"} and article:
        k += 1
    if text_at(tokens, k) in _NOT_ALONE:
        return None
    unit = unit_at(tokens, k)
    if unit is None or unit[0] in {"percent", "salometer", "speed"}:
        return None
    kind, name, j = unit
    part = and_a_part(tokens, j)
    thick = kind == "length" and text_at(tokens, j) in {"thick", "thickness", "thk"}
    measured = kind == "volume" and text_at(tokens, j) == "of"
    if not article and part is None and not thick and not measured:
        return None
    number = Number.of(1.0 + (part[0] if part else 0.0), fraction=part is not None)
    return _amount(kind, name, number), part[1] if part else j


def _compound(tokens: Sequence[Token], first: Quantity, k: int) -> tuple[Quantity, int]:
    """Add ``6 oz`` to ``1 lb``, ``20 min`` to ``1 hr``, ``and a half`` to ``2 lbs``; read ``3 lb to 4 lb``."""
    part = and_a_part(tokens, k)
    if part is not None and first.kind in {"mass", "length", "volume", "time"}:
        number = Number.of(first.number.value + part[0], fraction=True)
        return _amount(first.kind, first.unit, number), part[1]
    smaller = {"pound": "ounce", "hour": "minute", "kilogram": "gram", "minute": "second"}.get(first.unit)
    if smaller is None and first.kind not in {"temperature", "length"}:
        return first, k
    j = k + 1 if text_at(tokens, k) in {"and", "&"} else k
    found = read_number(tokens, j) if smaller else None
    if found is not None:
        second = _with_unit(tokens, found[0], found[1])
        glued_minutes = first.unit == "hour" and second is None and tokens[j].glued and found[0].value < 60
        if second is not None and second[0].unit == smaller:
            total = first.value + second[0].value
            return Quantity(first.kind, total, total, total, first.unit, first.number), second[1]
        if second is None and first.unit == "pound" and _ounces_left_out(tokens, found):
            total = first.value + found[0].value * units.factor("ounce", _SI["mass"])
            return Quantity(first.kind, total, total, total, first.unit, first.number), found[1]
        if glued_minutes:
            total = first.value + 60.0 * found[0].value
            return Quantity("time", total, total, total, "hour", first.number), found[1]
    return _united_range(tokens, first, k)


def _ounces_left_out(tokens: Sequence[Token], found: tuple[Number, int]) -> bool:
    """True for the 14 of "2 lb 14": whole ounces, and nothing behind that it could count."""
    number, j = found
    whole = number.value == int(number.value) and number.low == number.high and 0 < number.value < 16
    return whole and (j >= len(tokens) or tokens[j].kind == "end")


def _united_range(tokens: Sequence[Token], first: Quantity, k: int) -> tuple[Quantity, int]:
    if text_at(tokens, k) not in {"-", "to"}:
        return first, k
    found = read_number(tokens, k + 1)
    second = _with_unit(tokens, found[0], found[1]) if found else None
    if second is None or second[0].unit != first.unit or second[0].value <= first.value:
        return first, k
    low, high = first.low, second[0].high
    return Quantity(first.kind, (low + high) / 2, low, high, first.unit, first.number), second[1]
