"""The evening note, reminders that somebody asks for, and calls that are put off."""

from __future__ import annotations

from datetime import timedelta

import pytest

from planner.evening import evening_before
from planner.habits import Habits
from scheduler.turn import Message
from tests.bot.talk import Talk

BATCH = "4 lb coho fillets, 1 inch, skin on, 10 % brine, going in the brine now"


def notes(talk: Talk) -> list[Message]:
    return [m for m in talk.said if any(f.get("topic") == "evening" for f in m.facts)]


def local(talk: Talk) -> str:
    return f"{talk.now.astimezone(Habits(talk.zone).tz):%a %H:%M}"


def evening(*said: str) -> Talk:
    talk = Talk(evenings=True)
    for text in said:
        talk.say(text)
    return talk


def waiting(talk: Talk) -> list[str]:
    return [ring.key for ring in talk.rings.get(None, ()) if ring.what == "evening"]


# The evening note.


def test_the_evening_before_what_tomorrow_holds_is_said_once() -> None:
    talk = evening(BATCH)
    talk.ring()
    assert local(talk) == "Fri 20:00"
    first, *rest = talk.said[-1].text.splitlines()
    assert first == "Tomorrow from 8:30 am: pull it from the brine."
    assert rest[0] == "8:45 am onto the racks"
    assert len(rest) <= 6
    talk.say("fridge 36 F")
    assert waiting(talk) == ["evening:2026-09-13"]  # the day of packing, and nothing more for today
    assert len(notes(talk)) == 1


def test_a_day_that_holds_nothing_has_no_note() -> None:
    assert waiting(evening("hello")) == []
    talk = evening(BATCH, "undo")
    assert waiting(talk) == []


def test_what_somebody_asked_for_tomorrow_is_on_it() -> None:
    talk = evening("remind me to buy salt tomorrow at 9 am")
    talk.ring()
    assert talk.said[-1].text == "Tomorrow from 9:00 am: buy salt."


@pytest.mark.parametrize("off", ["no evening note", "digest off", "stop the evening digest", "turn off the digest"])
def test_it_can_be_switched_off_and_on_in_plain_words(off: str) -> None:
    talk = evening(BATCH, off)
    assert "evening note" in talk.said[-1].text
    assert waiting(talk) == []
    talk.say("in the brine since 5:30 pm")
    assert waiting(talk) == []
    talk.say("evening note on")
    assert waiting(talk) == ["evening:2026-09-12"]


def test_its_own_button_switches_it_off() -> None:
    talk = evening(BATCH)
    talk.ring()
    talk.press("No more of these")
    assert waiting(talk) == []


def test_whoever_was_just_told_is_not_told_at_once_again() -> None:
    talk = Talk(evenings=True).wait(hours=2, minutes=5)  # 7:45 pm
    talk.say(BATCH)
    assert waiting(talk) == ["evening:2026-09-13"]


def test_two_batches_are_told_apart() -> None:
    talk = evening(BATCH, "another batch: 2 kg trout fillets, 20 mm, in the brine now")
    talk.ring()
    assert "coho, pull it from the brine" in talk.said[-1].text
    assert "trout, " in talk.said[-1].text


def test_it_names_who_is_on() -> None:
    talk = evening(BATCH)
    talk.say("fridge 36 F", "ben")
    talk.say("ben takes over till tomorrow noon")
    talk.ring()
    assert talk.said[-1].text.endswith("Ben is on till tomorrow 12:00 pm.")


@pytest.mark.parametrize(
    ("quiet", "at"),
    [
        (("22:30", "06:30"), "20:00"),
        (("20:00", "05:00"), "19:00"),
        (("18:30", "03:00"), "18:00"),
        (("09:00", "20:30"), "21:00"),
        (("00:00", "23:59"), None),
    ],
)
def test_it_is_never_said_in_quiet_hours(quiet: tuple[str, str], at: str | None) -> None:
    habits = Habits("America/Vancouver", quiet)
    moment = evening_before(habits.local(Talk().now).date() + timedelta(days=1), habits)
    assert (None if moment is None else f"{habits.local(moment):%H:%M}") == at
    assert moment is None or not habits.is_quiet(moment)


# Reminders that somebody asks for.


@pytest.mark.parametrize(
    ("asked", "minutes", "about"),
    [
        ("remind me in 20", 20, None),
        ("remind me in 20 to check the fire", 20, "check the fire"),
        ("remind me to check the fire in 20 min", 20, "check the fire"),
        ("remind us in an hour to turn the racks", 60, "turn the racks"),
        ("in 20 min remind me", 20, None),
        ("timer 10", 10, None),
    ],
)
def test_a_reminder_works_without_a_batch(asked: str, minutes: int, about: str | None) -> None:
    talk = Talk()
    start = talk.now
    talk.say(asked)
    assert talk.batches == {}
    talk.ring()
    assert talk.now - start == timedelta(minutes=minutes)
    assert talk.said[-1].text == (f"You asked me to call: {about}." if about else "You asked me to call you now.")
    assert talk.rings[None] == ()


def test_several_reminders_at_the_same_minute_are_kept_apart() -> None:
    talk = Talk()
    for text in ("remind me in 20", "remind me in 20", "remind me in 20 to check the fire"):
        talk.say(text)
    assert len({ring.key for ring in talk.rings[None]}) == len(talk.rings[None]) == 2
    talk.ring()
    talk.ring()
    plain, with_matter = "You asked me to call you now.", "You asked me to call: check the fire."
    assert {m.text for m in talk.said[-2:]} == {plain, with_matter}


def test_a_reminder_is_put_off_by_button_and_by_word() -> None:
    talk = Talk()
    talk.say("remind me in 20 to check the fire")
    for put_off, minutes in (("In 10 min", 10), ("snooze", 20)):
        talk.ring()
        at = talk.now
        if put_off.startswith("In"):
            talk.press(put_off)
        else:
            talk.say(put_off)
        [ring] = talk.rings[None]
        assert (ring.due - at, ring.data["about"]) == (timedelta(minutes=minutes), "check the fire")


# Calls of a batch that are put off.


PUT_OFF = {"snooze 15": 15, "later": 20, "in 10 min": 10, "give me 45": 45}


@pytest.mark.parametrize(("words", "minutes"), PUT_OFF.items())
def test_a_call_that_is_put_off_by_word_comes_back_itself(words: str, minutes: int) -> None:
    talk = Talk()
    talk.say(BATCH)
    talk.ring()
    at = talk.now
    talk.say(words)
    assert talk.said[-1].text.startswith("I'll call again")
    talk.ring()
    assert talk.now - at == timedelta(minutes=minutes)
    assert talk.said[-1].text.startswith("Again: Pull the fish")


def test_what_protects_the_fish_is_not_put_off_for_long() -> None:
    talk = Talk()
    for hours, text in ((0, BATCH), (14, "pulled"), (0.25, "on the racks"), (3, "tacky, in the smoke now")):
        talk.wait(hours=hours).say(text)
    while "Read the core" not in talk.said[-1].text:
        talk.ring()
    at = talk.now
    talk.say("snooze 3 hours")
    assert "protects the fish" in talk.said[-1].text
    while "Read the core" not in talk.said[-1].text:
        talk.ring()
    assert talk.now - at <= timedelta(minutes=15)


# Buttons whose time is over.


def test_an_old_button_says_so_kindly_and_changes_nothing() -> None:
    talk = Talk()
    talk.say(BATCH)
    talk.ring()
    talk.say("it's out")
    count = [e.kind for e in talk.batches[1].entries if e.kind == "event"]
    talk.wait(hours=1).press("It's out")
    first, then, *_ = talk.said[-1].text.splitlines()
    assert first == "That button is an old one; nothing is noted."
    assert then.startswith("Next: ")
    assert [e.kind for e in talk.batches[1].entries if e.kind == "event"] == count


@pytest.mark.parametrize("calls", [1, 2, 3])
def test_a_button_counts_for_as_long_as_what_it_says_is_not_told(calls: int) -> None:
    """A call that was made twice is made no more: its button still says that it is done."""
    talk = Talk()
    talk.say(BATCH)
    for _ in range(calls):
        talk.ring()
    talk.wait(minutes=40).press("It's out")
    assert talk.said[-1].text.startswith("Out of the brine at ")


def test_topping_up_counts_each_time_it_is_called_for() -> None:
    talk = Talk()
    for hours, text in ((0, BATCH), (14, "pulled"), (0.25, "on the racks"), (3, "tacky, in the smoke now")):
        talk.wait(hours=hours).say(text)
    for _ in range(2):
        while "Top up wood" not in talk.said[-1].text:
            talk.ring()
        talk.press("Topped up")
        assert talk.said[-1].text.startswith("Fuel topped up")


@pytest.mark.parametrize("text", ["call it a day", "call it done", "call it 140", "call it off", "call it tacky"])
def test_what_is_no_name_names_nothing(text: str) -> None:
    talk = Talk()
    talk.say(BATCH)
    talk.say(text)
    assert talk.batches[1].name == "coho"


def test_a_name_of_ones_own_is_used_from_then_on() -> None:
    talk = Talk()
    talk.say(BATCH)
    talk.say("call it Tom's belly")
    assert talk.say("what's on").text.startswith("Tom's belly: soaking")
