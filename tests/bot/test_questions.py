"""Questions about a batch: they change nothing, and answer in time."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from tests.bot.talk import START, Talk
from tests.bot.talks import smoking, soaking, told, truth


@pytest.mark.parametrize(
    "text",
    [
        "what's next",
        "when do I have to get up",
        "can it stay till 8",
        "what if I start at 10 tonight",
        "what if it's 2 inches thick",
        "is 135 enough",
        "why",
        "show the log",
        "can I pack?",
        "how salty will it be?",
        "status",
    ],
)
@pytest.mark.parametrize("made", [soaking, smoking])
def test_a_question_changes_nothing(text, made):
    talk = made()
    before, rings = truth(talk), dict(talk.rings)
    answer = talk.say(text)

    assert answer is not None
    assert truth(talk) == before
    assert talk.rings == rings


def test_what_is_next_names_a_time():
    answer = soaking().say("what's next")
    (fact,) = [f for f in answer.facts if f["kind"] == "answer"]

    assert answer.text.startswith("Next: ")
    assert datetime.fromisoformat(fact["values"]["at"]) > START


def test_when_to_get_up_is_the_first_call_of_the_morning():
    (fact,) = [f for f in soaking().say("when do I have to get up").facts if f["kind"] == "answer"]
    at = datetime.fromisoformat(fact["values"]["at"])

    assert (at.date().isoformat(), at.hour >= 6) == ("2026-09-12", True)
    assert at < START + timedelta(hours=18)


def test_before_the_fish_is_in_a_stay_is_asked_of_the_planned_soak():
    """Eight in the evening is when it goes in: till 8 is the morning after."""
    talk = Talk()
    talk.say("3 lb coho fillets, 1 inch, brining tonight at 8")
    (fact,) = [f for f in talk.say("can it stay till 8?").facts if f["kind"] == "answer"]

    assert datetime.fromisoformat(fact["values"]["soak_end"]).hour == 8


def test_a_longer_stay_is_saltier_and_says_what_the_cold_must_be():
    answer = soaking().say("can it stay till 8 tomorrow evening")
    (fact,) = [f for f in answer.facts if f["kind"] == "answer"]

    assert fact["topic"] == "stay"
    assert datetime.fromisoformat(fact["values"]["soak_end"]).hour == 20
    assert fact["values"]["wps_pct"]["mean"] > fact["values"]["planned_mean_pct"]
    assert "38 °F / 3.3 °C" in answer.text


def test_what_if_shows_the_other_plan_and_keeps_this_one():
    talk = Talk()
    talk.say("4 lb coho fillets, 1 inch, skin on, 10 % brine")
    answer = talk.say("what if I start at 10 tonight")
    (plan,) = [f for f in answer.facts if f["kind"] == "plan"]
    start = datetime.fromisoformat(next(s for s in plan["stages"] if s["stage"] == "soak")["start"])

    assert (start.hour, start.minute) == (22, 0)
    assert "soak_start" not in told(talk).told

    talk.press("Do that")
    assert datetime.fromisoformat(told(talk).told["soak_start"]) == start


def test_another_start_is_no_question_once_the_fish_is_in():
    answer = smoking().say("what if I start at 10 tonight")

    assert not [f for f in answer.facts if f["kind"] == "plan"]
    assert "past" in answer.text


@pytest.mark.parametrize(("value", "first"), [("135", "No"), ("147", "Just"), ("165", "Yes")])
def test_is_it_enough_goes_by_floor_and_aim(value, first):
    """62.8 °C (145 °F) is the floor, 71.1 °C (160 °F) the aim."""
    assert smoking().say(f"is {value} F enough").text.startswith(first)


def test_why_names_a_source():
    talk = smoking()
    talk.wait(hours=1).say("core 120 F")

    assert "[" in talk.say("why").text


def test_the_log_shows_what_was_taken_back():
    talk = smoking()
    talk.wait(hours=1).say("core 114 F")
    talk.say("that was 141 not 114")

    log = talk.say("show the log").text
    assert "114 °F (taken back)" in log
    assert "141 °F" in log


def test_a_figure_that_is_asked_about_becomes_a_reading_by_one_press():
    talk = soaking()
    talk.wait(hours=12).say("in the smoker, chamber 190 F")
    talk.wait(hours=2).say("is 161 enough")
    assert not told(talk).values("core_c")
    talk.press("Core is 161 °F now")
    assert told(talk).values("core_c")


def test_how_long_names_the_stage_that_was_asked_about():
    (fact,) = [f for f in soaking().say("how long in the brine").facts if f["kind"] == "answer"]
    assert fact["values"]["stage"] == "soak"
    (fact,) = [f for f in soaking().say("how long does it smoke").facts if f["kind"] == "answer"]
    assert fact["values"]["stage"] == "smoke"


def test_is_that_enough_of_a_brine_is_about_its_salt():
    talk = Talk()
    talk.say("5 lb sockeye fillets, 1 inch, skin on, brining tonight")
    talk.say("1 cup kosher per gallon")
    (fact,) = [f for f in talk.say("is that enough").facts if f["kind"] == "answer"]
    assert fact["topic"] == "wps"


@pytest.mark.parametrize(("text", "hour"), [("can it stay till 9", 9), ("can it stay till 9 pm", 21)])
def test_a_stay_without_am_or_pm_is_one_past_the_planned_end(text, hour):
    """In the brine at 5:40 pm, out in the morning: nobody asks whether it can stay till this evening."""
    (fact,) = [f for f in soaking().say(text).facts if f["kind"] == "answer"]
    assert datetime.fromisoformat(fact["values"]["soak_end"]).hour == hour


@pytest.mark.parametrize("asked", ["can i vac pack it", "ok to vacuum seal?"])
def test_an_airless_pack_is_refused_to_who_asks_while_no_salt_was_measured(asked: str):
    """Chilled and airless only on a measured 3.5 % and a cold fridge (FDA Hazards Guide, ch. 13; decision 8)."""
    talk = Talk()
    talk.say("4 lb coho fillets, 1 inch, in the brine now")
    answer = talk.say(asked).text

    assert answer.startswith("No, not to keep it chilled.")
    assert "measured, 3.5 %" in answer
    assert "freeze" in answer


def test_a_core_may_be_asked_for_while_the_fish_soaks():
    talk = Talk()
    talk.say("4 lb coho fillets, 1 inch, in the brine now")
    talk.say("is 140 enuf")

    assert talk.facts("answer")[-1]["values"]["core_c"] == pytest.approx(60.0, abs=0.1)
