"""Who is let in, over HTTP; and the webhook, which is a door of its own."""

from __future__ import annotations

import asyncio
import json
import socket
import sqlite3
from pathlib import Path
from typing import Any

import httpx
import pytest

from bot.complaints import WrongCall
from bot.doorkeeper import TRIES
from bot.messengers import patience
from bot.messengers.webhook import BODY_LIMIT, SECRET_HEADER, WebhookSettings
from tests.telegram import faults
from tests.telegram.harness import INVITE, Lines, answers, failure, picture, running
from tests.telegram.parrot import Parrot
from tests.telegram.standin import StandIn
from tests.telegram.world import Person

SECRET = "letters_digits-and-dashes"


def traces(folder: Path, *words: str) -> list[str]:
    """Which of these words stand anywhere under the folder: in the database, its log, any file."""
    with sqlite3.connect(folder / "test.sqlite3") as database:
        kept = "\n".join(database.iterdump()).encode()
    kept += b"".join(path.read_bytes() for path in folder.rglob("*") if path.is_file())
    return [word for word in words if word.encode() in kept]


async def test_a_stranger_gets_one_line_and_leaves_no_trace(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    stranger = world.person("Stranger-Danger")
    async with running(telegram, parrot := Parrot(), tmp_path, allowed=frozenset({str(ann.id)})):
        world.says(stranger, "unwelcome words")
        world.shows(stranger, b"unwelcome picture", caption="unwelcome caption")
        world.forges(stranger, world.note(world.rooms[stranger.id], stranger.to_json(), {"text": "x"}), "1:0")
        [line] = await answers(telegram, stranger)
        world.says(stranger, "more of them")
        world.says(ann, "hello")
        await answers(telegram, ann)
    assert line.text == Lines().not_served()
    assert len(world.said(stranger)) == 1
    assert [i.text for i in parrot.seen] == ["hello"]
    assert not world.called("getFile")
    assert traces(tmp_path, "hello") == ["hello"]
    assert not traces(tmp_path, "unwelcome", "more of them", "Stranger-Danger", str(stranger.id))


async def test_the_invite_word_lets_a_chat_in_for_good_and_is_not_kept(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    given = {"allowed": frozenset(), "invite": INVITE}
    async with running(telegram, parrot := Parrot(), tmp_path, **given):
        world.says(ann, INVITE.lower())
        await answers(telegram, ann)
        world.says(ann, INVITE)
        await answers(telegram, ann, 2)
    async with running(telegram, parrot, tmp_path, allowed=frozenset(), invite="another word"):
        world.says(ann, "hello")
        await answers(telegram, ann, 3)
    assert [i.text for i in parrot.seen] == ["start", "start", "hello"]
    assert not traces(tmp_path, INVITE, INVITE.lower())


async def test_the_invite_word_behind_a_link_lets_a_chat_in(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    crew = world.group("The crew")
    async with running(telegram, parrot := Parrot(), tmp_path, allowed=frozenset(), invite=INVITE):
        world.says(ann, f"/start {INVITE}")
        world.says(ann, f"/start@helper_bot {INVITE}", crew)
        await answers(telegram, ann)
        await answers(telegram, crew)
    assert {(i.chat, i.text) for i in parrot.seen} == {(str(ann.id), "start"), (str(crew.id), "start")}


async def test_after_wrong_words_the_right_one_is_not_heard(telegram: StandIn, tmp_path: Path) -> None:
    world, ann, bo = telegram.world, telegram.world.person("Ann"), telegram.world.person("Bo")
    async with running(telegram, parrot := Parrot(), tmp_path, allowed=frozenset(), invite=INVITE):
        for number in range(TRIES):
            world.says(ann, f"guess {number}")
        world.says(ann, INVITE)
        world.says(bo, INVITE)
        await answers(telegram, bo)
        await answers(telegram, ann)
    assert [i.chat for i in parrot.seen] == [str(bo.id)]
    assert [n.text for n in world.said(ann)] == [Lines().not_served()]


async def test_an_invited_group_that_moves_stays_served(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    listed, invited = world.group("Listed"), world.group("Invited")
    given = {"allowed": frozenset({str(listed.id)}), "invite": INVITE}
    async with running(telegram, Parrot(), tmp_path, **given):
        world.says(ann, INVITE, invited)
        await answers(telegram, invited)
        for group in (listed, invited):
            moved = world.upgrade(group)
            world.says(ann, "hello", moved)
            assert (await answers(telegram, moved))[0].text.endswith("heard hello")


async def test_a_group_that_is_not_served_stays_so_when_it_moves(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    crew = world.group("The crew")
    async with running(telegram, parrot := Parrot(), tmp_path, allowed=frozenset()):
        moved = world.upgrade(crew)
        world.says(ann, "hello", moved)
        await answers(telegram, moved)
    assert parrot.seen == []


async def test_being_blocked_is_noted_for_a_served_chat_only(telegram: StandIn, tmp_path: Path) -> None:
    world, ann, bo = telegram.world, telegram.world.person("Ann"), telegram.world.person("Bo")
    async with running(telegram, Parrot(), tmp_path, allowed=frozenset({str(ann.id)})):
        world.says(ann, "hello")
        await answers(telegram, ann)
        for who in (ann, bo):
            world.push(world.member_change(who.id, "kicked"))
        await world.until(lambda: not world.pending)
    with sqlite3.connect(tmp_path / "test.sqlite3") as database:
        gone = database.execute("select id from chats where gone_at is not null").fetchall()
    assert gone == [(str(ann.id),)]
    assert not traces(tmp_path, str(bo.id))


async def test_a_chat_that_is_forgotten_leaves_neither_words_nor_pictures(telegram: StandIn, tmp_path: Path) -> None:
    world, ann, bo = telegram.world, telegram.world.person("Ann-Nomen"), telegram.world.person("Bo-Nomen")
    crew = world.group("The crew")
    given = {"allowed": frozenset({str(bo.id)}), "invite": INVITE}
    async with running(telegram, parrot := Parrot(), tmp_path, **given):
        world.says(ann, INVITE, crew)
        await answers(telegram, crew)
        world.shows(ann, picture("blue"), "caption of hers", crew)
        world.shows(bo, picture("red"), "caption of his")
        await answers(telegram, crew, 2)
        await answers(telegram, bo)
        moved = world.upgrade(crew)
        world.shows(ann, picture("green"), "another of hers", moved)
        await answers(telegram, moved)
        pictures = [tmp_path / i.photo.path for i in parrot.seen if i.photo]
        assert len(pictures) == 3
        assert all(path.is_file() for path in pictures)
        world.says(ann, "forget us", moved)
        assert [n.text for n in await answers(telegram, moved, 2)] == ["kept another of hers", "forgotten"]
        await world.until(lambda: sum(path.is_file() for path in pictures) == 1)
        world.says(ann, "hello again", moved)
        assert (await answers(telegram, moved, 3))[-1].text == Lines().not_served()
    his = [i.photo.path for i in parrot.seen if i.photo and i.chat == str(bo.id)]
    assert (tmp_path / his[0]).is_file()
    with sqlite3.connect(tmp_path / "test.sqlite3") as database:
        kept = "\n".join(database.iterdump())
    assert "of hers" not in kept
    assert "Ann-Nomen" not in kept


# -- webhook


@pytest.fixture
def webhook() -> WebhookSettings:
    """A webhook on a free port of this machine."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    return WebhookSettings(f"http://127.0.0.1:{port}/in", SECRET, "127.0.0.1", port)


async def hooked(telegram: StandIn) -> None:
    await telegram.world.until(lambda: telegram.webhook)


async def test_text_press_and_picture_come_by_webhook(
    telegram: StandIn, tmp_path: Path, webhook: WebhookSettings
) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with running(telegram, parrot := Parrot(), tmp_path, webhook=webhook):
        world.says(ann, "hello")
        [note] = await answers(telegram, ann)
        world.presses(ann, note, "Done")
        world.shows(ann, picture(), caption="tacky")
        said = await answers(telegram, ann, 3)
    assert [n.text for n in said] == ["1: heard hello", "pressed Done {'do': 'done'}", "kept tacky"]
    assert (tmp_path / parrot.seen[2].photo.path).is_file()  # type: ignore[union-attr]
    assert not world.called("getUpdates")


async def test_what_came_while_the_bot_was_down_is_answered_afterwards(
    telegram: StandIn, tmp_path: Path, webhook: WebhookSettings
) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with running(telegram, Parrot(), tmp_path, webhook=webhook):
        await hooked(telegram)
    world.says(ann, "anybody there?")
    async with running(telegram, Parrot(), tmp_path, webhook=webhook):
        [note] = await answers(telegram, ann)
    assert note.text == "1: heard anybody there?"


async def test_the_same_call_twice_counts_once(telegram: StandIn, tmp_path: Path, webhook: WebhookSettings) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with running(telegram, parrot := Parrot(), tmp_path, webhook=webhook):
        world.says(ann, "first")
        await world.until(lambda: world.served)
        world.again(world.served[0])
        world.says(ann, "second")
        await answers(telegram, ann, 2)
    assert [i.text for i in parrot.seen] == ["first", "second"]


async def test_a_call_without_the_secret_is_refused(
    telegram: StandIn, tmp_path: Path, webhook: WebhookSettings
) -> None:
    ann = telegram.world.person("Ann")
    async with running(telegram, parrot := Parrot(), tmp_path, webhook=webhook):
        await hooked(telegram)
        assert (await call(webhook, update_of(ann, "let me in"), {})).status_code == 403
        for shown in ("", "wrong", SECRET[:-1], SECRET + "x", SECRET.upper(), "ö"):
            refused = await call(webhook, update_of(ann, "let me in"), {SECRET_HEADER: shown.encode()})
            assert (shown, refused.status_code) == (shown, 403)
        assert (await call(webhook, update_of(ann, "hello"))).status_code == 200
        await answers(telegram, ann)
    assert [i.text for i in parrot.seen] == ["hello"]


async def test_odd_calls_are_refused_and_hold_up_nothing(
    telegram: StandIn, tmp_path: Path, webhook: WebhookSettings
) -> None:
    ann = telegram.world.person("Ann")
    async with running(telegram, Parrot(), tmp_path, webhook=webhook):
        await hooked(telegram)
        for content in (b"", b"no JSON", b"[]", b'"text"', b"{}", b'{"update_id": "one"}', b"\xff\xfe"):
            assert (await call(webhook, content)).status_code == 400
        with pytest.raises(httpx.HTTPError):
            await call(webhook, b"x" * (BODY_LIMIT + 1))
        # What has a number and cannot be read is taken, or Telegram would bring it again for ever.
        assert (await call(webhook, b'{"update_id": 5, "message": {"x": 1}}')).status_code == 200
        async with httpx.AsyncClient() as client:
            elsewhere = webhook.url.removesuffix("/in") + "/out"
            assert (await client.post(elsewhere, headers={SECRET_HEADER: SECRET})).status_code == 404
            assert (await client.get(webhook.url, headers={SECRET_HEADER: SECRET})).status_code == 405
        assert (await call(webhook, update_of(ann, "hello"))).status_code == 200
        await answers(telegram, ann)


async def test_a_webhook_is_taken_away_for_polling(telegram: StandIn, tmp_path: Path, webhook: WebhookSettings) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with running(telegram, Parrot(), tmp_path, webhook=webhook):
        await hooked(telegram)
    world.says(ann, "hello")
    async with running(telegram, Parrot(), tmp_path):
        [note] = await answers(telegram, ann)
    assert note.text == "1: heard hello"


async def test_setting_the_webhook_is_tried_again(
    telegram: StandIn, tmp_path: Path, webhook: WebhookSettings, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(patience, "pause_s", lambda *_: 0.01)
    telegram.fault("setWebhook", faults.broken(502), faults.cut())
    async with running(telegram, Parrot(), tmp_path, webhook=webhook):
        await hooked(telegram)


async def test_a_port_in_use_and_a_refused_address_are_one_line(
    telegram: StandIn, tmp_path: Path, webhook: WebhookSettings
) -> None:
    telegram.fault("setWebhook", faults.refused(400, "Bad Request: bad webhook: HTTPS url must be provided"))
    assert "https url must be provided" in await failure(telegram, tmp_path, webhook=webhook)
    with socket.socket() as taken:
        taken.bind((webhook.host, webhook.port))
        taken.listen()
        assert f"cannot listen on 127.0.0.1:{webhook.port}" in await failure(telegram, tmp_path, webhook=webhook)


@pytest.mark.parametrize(("url", "secret"), [("https://a.example/in", ""), ("https://a.example/in", "ö"), ("in", "s")])
def test_a_webhook_that_telegram_would_not_take_is_a_wrong_call(url: str, secret: str) -> None:
    with pytest.raises(WrongCall):
        WebhookSettings(url, secret)


def test_secrets_do_not_show_in_settings() -> None:
    assert SECRET not in repr(WebhookSettings("https://a.example/in", SECRET))


async def test_a_database_in_trouble_makes_telegram_bring_it_again(
    telegram: StandIn, tmp_path: Path, webhook: WebhookSettings
) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with running(telegram, Parrot(), tmp_path, webhook=webhook) as store:
        await hooked(telegram)
        take_in, failing = store.take_in, asyncio.Event()

        async def broken(*_: Any) -> int:
            failing.set()
            raise OSError("disk full")

        store.take_in = broken  # type: ignore[method-assign]
        world.says(ann, "hello")
        await failing.wait()
        store.take_in = take_in  # type: ignore[method-assign]
        [note] = await answers(telegram, ann)
    assert note.text == "1: heard hello"


async def call(webhook: WebhookSettings, content: bytes, headers: dict[str, Any] | None = None) -> httpx.Response:
    """A call such as Telegram makes."""
    shown = {SECRET_HEADER: SECRET} if headers is None else headers
    async with httpx.AsyncClient(trust_env=False) as client:
        return await client.post(webhook.url, content=content, headers=shown)


_numbers = iter(range(1, 10_000))


def update_of(who: Person, text: str) -> bytes:
    """An update as the wire carries it."""
    number = next(_numbers)
    room = {"id": who.id, "type": "private", "first_name": who.first_name}
    message = {"message_id": number, "date": 1_772_800_000, "chat": room, "from": who.to_json(), "text": text}
    return json.dumps({"update_id": number, "message": message}).encode()
