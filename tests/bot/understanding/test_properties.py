"""What must hold for any message: figures come back exactly, noise changes nothing, nothing raises."""

from __future__ import annotations

import re
import sys
from datetime import datetime
from fractions import Fraction
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.understanding import Context, understand

ZONE = ZoneInfo("America/Vancouver")
NOW = datetime(2026, 9, 12, 15, 20, tzinfo=ZONE)
FRESH = Context(NOW, ZONE.key)
SMOKING = Context(
    NOW,
    ZONE.key,
    units="us",
    temperature_scales=frozenset("F"),
    stage="smoke",
    stage_since=datetime(2026, 9, 12, 12, 30, tzinfo=ZONE),
    batch_since=datetime(2026, 9, 11, 17, 40, tzinfo=ZONE),
)

#: Grams and millimetres by definition (international yard and pound agreement, 1959).
MASS = {
    "g": 1.0, "gram": 1.0, "grams": 1.0, "kg": 1000.0, "kilo": 1000.0, "kilos": 1000.0, "lb": 453.59237,
    "lbs": 453.59237, "pounds": 453.59237, "#": 453.59237, "oz": 28.349523125,
}  # fmt: skip
LENGTH = {"mm": 1.0, "cm": 10.0, "in": 25.4, "inch": 25.4, "inches": 25.4, '"': 25.4}
VULGAR = {Fraction(1, 4): "¼", Fraction(1, 2): "½", Fraction(3, 4): "¾", Fraction(1, 3): "⅓", Fraction(1, 8): "⅛"}

spacing = st.sampled_from(["", " ", "  ", "\u00a0"])
noise = st.sampled_from(["ok", "hey", "so", "well", "please", "thanks", "mate", "skipper", "hmm", "btw", "alright"])


@st.composite
def decimals(draw: st.DrawFn, low: float, high: float) -> tuple[str, float]:
    """A number with up to two places, with a point or a comma."""
    value = draw(st.integers(int(low * 100), int(high * 100))) / 100
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return (text.replace(".", draw(st.sampled_from(".,"))), value)


@st.composite
def fractions(draw: st.DrawFn) -> tuple[str, float]:
    """A mixed number, written in one of the ways that people write it."""
    whole = draw(st.integers(1, 9))
    part = draw(st.sampled_from(list(VULGAR)))
    plain = f"{part.numerator}/{part.denominator}"
    text = draw(
        st.sampled_from([f"{whole} {plain}", f"{whole}-{plain}", f"{whole}{VULGAR[part]}", f"{whole} {VULGAR[part]}"])
    )
    return text, float(whole + part)


@given(number=st.one_of(decimals(1, 90), fractions()), unit=st.sampled_from(sorted(MASS)), gap=spacing)
@settings(max_examples=300, deadline=None)
def test_any_mass_comes_back(number: tuple[str, float], unit: str, gap: str) -> None:
    grams = number[1] * MASS[unit]
    heard = understand(f"{number[0]}{gap}{unit} coho", FRESH)
    if grams < 5:
        assert heard.doubts[0].slot == "mass_g"
    else:
        assert heard.heard[0].slots["mass_g"] == pytest.approx(grams, abs=5.1e-4)


@given(number=st.one_of(decimals(1, 5), fractions()), unit=st.sampled_from(sorted(LENGTH)), gap=spacing)
@settings(max_examples=300, deadline=None)
def test_any_thickness_comes_back(number: tuple[str, float], unit: str, gap: str) -> None:
    millimetres = number[1] * LENGTH[unit]
    heard = understand(f"coho fillets, {number[0]}{gap}{unit} thick", FRESH)
    if millimetres > 250:
        assert heard.doubts
    else:
        assert heard.heard[0].slots["thickness_mm"] == pytest.approx(millimetres, abs=5.1e-4)


@given(
    value=st.integers(-20, 210),
    scale=st.sampled_from(["F", "C"]),
    glue=st.sampled_from(["", " ", "°", " °", " degrees ", " deg "]),
    label=st.sampled_from(["core", "internal", "probe says", "core temp", "core is at"]),
)
@settings(max_examples=300, deadline=None)
def test_a_core_with_its_scale_comes_back_or_is_questioned(value: int, scale: str, glue: str, label: str) -> None:
    told = understand(f"{label} {value}{glue}{scale}", SMOKING)
    celsius = (value - 32) / 1.8 if scale == "F" else float(value)
    if -40 <= celsius <= 100:
        assert told.heard[0].slots["core_c"] == pytest.approx(celsius, abs=5.1e-4)
    else:
        assert "core_c" not in told.heard[0].slots
        assert told.doubts[0].slot == "core_c"


@given(hour=st.integers(0, 23), minute=st.integers(0, 59))
@settings(max_examples=200, deadline=None)
def test_a_full_clock_time_comes_back_the_same(hour: int, minute: int) -> None:
    told = understand(f"went in the brine at {hour:02d}:{minute:02d} yesterday", FRESH)
    wanted = datetime(2026, 9, 11, hour, minute, tzinfo=ZONE)
    if hour == 0 or hour > 12 or hour < 10:  # a leading nought or more than twelve leaves no doubt
        assert datetime.fromisoformat(told.heard[0].slots["at"]) == wanted
    else:
        said = told.heard[0].slots.get("at")
        offered = [slots["at"] for _, slots in told.doubts[0].options] if told.doubts else [said]
        assert wanted.isoformat() in offered


MESSAGES = [
    "core 128f chamber 190",
    "4 1/2 lb coho fillets, skin on, about an inch",
    "1 cup kosher per gallon",
    "pulled the small ones",
    "is 135 enough",
    "small ones 141, big ones 128",
]


@given(
    message=st.sampled_from(MESSAGES),
    before=noise,
    after=noise,
    shout=st.booleans(),
    end=st.sampled_from(["", ".", "!", " .."]),
)
@settings(max_examples=200, deadline=None)
def test_noise_words_change_nothing(message: str, before: str, after: str, shout: bool, end: str) -> None:
    plain = understand(message, SMOKING)
    noisy = f"{before}, {message}, {after}{end}"
    told = understand(noisy.upper() if shout else noisy, SMOKING)
    assert [(h.intent, dict(h.slots)) for h in told.heard] == [(h.intent, dict(h.slots)) for h in plain.heard]


@given(st.text(max_size=300))
@settings(max_examples=500, deadline=None)
def test_no_message_raises(text: str) -> None:
    for context in (FRESH, SMOKING):
        told = understand(text, context)
        assert told.heard


JUMBLE = """
    core 128 f 4 1/2 lb coho in the brine at 9 : 40 last night no , not salt per gallon cup half a ? can it stay till 8
    small big 12O - 3 kg what if to and % ° am rack one forty ago each sugar :1 quiet from 11 under ; ! again yes done
    smoker fridge 1:10 parts x of them dozen set 70 rinse tomorrow between wet tacky it was sorry i meant"""
WORDS = [*re.findall(r"\S+", JUMBLE), "\n"]


@given(st.lists(st.sampled_from(WORDS), max_size=40))
@settings(max_examples=800, deadline=None)
def test_no_jumble_of_the_trades_own_words_raises(words: list[str]) -> None:
    for context in (FRESH, SMOKING):
        assert understand(" ".join(words), context).heard


@given(st.lists(st.sampled_from(WORDS), max_size=30))
@settings(max_examples=200, deadline=None)
def test_the_same_words_are_heard_the_same(words: list[str]) -> None:
    text = " ".join(words)
    assert understand(text, SMOKING) == understand(text, SMOKING)


HOSTILE = [
    "1" * 4096,
    "1/" * 2048,
    "1 1/2 " * 680,
    "core " * 800,
    "core 128 " * 450,
    "a hundred and " * 290,
    "one " * 1000,
    "<" * 4096,
    "<a " * 1300,
    "at 9 " * 800,
    "half past " * 400,
    "no, " * 1000,
    "can it stay till 8 and " * 178,
    "4 lb coho, " * 370,
    "4:1 " * 1000,
    "salt " * 800,
    "1 cup salt per gallon " * 186,
    "quiet from 11 to 6 " * 215,
    "not " * 1000,
    "((((((((((" * 400,
    "\u200b" * 4096,
    "٣" * 4096,
    "🐟" * 4096,
    "core one forty five " * 200,
    "zzzzzzzzzzzzzzz " * 256,
    "mackerell salmonn brinne " * 160,
    ", " * 2048,
    "? " * 2048,
    "x" * 100_000,
    "small 141 big 128 " * 220,
    "in the brine at " * 250,
]


@pytest.mark.parametrize("text", HOSTILE, ids=lambda t: t[:16].strip() or repr(t[:2]))
def test_hostile_text_ends_in_bounded_steps(text: str) -> None:
    """Steps grow with the length of a text, no faster, and stop where reading stops: nothing can run away."""
    understand(text[:200], SMOKING)  # word lists are read once, at first use
    few, many, most = (_steps(text[:length]) for length in (1000, 4000, 100_000))
    assert many <= 8 * few + 20_000
    assert most <= 1.5 * many + 20_000


def _steps(text: str) -> int:
    """Return how many calls of functions it takes to understand ``text``: a measure that no busy machine moves."""
    count = 0

    def counted(_frame: object, event: str, _arg: object) -> None:
        nonlocal count
        count += event == "call"

    sys.setprofile(counted)
    try:
        understand(text, SMOKING)
    finally:
        sys.setprofile(None)
    return count


def test_a_long_text_is_cut_and_says_so() -> None:
    told = understand("core 128f " + "x " * 60_000, SMOKING)
    assert any(piece.rule == "length" for piece in told.pieces)


def test_reordered_digits_are_not_trusted() -> None:
    told = understand("core \u202e041", SMOKING)
    assert told.heard[0].intent == "chat"
    assert told.doubts[0].reason == "direction"


def test_zero_width_characters_are_dropped() -> None:
    assert understand("co\u200bre 1\u200b40", SMOKING).heard[0].slots == {"core_c": 60.0}


def test_digits_of_other_scripts_are_digits() -> None:
    assert understand("core １４０", SMOKING).heard[0].slots == {"core_c": 60.0}


@pytest.mark.parametrize("text", ["core l40", "core 14O", "core ①④⓪", "core 14²"])
def test_look_alike_digits_are_refused(text: str) -> None:
    told = understand(text, SMOKING)
    assert "core_c" not in told.heard[0].slots
