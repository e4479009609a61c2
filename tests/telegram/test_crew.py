"""Two people in a group with the real conversation, over HTTP on loopback: card, calls, hand-over, deletion.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import text

from bot.conversation import Conversation
from bot.doors.answering import answering
from bot.messengers.album import Album
from planner.entries import Kind
from tests.telegram.harness import Ahead, Lines, answers, open_store, picture, running
from tests.telegram.standin import StandIn
from tests.telegram.world import Note, Room

BATCH = "@helper_bot 4 lb coho fillets 1 inch thick skin on, 10 % brine, in the brine now"


def conversation() -> Conversation:
    return Conversation(cards=True)


def friday() -> Ahead:
    """A Friday afternoon."""
    return Ahead(datetime(2026, 9, 11, 17, 40, tzinfo=UTC))


def card_of(telegram: StandIn, crew: Room) -> Note:
    [number] = crew.pinned
    return telegram.world.notes[crew.id, number]


async def test_the_card_of_a_batch_is_pinned_once_and_edited_through_a_restart(
    telegram: StandIn, tmp_path: Path
) -> None:
    world, ana = telegram.world, telegram.world.person("Ana")
    crew = world.group("The crew", privacy=True)
    async with running(telegram, conversation(), tmp_path):
        world.says(ana, BATCH, crew)
        await world.until(lambda: crew.pinned)
        card = card_of(telegram, crew)
        assert card.text.startswith("Coho: soaking since ")
    async with running(telegram, conversation(), tmp_path):
        world.says(ana, "@helper_bot it's out of the brine", crew)
        await world.until(lambda: card.text.startswith("Coho: waiting to"))
        world.says(ana, "@helper_bot on the racks", crew)
        await world.until(lambda: card.text.startswith("Coho: drying"))
        world.removes(card)
        world.says(ana, "@helper_bot in the smoke", crew)
        await world.until(lambda: crew.pinned)
    assert card_of(telegram, crew).text.startswith("Coho: smoking")
    assert len(world.called("pinChatMessage")) == 2
    assert len([n for n in world.said(crew) if n.text.startswith("Coho: ")]) == 1


async def test_a_group_in_which_the_bot_may_not_pin_hears_so_once(telegram: StandIn, tmp_path: Path) -> None:
    world, ana = telegram.world, telegram.world.person("Ana")
    crew = world.group("The crew", can_pin=False)
    async with running(telegram, conversation(), tmp_path):
        for words in (BATCH, "out of the brine", "on the racks", "another batch: 2 kg trout fillets, brining tonight"):
            world.says(ana, words, crew)
        await world.until(lambda: any(n.text.startswith("Trout: ") for n in world.said(crew)))
        await world.until(lambda: any(n.text.startswith("Coho: drying") for n in world.said(crew)))
    said = [n.text for n in world.said(crew)]
    assert said.count(Lines().card_not_pinned()) == 1


async def test_a_call_is_taken_and_then_mentions_that_person_alone(telegram: StandIn, tmp_path: Path) -> None:
    world, ana, ben = telegram.world, telegram.world.person("Ana"), telegram.world.person("Ben")
    crew = world.group("The crew", privacy=True)
    clock = friday()
    async with running(telegram, conversation(), tmp_path, clock=clock) as store:
        world.says(ana, BATCH, crew)
        plan = (await answers(telegram, crew))[0]
        world.says(ben, "fridge 36 F", crew, reply_to=plan)
        await world.until(lambda: "fridge 36 °F" in world.said(crew)[-1].text)
        clock.forward(store, hours=15, minutes=30)
        ring = await world.until(lambda: _said(telegram, crew, "Pull the fish"))
        query = world.presses(ben, ring, "I've got it")
        await world.until(lambda: ring.labels == ["✓ I've got it · Ben"] and world.queries[query] is not None)
        card = card_of(telegram, crew)
        await world.until(lambda: "Ben has it." in card.text)
        clock.forward(store, minutes=31)
        again = await world.until(lambda: _said(telegram, crew, "Ben, again: Pull the fish"))
        file = await store.batch(str(crew.id), 1)
    assert file is not None
    assert _mentioned(telegram, again) == [(0, 3, ben.id)]
    assert [(e.who, e.data["by"]) for e in file.entries if e.kind is Kind.ANSWERED] == [("Ben", str(ben.id))]


async def test_a_hand_over_mentions_who_is_on(telegram: StandIn, tmp_path: Path) -> None:
    world, ana, ben = telegram.world, telegram.world.person("Ana"), telegram.world.person("Ben")
    crew = world.group("The crew", privacy=True)
    clock = friday()
    async with running(telegram, conversation(), tmp_path, clock=clock) as store:
        world.says(ana, BATCH, crew)
        await world.until(lambda: crew.pinned)
        world.says(ben, "@helper_bot what's on", crew)
        world.says(ana, "@helper_bot Ben takes over till tomorrow noon", crew)
        card = card_of(telegram, crew)
        await world.until(lambda: "Ben is on till" in card.text)
        clock.forward(store, hours=15, minutes=30)
        call = await world.until(lambda: _said(telegram, crew, "Pull the fish"))
        clock.forward(store, hours=4)
        await world.until(lambda: _said(telegram, crew, "Ben's watch is over. Back with Ana."))
        await world.until(lambda: "Ben is on till" not in card.text)
    assert _mentioned(telegram, call) == [(0, 3, ben.id)]


def _said(telegram: StandIn, crew: Room, words: str) -> Note | None:
    return next((note for note in telegram.world.said(crew) if words in note.text), None)


def _mentioned(telegram: StandIn, note: Note) -> list[tuple[int, int, int]]:
    [call] = [c for c in telegram.world.called("sendMessage") if c.params["text"] == note.text]
    found = [e for e in call.params.get("entities", []) if e["type"] == "text_mention"]
    return [(e["offset"], e["length"], e["user"]["id"]) for e in found]


async def test_chatter_is_let_be_and_words_to_the_bot_are_not(telegram: StandIn, tmp_path: Path) -> None:
    world, ana = telegram.world, telegram.world.person("Ana")
    crew = world.group("The crew")  # privacy mode off: the bot hears everything
    async with running(telegram, conversation(), tmp_path) as store:
        for words in ("did you see the game", "dinner at 8?", "lol"):
            world.says(ana, words, crew)
        world.says(ana, "@helper_bot hello", crew)
        [note] = await answers(telegram, crew)
        inboxed = await store.look(_bodies)
    assert note.text.startswith("Hello.")
    assert inboxed == 0


async def test_everything_of_a_group_is_deleted_with_its_photos_and_its_card(
    telegram: StandIn, tmp_path: Path
) -> None:
    world, ana = telegram.world, telegram.world.person("Ana")
    crew = world.group("The crew")
    talk = answering(tmp_path, cards=True)
    async with running(telegram, talk, tmp_path):
        world.says(ana, BATCH, crew)
        await world.until(lambda: crew.pinned)
        card = card_of(telegram, crew)
        world.shows(ana, picture(), caption="fridge 36 F", room=crew)
        await world.until(lambda: "fridge 36 °F" in world.said(crew)[-1].text)
        world.says(ana, "record", crew)
        await world.until(lambda: any("document" in n.body for n in world.said(crew)))
        assert _files(tmp_path) == [".jpg", ".pdf"]
        world.says(ana, "@helper_bot export everything", crew)
        await world.until(lambda: any(_file_name(n).endswith(".zip") for n in world.said(crew)))
        world.says(ana, "@helper_bot delete everything", crew)
        asked = await world.until(lambda: next((n for n in world.said(crew) if "No" in n.labels), None))
        world.presses(ana, asked, "Yes, delete everything")
        await world.until(lambda: not crew.pinned)
        await world.until(lambda: not _files(tmp_path))
    store = await open_store(tmp_path)
    left = await store.look(_what_is_left)
    await store.close()
    album = Album(tmp_path)
    album.keep(str(crew.id), "left by a process that died", picture())
    async with running(telegram, talk, tmp_path):
        await world.until(lambda: not _files(tmp_path))
    assert card.text == "This batch was deleted."
    assert left == {"chats": 1, "entries": 0, "batches": 0, "reminders": 0, "outbox": 0, "cards": 0}


def _file_name(note: Note) -> str:
    return str(note.body.get("document", {}).get("file_name", ""))


def _files(folder: Path) -> list[str]:
    return sorted(path.suffix for path in folder.rglob("*") if path.suffix in (".jpg", ".pdf", ".png", ".zip"))


def _bodies(c):
    return c.execute(text("SELECT count(*) FROM inbox WHERE body <> 'null'")).scalar_one()


def _what_is_left(c):
    names = ("chats", "entries", "batches", "reminders", "outbox", "cards")
    return {name: c.execute(text(f"SELECT count(*) FROM {name}")).scalar_one() for name in names}
