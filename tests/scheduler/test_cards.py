"""The pinned card: one of each key, edited in place, whatever fails or dies on the way."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import insert, text

from scheduler import membership, schema
from scheduler.database import Database
from scheduler.delivery import DeliveryTuning
from scheduler.messenger import ChatMoved, NotAllowed, Refused, RetryAfter, Unsure
from scheduler.runner import Tuning
from scheduler.store import Store
from scheduler.tables import outbox
from scheduler.turn import Message, Outcome
from tests.scheduler.parts import HOUR, MINUTE, T0, Made, arrival, fresh_key


class Killed(BaseException):
    """The process ends here: nothing after it is done."""


def card(words: str, *, over: bool = False, key: str = "batch 1") -> Message:
    return Message(words, pin=key, over=over)


def saying(*messages: Message) -> Made:
    return Made(lambda seen, inbound: Outcome(messages=messages))


async def say(at, *messages: Message, chat: str = "c1") -> None:
    at.made.answers = lambda seen, inbound: Outcome(messages=messages)
    await at.store.take_in([arrival(fresh_key(), chat)])
    await at.runner.settle()


async def queue(at, *messages: Message) -> None:
    """Answer without sending anything."""
    await at.store.take_in([arrival(fresh_key())])
    (item,) = await at.store.next_inbound(T0)
    await at.store.commit(Outcome(messages=messages), item, await at.store.snapshot("c1", T0), T0)


async def die_and_come_back(at) -> None:
    with pytest.raises(Killed):
        await at.runner.settle()
    await at.store._db.write(membership.free, [at.store.worker])
    await at.runner.settle()


async def test_a_card_is_sent_once_pinned_once_and_then_edited(desk):
    at = desk()
    for words in ("soaking", "drying", "smoking"):
        await say(at, Message("said"), card(words))
    [sent] = [o for o in at.out.outs if o.message.pin]
    assert sent.message.text == "soaking"
    assert [o.message.text for o in at.out.edits] == ["drying", "smoking"]
    assert at.out.pins == [f"+c1:m{sent.id}"]
    assert [m.text for m in (await at.store.snapshot("c1", T0)).recent] == ["said"] * 3


async def test_a_card_that_says_nothing_new_is_left_out(desk):
    at = desk()
    for _ in range(3):
        await say(at, card("soaking"))
    assert (at.out.texts, at.out.edits) == (["soaking"], [])


async def test_of_many_changes_only_the_newest_is_sent_and_words_go_first(desk):
    at = desk()
    await say(at, card("soaking"))
    for words in ("drying", "smoking", "cooling"):
        await queue(at, card(words), Message(f"now {words}"))
    await at.runner.settle()
    assert at.out.texts == ["soaking", "now drying", "now smoking", "now cooling"]
    assert [o.message.text for o in at.out.edits] == ["cooling"]
    assert (await at.store.counts()).queued == 0


async def test_a_card_keeps_to_the_chats_rate(desk):
    from scheduler.pacing import Pacing, Rate

    pacing = Pacing(chat=lambda chat: Rate(every_s=10, burst=1))
    at = desk(tuning=Tuning(delivery=DeliveryTuning(pacing=pacing)))
    await say(at, card("soaking"))
    await queue(at, card("drying"))
    await at.runner.settle()
    assert at.out.edits == []
    await at.runner.advance_to(T0 + MINUTE)
    assert [o.message.text for o in at.out.edits] == ["drying"]


async def test_cards_of_two_batches_stand_side_by_side(desk):
    at = desk()
    await say(at, card("coho"), card("trout", key="batch 2"))
    await say(at, card("coho dry"), card("trout dry", key="batch 2"))
    assert len(at.out.pins) == 2
    assert {(o.message.text, o.replaces) for o in at.out.edits} == {
        (f"{o.message.text} dry", f"m{o.id}") for o in at.out.outs
    }


async def test_killed_after_sending_the_card_it_is_never_pinned_twice(desk):
    """Sent, and the process is gone before that could be noted."""
    at = desk()
    real = at.out.send

    async def dies(out):
        await real(out)
        at.out.send = real
        raise Killed

    at.out.send = dies
    await queue(at, card("soaking"))
    await die_and_come_back(at)
    await say(at, card("drying"))
    assert at.out.texts == ["soaking", "soaking"]
    assert len(at.out.pins) == 1
    assert len(at.out.edits) == 1


@pytest.mark.parametrize("pinned", [False, True], ids=["before the pin", "after it"])
async def test_killed_around_the_pin_the_card_is_neither_sent_nor_pinned_again(desk, pinned):
    at = desk()
    real = at.out.pin

    async def dies(chat, message):
        at.out.pin = real
        if pinned:
            await real(chat, message)
        raise Killed

    at.out.pin = dies
    await queue(at, card("soaking"))
    await die_and_come_back(at)
    assert at.out.texts == ["soaking"]
    assert set(at.out.pins) == {f"+c1:m{at.out.outs[0].id}"}


async def test_a_card_that_is_gone_is_made_anew_and_the_old_pin_goes_first(desk):
    at = desk()
    await say(at, card("soaking"))
    at.out.fails["edit drying"] = [Refused("message to edit not found")]
    await say(at, card("drying"))
    await say(at, card("smoking"))
    old, new = [o.id for o in at.out.outs]
    assert at.out.pins == [f"+c1:m{old}", f"-c1:m{old}", f"+c1:m{new}"]
    assert [(o.message.text, o.replaces) for o in at.out.edits] == [("drying", f"m{old}"), ("smoking", f"m{new}")]


@pytest.mark.parametrize("error", [RetryAfter(30), Unsure("no answer"), OSError("down")])
async def test_trouble_with_the_pin_is_waited_out(desk, error):
    at = desk()
    at.out.fails["pin"] = [error] * 3
    await say(at, card("soaking"))
    assert at.out.pins == []
    await at.runner.advance_to(T0 + HOUR)
    assert at.out.texts == ["soaking"]
    assert len(at.out.pins) == 1


async def test_where_nothing_may_be_pinned_that_is_said_once(desk):
    line = Message("I may not pin here.")
    at = desk(tuning=Tuning(delivery=DeliveryTuning(not_pinned=line)))
    at.out.fails["pin"] = [NotAllowed("not enough rights")] * 3
    await say(at, card("soaking"))
    await say(at, card("drying"))
    await say(at, card("trout", key="batch 2"))
    assert at.out.texts == ["soaking", "I may not pin here.", "trout"]
    assert [o.message.text for o in at.out.edits] == ["drying"]
    await say(at, card("smoking"))  # somebody made the bot an administrator
    assert len(at.out.pins) == 1


async def test_a_card_that_is_over_is_unpinned_and_comes_back_where_that_was_wrong(desk):
    at = desk()
    await say(at, card("cooling"))
    shown = f"c1:m{at.out.outs[0].id}"
    await say(at, card("packed", over=True))
    await say(at, card("packed", over=True))
    assert at.out.pins == [f"+{shown}", f"-{shown}"]
    await say(at, card("cooling"))
    assert at.out.pins == [f"+{shown}", f"-{shown}", f"+{shown}"]
    assert at.out.texts == ["cooling"]


async def test_what_is_over_before_it_was_shown_is_never_shown(desk):
    at = desk()
    await say(at, card("packed", over=True))
    await queue(at, card("coho", key="batch 2"))
    await queue(at, card("gone", key="batch 2", over=True))
    await at.runner.settle()
    assert (at.out.outs, at.out.edits) == ([], [])
    assert (await at.store.counts()).queued == 0


async def test_a_forgotten_chat_has_its_cards_taken_down_and_nothing_left(desk):
    at = desk()
    await say(at, card("soaking"), card("trout", key="batch 2"))
    at.made.answers = lambda seen, inbound: Outcome(
        forget=True, messages=(Message("all deleted"), card("deleted", over=True))
    )
    await at.store.take_in([arrival(fresh_key())])
    await at.runner.settle()
    assert at.out.texts[-1] == "all deleted"
    assert [o.message.text for o in at.out.edits] == ["deleted"]
    assert at.out.pins[2:] == [f"-c1:m{at.out.outs[0].id}"]
    left = await at.store.look(
        lambda c: [c.execute(text(f"SELECT count(*) FROM {name}")).scalar_one() for name in ("cards", "outbox")]
    )
    assert left == [0, 0]


async def test_in_a_chat_that_moved_the_card_is_made_anew(desk):
    at = desk()
    await say(at, card("soaking"))
    at.out.fails["hello"] = [ChatMoved("c9")]
    await say(at, Message("hello"))
    await say(at, card("soaking"), chat="c9")
    assert [(chat, words) for _, chat, words in at.out.sent] == [("c1", "soaking"), ("c9", "hello"), ("c9", "soaking")]
    assert at.out.edits == []


async def test_a_card_that_an_older_process_sent_is_edited_all_the_same(desk):
    """It knows no cards: it sends the row, pins it and notes the message in the outbox alone."""
    at = desk()
    await queue(at, card("soaking"))

    def send_as_before(c):
        c.execute(outbox.update().values(state="sent", messenger_id="m77", sent_at=T0))

    await at.store._db.write(send_as_before)
    await say(at, card("drying"))
    assert at.out.outs == []
    assert [(o.message.text, o.replaces) for o in at.out.edits] == [("drying", "m77")]
    assert at.out.pins == ["+c1:m77"]


async def test_a_database_of_the_version_before_is_brought_up_to_date_with_all_in_it(empty_url):
    database = Database(empty_url)
    database.write_now(schema.upgrade, "0001")
    row = {"chat": "c1", "created_at": T0, "text": "hello", "buttons": [], "facts": [], "files": []}
    row |= {"urgent": False, "silent": False, "pin": None, "fleeting": False}
    database.write_now(lambda c: c.execute(insert(outbox), [row]))
    database.close()
    store = await Store.open(empty_url)
    assert await store.outcomes("c1") == ["queued"]
    assert await store.look(lambda c: c.execute(text("SELECT count(*) FROM cards")).scalar_one()) == 0
    await store.close()


async def test_a_card_in_the_way_of_a_flood_holds_up_no_words_of_others(desk):
    at = desk()
    at.out.fails["soaking"] = [RetryAfter(30)]
    await say(at, card("soaking"))
    await say(at, Message("hello"), chat="c2")
    assert at.out.texts == ["hello"]
    await at.runner.advance_to(T0 + timedelta(seconds=31))
    assert at.out.texts == ["hello", "soaking"]
