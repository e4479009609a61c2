"""Times and units as a chat likes them."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from bot.pictures.habits import (
    Habit,
    clock,
    duration,
    long_date,
    mass,
    moment,
    temperature,
    temperature_both,
    tick_clock,
)

US, METRIC = Habit("America/Vancouver", "us"), Habit("Europe/Oslo", "metric")


@pytest.mark.parametrize(
    ("c", "us"),
    [
        # Pairs as the rules print them: FDA Fish and Fishery Products Hazards and Controls Guidance, 4th ed.
        (62.8, "145 °F"),
        (60.0, "140 °F"),
        (21.1, "70 °F"),
        (4.4, "40 °F"),
        (3.3, "38 °F"),
        # PNW 238 (Oregon State University Extension)
        (71.1, "160 °F"),
        # By hand: 62.6 * 1.8 + 32 = 144.68, which must not look like the floor.
        (62.6, "144.7 °F"),
        (-18.0, "-0.4 °F"),
        (0.0, "32 °F"),
    ],
)
def test_fahrenheit_of_published_pairs(c: float, us: str) -> None:
    assert temperature(c, US) == us


def test_both_scales_own_first() -> None:
    assert temperature_both(62.8, US) == "145 °F / 62.8 °C"
    assert temperature_both(62.8, METRIC) == "62.8 °C / 145 °F"
    assert temperature(63.0, METRIC) == "63 °C"


@pytest.mark.parametrize(
    ("g", "us", "metric"),
    [
        (453.59237, "1 lb", "454 g"),  # the avoirdupois pound (international agreement, 1959)
        (28.349523, "1 oz", "28 g"),
        (1984.5, "4 lb 6 oz", "1.98 kg"),  # 4.375 lb by hand
        (999.7, "2 lb 3 oz", "1.00 kg"),
    ],
)
def test_mass(g: float, us: str, metric: str) -> None:
    assert mass(g, US) == us
    assert mass(g, METRIC) == metric


def test_clock_and_dates() -> None:
    at = datetime(2026, 9, 12, 1, 40, tzinfo=UTC)  # 18:40 PDT on the 11th, 03:40 CEST on the 12th
    assert clock(at, US) == "6:40 pm"
    assert clock(at, METRIC) == "03:40"
    assert moment(at, US) == "Fri 6:40 pm"
    assert long_date(date(2026, 9, 12), US) == "Sep 12, 2026"
    assert long_date(date(2026, 9, 12), METRIC) == "12 Sep 2026"


@pytest.mark.parametrize(
    ("hour", "word"), [(7, "12 am"), (19, "noon"), (8, "1 am"), (20, "1 pm")]
)  # UTC hours; PDT is 7 behind
def test_noon_and_midnight_cannot_be_mistaken(hour: int, word: str) -> None:
    assert tick_clock(datetime(2026, 9, 12, hour, tzinfo=UTC), US) == word


@pytest.mark.parametrize(("minutes", "words"), [(45, "45 min"), (120, "2 h"), (129.7, "2 h 10 min"), (0, "0 min")])
def test_duration(minutes: float, words: str) -> None:
    assert duration(minutes) == words
