"""What each kind of update says to the tool.

Update forms: Telegram, "Bot API", 2026, "Getting updates" and "Available types".
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest
from telegram import Update, User

from bot.messengers.updates import AMENDS, Attachment, Incoming, Left, Moved, read
from tests.telegram.world import BOT, World

NOW = datetime(2026, 3, 6, 18, 0, tzinfo=UTC)
SAID_AT = datetime(2026, 3, 6, 14, 30, tzinfo=UTC)
HELPER = User.de_json(dict(BOT))


@pytest.fixture
def world() -> World:
    return World(now=SAID_AT.timestamp)


def heard(world: World) -> Any:
    """The newest update, as the tool reads it."""
    return read(Update.de_json(world.pending[-1]), HELPER, NOW)


def test_a_text(world: World) -> None:
    ann = world.person("Ann")
    world.says(ann, "core 63 °C")
    number = world.pending[-1]["update_id"]
    assert heard(world) == Incoming(
        key=f"{BOT['id']}:{number}",
        chat=str(ann.id),
        chat_kind="private",
        sender=str(ann.id),
        sender_name="Ann",
        at=SAID_AT,
        text="core 63 °C",
        offered="core 63 °C",
        addressed=True,
    )


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("/start", "start"),
        ("/start Kelp-Lantern", "start"),
        ("/help@helper_bot", "help"),
        ("/HELP@Helper_Bot", "HELP"),
        ("/whats_next", "whats next"),
        ("/remind me in 20", "remind me in 20"),
        ("/salt\n2 cups", "salt\n2 cups"),
        ("@helper_bot core 63", "core 63"),
        ("@helper_bot, core 63", "core 63"),
        ("is 63 enough @Helper_bot?", "is 63 enough ?"),
        ("ask ann@helper_bot.example", "ask ann@helper_bot.example"),
        ("1/2 cup per quart", "1/2 cup per quart"),
        ("/", "/"),
    ],
)
def test_commands_and_mentions_become_plain_words(world: World, typed: str, words: str) -> None:
    world.says(world.person("Ann"), typed)
    assert heard(world).text == words


def test_the_word_behind_a_link_is_offered_and_not_said(world: World) -> None:
    world.says(world.person("Ann"), "/start Kelp-Lantern")
    assert (heard(world).text, heard(world).offered) == ("start", "Kelp-Lantern")


def test_a_command_for_another_bot_says_nothing_to_us(world: World) -> None:
    world.says(world.person("Ann"), "/help@other_bot")
    assert heard(world) is None


def test_a_bare_mention_says_nothing(world: World) -> None:
    world.says(world.person("Ann"), "@helper_bot")
    assert heard(world) is None


def test_in_a_group_the_sender_is_named(world: World) -> None:
    ann, crew = world.person("Ann"), world.group("The crew")
    world.says(ann, "rotated", crew)
    got = heard(world)
    assert (got.chat, got.chat_kind, got.sender, got.sender_name) == (
        str(crew.id),
        "group",
        str(ann.id),
        "Ann",
    )


def test_a_group_that_speaks_as_itself_is_heard_and_another_bot_is_not(world: World) -> None:
    crew = world.group("The crew", "supergroup")
    anonymous = {"id": 1_087_968_824, "is_bot": True, "first_name": "Group"}
    note = world.note(crew, anonymous, {"text": "rotated", "sender_chat": crew.to_json()})
    world.push({"message": note.to_json()})
    assert (heard(world).sender, heard(world).sender_name) == (str(crew.id), "The crew")
    world.push({"message": world.note(crew, anonymous, {"text": "beep"}).to_json()})
    assert heard(world) is None


def test_an_edited_message_is_a_correction(world: World) -> None:
    ann = world.person("Ann")
    world.edits(ann, world.says(ann, "core 114"), "core 141")
    assert heard(world).text == f"{AMENDS}core 141"


def test_a_photo_is_its_largest_size_with_its_caption(world: World) -> None:
    world.shows(world.person("Ann"), b"x" * 500, caption="surface tacky")
    got = heard(world)
    assert world.files[got.picture.file_id][1] == b"x" * 500
    assert (got.picture.size, got.text, got.beyond) == (500, "surface tacky", False)


def test_a_picture_sent_as_a_file_is_a_picture_and_another_file_is_beyond_us(world: World) -> None:
    ann = world.person("Ann")
    world.sends_file(ann, "probe.png", "image/png", b"x")
    assert heard(world).picture is not None
    world.sends_file(ann, "recipe.pdf", "application/pdf", b"%PDF")
    assert (heard(world).picture, heard(world).beyond) == (None, True)


def test_a_voice_note_is_beyond_us(world: World) -> None:
    ann = world.person("Ann")
    voice = {"file_id": "f1", "file_unique_id": "u1", "duration": 3}
    world.push({"message": world.note(world.rooms[ann.id], ann.to_json(), {"voice": voice}).to_json()})
    assert heard(world).beyond


def test_a_photo_over_the_limit_is_known_before_it_is_fetched() -> None:
    assert Attachment("f1", 50 * 1024 * 1024).too_large
    assert not Attachment("f1", None).too_large


def test_a_press_carries_its_data_and_the_moment_it_came(world: World) -> None:
    ann = world.person("Ann")
    note = world.note(world.rooms[ann.id], BOT, {"text": "Rotate the racks"})
    note.keyboard = [[{"text": "Done", "callback_data": "17:0"}]]
    world.presses(ann, note, "Done")
    got = heard(world)
    assert (got.data, got.at, got.sender, got.chat) == ("17:0", NOW, str(ann.id), str(ann.id))


def test_a_group_that_moves_and_a_chat_that_shuts_the_bot_out(world: World) -> None:
    ann, crew = world.person("Ann"), world.group("The crew")
    new = world.upgrade(crew)
    [old_side, new_side] = world.pending
    assert read(Update.de_json(old_side), HELPER, NOW) == Moved(str(crew.id), str(new.id))
    assert read(Update.de_json(new_side), HELPER, NOW) is None
    for status, result in (("kicked", Left(str(ann.id))), ("member", None)):
        world.push(world.member_change(ann.id, status))
        assert heard(world) == result


def test_service_messages_and_unknown_kinds_say_nothing(world: World) -> None:
    ann = world.person("Ann")
    room = world.rooms[ann.id]
    world.push({"message": world.note(room, ann.to_json(), {"new_chat_title": "Smoke"}).to_json()})
    assert heard(world) is None
    world.push({"something_new": {"id": 1}})
    assert heard(world) is None


def test_who_speaks_to_the_bot_in_a_group_is_told_from_who_does_not(world: World) -> None:
    ann, crew = world.person("Ann"), world.group("The crew")
    ours = world.note(crew, dict(BOT), {"text": "Read the core."})
    said = [("63", None), ("63", ours), ("@helper_bot 63", None), ("/next", None), ("@other_bot 63", None)]
    spoken_to = []
    for words, reply_to in said:
        world.says(ann, words, crew, reply_to=reply_to)
        incoming = heard(world)
        assert isinstance(incoming, Incoming)
        spoken_to.append(incoming.addressed)
    assert spoken_to == [False, True, True, True, False]
