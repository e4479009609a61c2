"""Several people at one batch: who has a call, who is on till when, and what is none of the tool's business.

Expected behaviour is that of the design: the journal says who; a call that is taken goes to that person
alone until it is done; a hand-over holds until a stated time.
"""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from bot.conversation import Conversation
from planner.entries import Kind
from scheduler.turn import Inbound, Message, Outcome
from tests.bot.talk import Talk

BATCH = "4 lb coho fillets, 1 inch, skin on, 10 % brine, going in the brine now"


def crew() -> Talk:
    """Ana and Ben, with fish in the brine."""
    talk = Talk(conversation=Conversation(cards=True))
    talk.say(BATCH, "Ana")
    talk.say("fridge 36 F", "Ben")
    return talk


def smoking() -> Talk:
    talk = crew()
    for hours, text in ((14, "pulled from the brine"), (0.25, "on the racks"), (3, "tacky, in the smoke now")):
        talk.wait(hours=hours).say(text, "Ana")
    return talk


def said(talk: Talk) -> Message:
    """What was said last that is no card."""
    return [m for m in talk.said if m.pin is None][-1]


def card(talk: Talk) -> str:
    return [m for m in talk.said if m.pin][-1].text


def ring_until(talk: Talk, starts: str) -> Message:
    """Ring until a call says this."""
    for _ in range(40):
        talk.ring()
        if starts in said(talk).text:
            return said(talk)
    raise AssertionError(f"{starts!r} was never called: {said(talk).text}")


def called(message: Message) -> str | None:
    return next((f["for"]["name"] for f in message.facts if f["kind"] == "reminder" and "for" in f), None)


def labels(message: Message) -> list[str]:
    return [button.label for button in message.buttons]


# A call that is taken.


@pytest.mark.parametrize("words", ["I've got it", "got it", "mine", "on it", "I'll do it!", "leave it to me"])
def test_a_call_is_taken_by_word_or_button(words: str) -> None:
    talk = smoking()
    assert "I've got it" in labels(ring_until(talk, "Read the core"))
    talk.say(words, "Ben")
    assert said(talk).text.startswith("Ben has it: read the core.")
    assert "Ben has it." in card(talk)


def test_a_taken_call_names_that_person_until_it_is_done() -> None:
    talk = smoking()
    first = ring_until(talk, "Read the core")
    assert called(first) is None
    talk.press("I've got it", "Ben")
    again = ring_until(talk, "Read the core")
    assert called(again) == "Ben"
    assert again.text.startswith("Ben, again: Read the core")
    assert "I've got it" not in labels(again)
    talk.wait(minutes=1).say("core 140 F", "Ben")
    assert "Ben has it" not in card(talk)
    assert called(ring_until(talk, "Read the core")) is None


def test_what_can_be_left_is_called_once_more_for_who_took_it() -> None:
    talk = crew()
    ring_until(talk, "Pull the fish")
    talk.press("I've got it", "Ana")
    at = talk.now
    again = ring_until(talk, "Pull the fish")
    assert (called(again), talk.now - at) == ("Ana", timedelta(minutes=30))
    keys = {ring.key for ring in talk.rings[1]}
    assert "pull" not in keys  # and then it is left


def test_the_journal_says_who_took_it() -> None:
    talk = smoking()
    ring_until(talk, "Read the core")
    talk.press("I've got it", "Ben")
    [entry] = [e for e in talk.batches[1].entries if e.kind is Kind.ANSWERED]
    assert (entry.who, entry.data["name"]) == ("Ben", "Ben")


def test_alone_nobody_is_named() -> None:
    talk = Talk()
    talk.say(BATCH)
    talk.ring()
    assert labels(said(talk)) == ["It's out", "In 20 min"]
    talk.say("on it")
    assert said(talk).text == "Good."


def test_got_it_without_a_call_takes_nothing() -> None:
    talk = crew()
    talk.say("got it", "Ben")
    assert not [e for e in talk.batches[1].entries if e.kind is Kind.ANSWERED]


# A hand-over.


def test_a_hand_over_holds_till_the_stated_time() -> None:
    talk = smoking()
    talk.say("Ben takes over till 6", "Ana")
    assert said(talk).text.startswith("Ben is on till 6:00 pm.")
    assert card(talk).endswith("Ben is on till Sat 6:00 pm.")
    assert called(ring_until(talk, "Read the core")) == "Ben"
    assert ring_until(talk, "watch is over").text == "Ben's watch is over. Back with Ana."
    assert f"{talk.now:%H:%M}" == "18:00"
    assert "is on till" not in card(talk)
    assert called(ring_until(talk, "Read the core")) is None


def test_a_call_taken_during_a_watch_goes_to_who_took_it() -> None:
    talk = smoking()
    talk.say("Ben takes over till 6", "Ana")
    ring_until(talk, "Read the core")
    talk.press("I've got it", "Ana")
    assert called(ring_until(talk, "Read the core")) == "Ana"


def test_the_journal_says_who_handed_over_to_whom() -> None:
    talk = crew()
    talk.say("I'm off, Ben has it till 7 am", "Ana")
    entry = talk.batches[1].entries[-2]
    assert (entry.who, entry.words) == ("Ana", "I'm off, Ben has it till 7 am")
    assert entry.data["on_duty"] == "Ben"
    assert datetime.fromisoformat(entry.data["until"]).hour == 7


def test_a_watch_can_be_ended_and_its_end_is_then_not_called() -> None:
    talk = crew()
    talk.say("Ben takes over till tomorrow noon", "Ana")
    talk.say("I'm back", "Ana")
    assert said(talk).text == "Ben's watch is over. I call everyone here again."
    assert not any(ring.what == "watch" for ring in talk.rings[None])


@pytest.mark.parametrize("asked", ["who's on?", "who is on", "Who has the watch", "who's on watch now"])
def test_who_is_on_is_told(asked: str) -> None:
    talk = crew()
    talk.say(asked, "Ana")
    assert said(talk).text.startswith("Nobody has taken over")
    talk.say("Ben takes over till 9 am", "Ana")
    talk.say(asked, "Ana")
    assert said(talk).text == "Ben is on till tomorrow 9:00 am."


def test_without_a_time_it_is_asked_for() -> None:
    talk = crew()
    talk.say("Ben takes over", "Ana")
    assert said(talk).text.startswith("Till when?")
    assert "duty" not in talk.chat.memory


def test_somebody_who_never_wrote_here_can_only_be_named() -> None:
    talk = crew()
    talk.say("Cleo takes over till 9", "Ana")
    assert "Cleo has not written here yet" in said(talk).text


def test_a_watch_that_ends_in_quiet_hours_wakes_nobody() -> None:
    talk = crew()
    talk.say("Ben takes over till 2 am", "Ana")
    [over] = [ring for ring in talk.rings[None] if ring.what == "watch"]
    before = len([m for m in talk.said if m.pin is None])
    while talk.now < over.due:
        talk.ring()
    assert not any("watch is over" in m.text for m in talk.said)
    assert "is on till" not in card(talk)
    assert len([m for m in talk.said if m.pin is None]) == before


@pytest.mark.parametrize("text", ["the fan is on till 6", "it's on till 6", "the smoker is on till 8", "core is on"])
def test_things_take_no_watch(text: str) -> None:
    talk = crew()
    talk.say(text, "Ana")
    assert "duty" not in talk.chat.memory


# What is none of the tool's business.


def in_group(talk: Talk, text: str, *, addressed: bool = False) -> Outcome:
    inbound = Inbound("k", "c1", "7", talk.now, text, sender_name="Cy", chat_kind="group", addressed=addressed)
    return talk.conversation.answer(talk.snapshot(), inbound)


CHATTER = (
    "did you see the game", "lol", "dinner at 8?", "Tom, can you bring 2 lb of butter", "see you at 6", "got it",
    "who wants beer", "thanks Ben", "ok", "👍", "hi all", "what a day",
)  # fmt: skip


@pytest.mark.parametrize("text", CHATTER)
def test_chatter_in_a_group_is_not_answered_and_not_kept(text: str) -> None:
    outcome = in_group(crew(), text)
    assert [m.text for m in outcome.messages] == []
    assert outcome.entries == {}


@pytest.mark.parametrize("text", ["hi all", "did you see the game", "thanks"])
def test_who_speaks_to_the_bot_is_answered(text: str) -> None:
    assert in_group(crew(), text, addressed=True).messages


@pytest.mark.parametrize("text", ["core 63 C", "what's on", "when is it ready", "Ana takes over till 6"])
def test_words_of_the_trade_need_no_name_before_them(text: str) -> None:
    assert in_group(crew(), text).messages
