"""Answers come in the measures that people write in, until they say which they want."""

from __future__ import annotations

import pytest

from bot.understanding import Context, understand
from tests.bot.talk import START, Talk


@pytest.mark.parametrize(
    ("text", "measures"),
    [
        ("3 lb coho, an inch thick", "us"),
        ("1 cup kosher per gallon", "us"),
        ("core 131f", "us"),
        ("2 kg trout, 3 cm", "metric"),
        ("60 g salt per liter", "metric"),
        ("core 54 C", "metric"),
        ("2 kg in a gallon of brine", None),
        ("a cup of salt", None),
        ("4 coho fillets", None),
        ("what's next", None),
    ],
)
def test_units_tell_the_habit(text: str, measures: str | None) -> None:
    assert understand(text, Context(START)).measures == measures


def _first_line(talk: Talk, text: str) -> str:
    answer = talk.say(text)
    assert answer is not None
    return answer.text


def test_pounds_are_answered_in_ounces_and_am() -> None:
    plan = _first_line(Talk(units=None), "3 lb coho fillets, 1 inch, brining tonight")
    assert all(word in plan for word in (" oz", " am", "°F"))


def test_kilos_are_answered_in_grams() -> None:
    plan = _first_line(Talk(units=None), "1.5 kg coho fillets, 25 mm, brining tonight")
    assert "°C" in plan
    assert not any(word in plan for word in (" oz", " pm", "°F / "))


def test_what_was_told_outweighs_what_is_written() -> None:
    talk = Talk(units="metric")
    assert " oz" not in _first_line(talk, "3 lb coho fillets, 1 inch, brining tonight")


def test_what_is_written_is_no_proof_of_a_bare_scale() -> None:
    """Who writes pounds may own a thermometer in °C: a core that could be either is still asked about."""
    talk = Talk(units=None)
    talk.say("3 lb coho fillets, 1 inch, brining tonight")
    talk.say("it's in the smoker")
    answer = talk.say("core 62")
    assert answer is not None
    assert {b.label for b in answer.buttons} >= {"62 °C", "62 °F"}


@pytest.mark.parametrize(
    ("text", "scales"),
    [
        ("core 131 F", {"F"}),
        ("core 54c", {"C"}),
        ("core 118", {"F"}),  # no fish is 118 °C in the middle
        ("core 62", set()),
        ("fridge 3, core 140 F", {"C", "F"}),
        ("chamber 190", {"F"}),
    ],
)
def test_a_figure_that_makes_sense_in_one_scale_shows_it(text: str, scales: set[str]) -> None:
    assert understand(text, Context(START, stage="smoke")).scales == scales


def test_whose_figures_were_all_fahrenheit_is_not_asked_for_the_scale() -> None:
    talk = Talk(units=None)
    talk.say("3 lb coho fillets, 1 inch, brining tonight")
    talk.say("it's in the smoker")
    talk.say("chamber 190")
    answer = talk.wait(minutes=50).say("core 88")
    assert answer is not None
    assert "core 88 °F" in answer.text
