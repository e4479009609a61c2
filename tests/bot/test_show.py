"""Asking for pictures and papers in a person's own words."""

from __future__ import annotations

import pytest

from bot.replies.asked_to_show import ANY, Wish, part_wish, wish_of
from scheduler.turn import Inbound, Photo
from tests.bot.talk import Talk


@pytest.mark.parametrize(
    ("said", "what"),
    [
        ("show the plan", "plan"),
        ("Show me the plan please.", "plan"),
        ("picture of the cook", "cook"),
        ("can you draw the cook", "cook"),
        ("show the core", "cook"),
        ("show the salt", "soak"),
        ("show me the drying", "dry"),
        ("show me how it's drying", "dry"),
        ("show the cooling", "cool"),
        ("timeline", "plan"),
        ("chart", ANY),
        ("show it", ANY),
        ("show me how it is doing", ANY),
        ("send me a picture", ANY),
        ("card", "card"),
        ("can i have the card?", "card"),
        ("/card", "card"),
        ("send me the record", "record"),
        ("pdf", "record"),
        ("record as a pdf", "record"),
        ("csv", "table"),
        ("export the record as csv", "table"),
        ("spreadsheet", "table"),
        ("json", "journal"),
        ("calendar", "calendar"),
        ("send the calendar", "calendar"),
        ("labels", "labels"),
    ],
)
def test_words_that_ask_to_be_shown(said: str, what: str) -> None:
    assert wish_of(said) == Wish(what)


@pytest.mark.parametrize(
    ("said", "count", "of"),
    [
        ("12 labels for the belly", 12, "belly"),
        ("a dozen labels", 12, None),
        ("two dozen labels for the coho", 24, "coho"),
        ("print 8 labels", 8, None),
        ("one label", 1, None),
        ("make 10 labels for the small ones", 10, "small ones"),
        ("0 labels", 0, None),
    ],
)
def test_how_many_labels_of_what(said: str, count: int, of: str | None) -> None:
    assert wish_of(said) == Wish("labels", count, of)


@pytest.mark.parametrize(
    "said",
    [
        "the plan", "salt", "smoke", "dry", "cool", "in the smoke", "it's in", "it", "get it", "send it", "report",
        "table salt", "core 150", "show the log", "show the readings", "how is it drying", "photo", "start", "",
        "weight 2 kg", "cure 5 %", "x" * 5000,
    ],
)  # fmt: skip
def test_words_that_mean_something_else(said: str) -> None:
    assert wish_of(said) is None


def test_a_wish_at_the_end_of_a_message() -> None:
    rest, wish = part_wish("core 128 F, show me the cook")
    assert rest == "core 128 F"
    assert wish is not None
    assert dict(wish.slots) == {"show": "cook"}


def test_long_runs_of_words_are_told_at_once() -> None:
    """A pattern that tried all ways through them would not come back."""
    words = ("please " * 17, "show " * 24, "label for " + "a " * 55 + "!", "a " * 60, "the picture of " * 8)
    assert [wish_of(text) for text in words] == [None] * len(words)


@pytest.fixture
def talk() -> Talk:
    """A batch in the brine."""
    talk = Talk()
    talk.say("4 lb coho fillets, 1 inch, skin on")
    talk.say("in the brine now")
    return talk


def files(talk: Talk, said: str) -> tuple[str, ...]:
    message = talk.say(said)
    assert message is not None
    return message.files


def test_the_first_plan_can_be_shown_by_a_button() -> None:
    talk = Talk()
    message = talk.say("4 lb coho fillets, 1 inch, skin on")
    assert message is not None
    assert [b.label for b in message.buttons][:3] == ["It's in", "Show it", "Why?"]
    shown = talk.press("Show it")
    assert shown is not None
    assert shown.files == ("picture:plan:1",)


def test_a_picture_that_nobody_named_suits_the_stage(talk: Talk) -> None:
    assert files(talk, "chart") == ("picture:soak:1",)
    talk.wait(hours=11).say("out of the brine")
    talk.say("on the racks")
    assert files(talk, "chart") == ("picture:dry:1",)
    talk.wait(hours=3).say("in the smoke, chamber 190 F")
    assert files(talk, "chart") == ("picture:cook:1",)


def test_what_cannot_be_shown_yet_is_said(talk: Talk) -> None:
    message = talk.say("show me the cook")
    assert message is not None
    assert message.files == ()
    assert message.text.startswith("Nothing of the smoke to show yet: it is soaking.")
    assert files(talk, "12 labels") == ()


def test_asking_for_labels_changes_nothing_of_the_batch(talk: Talk) -> None:
    before = talk.batches[1].entries
    talk.say("12 labels for the belly")
    added = talk.batches[1].entries[len(before) :]
    assert {str(entry.kind) for entry in added} <= {"message"}


def test_another_fish_is_not_taken_for_this_one(talk: Talk) -> None:
    message = talk.say("12 labels for the trout")
    assert message is not None
    assert message.files == ()
    assert message.text == 'Which batch is "trout"? Running: coho.'
    assert files(talk, "show the plan for the coho") == ("picture:plan:1",)
    assert files(talk, "show the plan for the belly") == ("picture:plan:1",)  # one batch: it can only be that


def test_words_under_a_picture_are_its_caption(talk: Talk) -> None:
    inbound = Inbound("p", "c1", "ida", talk.now, "before the rinse", photo=Photo("photos/1.jpg"))
    outcome = talk.conversation.answer(talk.snapshot(), inbound)
    assert [message.text for message in outcome.messages] == ["Picture kept with the batch."]
    (kept, _) = outcome.entries[1]
    assert (kept.data["photo"], kept.words) == ("photos/1.jpg", "before the rinse")


def test_a_lot_gets_its_own_labels() -> None:
    talk = Talk(units="metric")
    talk.say("sockeye, 2 small ones 15 mm 300 g each and 3 large ones 30 mm 700 g each, skin on")
    talk.say("in the smoke, chamber 90 C")
    talk.wait(hours=4)
    talk.say("they're out")
    talk.press("Out anyway")
    assert files(talk, "6 labels for the small ones") == ("labels:1:6:small",)
    assert files(talk, "12 labels") == ("labels:1:12",)
    assert files(talk, "labels") == ("label:1",)
    assert files(talk, "labels for the sockeye") == ("label:1",)


@pytest.mark.parametrize("said", ["0 labels", "501 labels", "999999 labels"])
def test_a_count_that_cannot_be(talk: Talk, said: str) -> None:
    talk.wait(hours=12).say("in the smoke")
    talk.wait(hours=4).say("they're out")
    talk.press("Out anyway")
    assert files(talk, said) == ()


@pytest.mark.parametrize(
    ("said", "file"),
    [
        ("send me the record", "record:1"),
        ("csv", "table:1"),
        ("json", "journal:1"),
        ("calendar", "calendar:1"),
        ("is there a batch sheet i could print", "record:1"),
    ],
)
def test_papers(talk: Talk, said: str, file: str) -> None:
    assert files(talk, said) == (file,)


def test_a_reading_and_a_wish_in_one_message(talk: Talk) -> None:
    talk.wait(hours=12).say("in the smoke, chamber 190 F")
    message = talk.wait(hours=1).say("core 128 F, show me the cook")
    assert message is not None
    assert message.text.startswith("Not yet: core 128 °F.")
    assert message.files == ("picture:cook:1",)


def test_without_a_batch_there_is_nothing_to_show() -> None:
    message = Talk().say("show the plan")
    assert message is not None
    assert message.files == ()
    assert "No batch" in message.text


def test_a_note_is_kept_as_it_was_said(talk: Talk) -> None:
    before = len(talk.batches[1].entries)
    message = talk.say("note: a touch more maple next time")
    assert message is not None
    assert message.text.startswith("Noted")
    added = talk.batches[1].entries[before:]
    assert [entry.words for entry in added if entry.who == "ida"] == ["note: a touch more maple next time"]
    assert {str(entry.kind) for entry in added} == {"message"}
