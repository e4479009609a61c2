"""The pinned card and "what's on": what they say, and when they change.

Expected behaviour is that of the design: stage, next thing, when, clocks that run, in few lines.
"""

from __future__ import annotations

import re

import pytest

from bot.conversation import Conversation
from scheduler.turn import Message
from tests.bot.talk import Talk

BATCH = "4 lb coho fillets, 1 inch, skin on, 10 % brine, going in the brine now"
#: (hours later, what is said): a whole batch.
STORY = (
    (0, BATCH), (14, "pulled from the brine"), (0.25, "on the racks"), (3, "tacky"), (0.3, "in the smoke"),
    (1.5, "core 146 F"), (0.4, "core 162 F"), (0.5, "core 166 F"), (0.1, "they're out"), (1, "core 66 F"),
    (2, "core 38 F"), (0.1, "fridge 36 F"), (14, "packed"),
)  # fmt: skip


def carded() -> Talk:
    return Talk(conversation=Conversation(cards=True))


def cards(talk: Talk) -> list[Message]:
    return [m for m in talk.outcome.messages if m.pin]


def card(talk: Talk) -> str:
    [one] = cards(talk)
    return one.text


def told(talk: Talk, until: int) -> Talk:
    for hours, text in STORY[:until]:
        talk.wait(hours=hours).say(text)
    return talk


@pytest.mark.parametrize(
    ("until", "starts"),
    [
        (1, "Coho: soaking since Fri 5:40 pm.\nNext: pull it from the brine, Sat "),
        (3, "Coho: drying since Sat 7:55 am."),
        (5, "Coho: smoking since Sat 11:13 am."),
        (9, "Coho: cooling since Sat "),
        (13, "Coho: packed Sun "),
    ],
)
def test_the_card_follows_the_batch(until: int, starts: str) -> None:
    assert card(told(carded(), until)).startswith(starts)


def test_the_clocks_that_run_are_on_it() -> None:
    drying, smoking, cooling = (card(told(carded(), until)) for until in (4, 7, 9))
    assert re.search(r"\nWarm clock: spent Sat \d+:\d\d pm if it stays out\.", drying)
    assert "\nThe hold counts since Sat " in smoking
    assert "\nCooling: 70 °F / 21.1 °C by Sat " in cooling


def test_it_fits_a_phone_and_nothing_on_it_grows_stale() -> None:
    talk = carded()
    for hours, text in STORY:
        talk.wait(hours=hours).say(text)
        words = card(talk)
        assert len(words.splitlines()) <= 5
        assert max(map(len, words.splitlines())) <= 64
        assert not re.search(r"tomorrow|yesterday|today| min\b| left", words)


def test_it_is_over_when_packed_and_back_when_that_is_undone() -> None:
    talk = told(carded(), len(STORY))
    assert [m.over for m in cards(talk)] == [True]
    talk.say("undo")
    assert [m.over for m in cards(talk)] == [False]


def test_a_ring_puts_on_it_what_is_called_for() -> None:
    talk = carded()
    talk.say(BATCH)
    talk.ring()
    assert "\nNow: pull it from the brine." in card(talk)
    talk.press("In 20 min")
    assert "Now:" not in card(talk)


def test_a_change_of_units_rewrites_it() -> None:
    talk = carded()
    talk.say(BATCH)
    talk.say("use metric")
    assert "since Fri 17:40" in card(talk)


def test_every_batch_has_its_own() -> None:
    talk = carded()
    talk.say(BATCH)
    talk.say("another batch: 2 kg trout fillets, 20 mm, brining tonight")
    assert {m.pin for m in cards(talk)} == {"batch 2"}
    talk.say("use metric")
    assert [m.pin for m in cards(talk)] == ["batch 1", "batch 2"]


def test_what_is_deleted_is_taken_down() -> None:
    talk = carded()
    talk.say(BATCH)
    talk.say("delete everything")
    talk.press("Yes, delete everything")
    [gone] = cards(talk)
    assert (gone.pin, gone.over, "coho" in gone.text.lower()) == ("batch 1", True, False)


def test_where_nothing_can_be_pinned_nothing_is_said_of_cards() -> None:
    talk = Talk()
    talk.say(BATCH)
    assert [m.pin for m in talk.outcome.messages] == [None]


@pytest.mark.parametrize("asked", ["what's on", "whats on?", "What is on", "what's running"])
def test_whats_on_says_what_the_card_says(asked: str) -> None:
    talk = Talk()
    assert talk.say(asked).text.startswith("Nothing is on.")
    talk.say(BATCH)
    lines = talk.say(asked).text.splitlines()
    assert lines[0] == "Coho: soaking since 5:40 pm."
    assert lines[1].startswith("Next: pull it from the brine, tomorrow ")


def test_whats_on_names_the_calls_that_were_asked_for() -> None:
    talk = Talk()
    talk.say("remind me in 20 to check the fire")
    assert talk.say("what's on").text.splitlines()[-1] == "I'll call you 6:00 pm: check the fire."


def test_whats_on_names_every_batch_and_packed_ones_last() -> None:
    talk = told(Talk(), len(STORY))
    talk.say("2 kg trout fillets, 20 mm, in the brine now")
    first, second = talk.say("what's on").text.split("\n\n")
    assert first.startswith("Trout: soaking")
    assert second.startswith("Coho: packed")
    talk.wait(days=60)
    assert "Coho" not in talk.say("what's on").text
