"""When the messenger refuses, fails, goes silent, or the bot dies: nothing lost, nothing rung for long."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
from pathlib import Path

import pytest

from bot.messengers import polling
from bot.messengers.intake import Intake
from bot.messengers.wire import BAD_TOKEN
from scheduler.arrivals import Cursor
from tests.telegram import faults
from tests.telegram.harness import answers, failure, open_store, running
from tests.telegram.parrot import Parrot
from tests.telegram.standin import StandIn
from tests.telegram.world import BOT


@pytest.mark.parametrize(
    "fault",
    [
        faults.flooded(1),
        faults.broken(500),
        faults.broken(502),
        faults.cut(),
        faults.hanging(5.0),
        faults.refused(400, "Bad Request: something of today"),
    ],
    ids=["429", "500", "502", "cut", "time-out", "refused"],
)
async def test_after_trouble_with_sending_the_next_message_goes_out(
    telegram: StandIn, tmp_path: Path, fault: faults.Fault
) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    telegram.fault("sendMessage", fault)
    async with running(telegram, Parrot(), tmp_path, answer_within_s=0.3):
        world.says(ann, "first")
        world.says(ann, "second")
        said = await world.until(lambda: [n for n in world.said(ann) if n.text == "2: heard second"])
        calls = [call.params["text"] for call in world.called("sendMessage")]
    refused = fault.refusal.get("error_code") == 400
    assert calls == ["1: heard first"] * (1 if refused else 2) + ["2: heard second"]
    assert len(said) == 1


@pytest.mark.parametrize("fault", [faults.hanging(5.0, after=True), faults.cut(after=True)], ids=["hang", "cut"])
async def test_a_message_that_was_taken_without_an_answer_is_doubled_at_most_once(
    telegram: StandIn, tmp_path: Path, fault: faults.Fault
) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    telegram.fault("sendMessage", fault, fault)
    async with running(telegram, Parrot(), tmp_path, answer_within_s=0.3):
        world.says(ann, "first")
        world.says(ann, "second")
        said = await answers(telegram, ann, 3)
    assert [n.text for n in said] == ["1: heard first", "1: heard first", "2: heard second"]


async def test_a_long_text_goes_on_where_it_failed(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with running(telegram, Parrot(), tmp_path):
        await world.until(lambda: world.called("getUpdates"))
        telegram.fault("sendMessage", faults.Fault(status=200, body="", after=True), faults.flooded(1))
        world.says(ann, "long")
        said = await answers(telegram, ann, 4)
    lines = "\n".join(n.text for n in said).splitlines()
    # The first part's answer was unreadable: it goes out once more; what the flood held back does not.
    assert sorted(set(lines), key=lines.index) == [f"{number}: {'x' * 90}" for number in range(100)]


async def test_fetching_goes_on_after_every_kind_of_failure(
    telegram: StandIn, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(polling, "pause_s", lambda *_: 0.01)
    world, ann = telegram.world, telegram.world.person("Ann")
    kinds = [faults.broken(500), faults.broken(502), faults.cut(), faults.cut(after=True), faults.flooded(1)]
    telegram.fault("getMe", faults.broken(502), faults.cut())
    telegram.fault("getUpdates", *kinds, faults.Fault(body="no JSON"), faults.Fault(body='{"ok": true}'))
    world.says(ann, "hello")
    async with running(telegram, Parrot(), tmp_path):
        said = await answers(telegram, ann)
        await world.until(lambda: not world.pending)
    assert [n.text for n in said] == ["1: heard hello"]


async def test_updates_that_come_late_and_out_of_order_are_all_answered(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    for number in range(5):
        world.says(ann, f"m{number}")
    world.pending.reverse()
    async with running(telegram, parrot := Parrot(), tmp_path):
        await answers(telegram, ann, 5)
    assert sorted(i.text for i in parrot.seen) == [f"m{n}" for n in range(5)]


async def test_a_chat_that_blocked_the_bot_holds_up_nobody_and_is_heard_again(
    telegram: StandIn, tmp_path: Path
) -> None:
    world, ann, bo = telegram.world, telegram.world.person("Ann"), telegram.world.person("Bo")
    async with running(telegram, Parrot(), tmp_path):
        world.rooms[ann.id].blocked = True
        world.says(ann, "hello")
        world.says(bo, "hello")
        await answers(telegram, bo)
        await world.until(lambda: world.called("sendMessage"))
        world.rooms[ann.id].blocked = False
        world.says(ann, "back again")
        said = await answers(telegram, ann)
    assert said[-1].text == "2: heard back again"


async def test_a_group_that_becomes_a_supergroup_takes_everything_along(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    crew = world.group("The crew")
    async with running(telegram, Parrot(), tmp_path):
        world.says(ann, "first", crew)
        await answers(telegram, crew)
        new = world.upgrade(crew)
        world.says(ann, "second", new)
        [note] = await answers(telegram, new)
    assert note.text == "2: heard second"


async def test_a_message_to_a_group_that_has_moved_is_sent_after_it(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    crew = world.group("The crew")
    async with running(telegram, Parrot(), tmp_path):
        world.says(ann, "remind 0.3 rotate", crew)
        await answers(telegram, crew)
        new = world.group("The crew", "supergroup")
        crew.moved_to = new.id
        [note] = await answers(telegram, new)
    assert note.text == "ring rotate"


async def test_a_second_poller_says_what_is_wrong_and_stops_and_the_first_goes_on(
    telegram: StandIn, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(polling, "GIVE_WAY_S", 0.05)
    world, ann = telegram.world, telegram.world.person("Ann")
    first, second = tmp_path / "first", tmp_path / "second"
    first.mkdir()
    second.mkdir()
    monkeypatch.setattr(polling, "PROBATION_S", 0.0)  # the first counts as one that has run for long
    async with running(telegram, Parrot(), first):
        await world.until(lambda: world.called("getUpdates"))
        monkeypatch.setattr(polling, "PROBATION_S", 30.0)
        assert "another program fetches" in await failure(telegram, second)
        world.says(ann, "hello")
        [note] = await answers(telegram, ann)
    assert note.text == "1: heard hello"


async def test_a_wrong_token_is_one_line_without_the_token(telegram: StandIn, tmp_path: Path) -> None:
    for token in ("123456:wrong-token", "not a token\n"):
        assert await failure(telegram, tmp_path, token=token) == BAD_TOKEN


async def test_a_token_that_is_withdrawn_stops_the_bot(telegram: StandIn, tmp_path: Path) -> None:
    ann = telegram.world.person("Ann")
    failing = asyncio.create_task(failure(telegram, tmp_path))
    await telegram.world.until(lambda: telegram.world.called("getUpdates"))
    telegram.token = "1:another"
    telegram.world.says(ann, "wakes the poll")
    assert await failing == BAD_TOKEN


async def test_neither_token_nor_texts_nor_invite_are_logged(
    telegram: StandIn, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level("INFO")
    world, ann = telegram.world, telegram.world.person("Ann")
    telegram.fault("sendMessage", faults.broken(500))
    telegram.fault("getUpdates", faults.cut())
    async with running(telegram, Parrot(), tmp_path, invite="Kelp-Lantern"):
        world.says(ann, "a word in private")
        await answers(telegram, ann)
    assert "HTTP Request" in caplog.text
    for secret in (telegram.token, telegram.token.partition(":")[2], "Kelp-Lantern", "a word in private"):
        assert secret not in caplog.text


async def test_a_fresh_offset_is_used_and_an_old_one_hides_nothing(telegram: StandIn, tmp_path: Path) -> None:
    # Telegram, "Bot API", Update: without updates for a week the next number is chosen at random.
    world, ann = telegram.world, telegram.world.person("Ann")
    store = await open_store(tmp_path)
    await store.take_in([], Cursor(f"telegram:{BOT['id']}", "900000 2020-01-01T00:00:00+00:00 -"))
    await store.close()
    world.says(ann, "after a winter")
    async with running(telegram, Parrot(), tmp_path):
        await answers(telegram, ann)
        await world.until(lambda: not world.pending)
        last = world.served[-1]["update_id"]
    async with running(telegram, Parrot(), tmp_path):
        count = len(world.called("getUpdates"))
        await world.until(lambda: len(world.called("getUpdates")) > count)
    assert int(world.called("getUpdates")[count].params["offset"]) == last + 1


async def test_what_was_fetched_and_not_stored_is_fetched_again(
    telegram: StandIn, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    fetched, dying = asyncio.Event(), asyncio.Event()

    async def dies_here(*_: object) -> None:
        fetched.set()
        await dying.wait()
        raise SystemError("the process ends here")

    world.says(ann, "hello")
    with monkeypatch.context() as patched:
        patched.setattr(Intake, "take", dies_here)
        bot = running(telegram, Parrot(), tmp_path)
        await bot.__aenter__()
        await fetched.wait()
        await asyncio.sleep(0.05)
        assert len(world.pending) == 1
        dying.set()
        with pytest.raises(SystemError):
            await bot.__aexit__(None, None, None)
    async with running(telegram, Parrot(), tmp_path):
        [note] = await answers(telegram, ann)
    assert note.text == "1: heard hello"


async def victim(telegram: StandIn, folder: Path) -> asyncio.subprocess.Process:
    """The bot in a process of its own; its token comes through the environment."""
    served = ",".join(str(room) for room in telegram.world.rooms)
    env = os.environ | {"VICTIM_TOKEN": telegram.token}
    command = (sys.executable, "-m", "tests.telegram.victim", telegram.origin, str(folder), served)
    return await asyncio.create_subprocess_exec(*command, env=env)


async def test_a_bot_killed_in_the_middle_of_its_work_loses_nothing(telegram: StandIn, tmp_path: Path) -> None:
    world = telegram.world
    people = [world.person(f"P{number}") for number in range(10)]
    for number in range(3):
        for who in people:
            world.says(who, f"m{number}")
    kills = 0
    bot = await victim(telegram, tmp_path)
    try:
        for wanted in (3, 12):
            await world.until(lambda wanted=wanted: len(world.called("sendMessage")) >= wanted, 20)
            bot.send_signal(signal.SIGKILL)
            await bot.wait()
            kills += 1
            bot = await victim(telegram, tmp_path)
        wanted_lines = {f"{n + 1}: heard m{n}" for n in range(3)}
        await world.until(lambda: all({x.text for x in world.said(p)} == wanted_lines for p in people), 30)
    finally:
        bot.send_signal(signal.SIGTERM)
        await bot.wait()
    doubled = sum(len(world.said(who)) - 3 for who in people)
    assert doubled <= kills
    assert not world.pending


async def test_a_bot_killed_again_and_again_pins_no_second_card(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    room, kills = world.rooms[ann.id], 0
    bot = await victim(telegram, tmp_path)
    try:
        for number, method in enumerate(("sendMessage", "pinChatMessage", "editMessageText", "editMessageText")):
            seen = len(world.called(method))
            world.says(ann, f"card stage {number}")
            await world.until(lambda m=method, n=seen: len(world.called(m)) > n, 20)
            bot.send_signal(signal.SIGKILL)
            await bot.wait()
            kills += 1
            bot = await victim(telegram, tmp_path)
        world.says(ann, "card the end")
        await world.until(lambda: room.pinned and world.notes[ann.id, room.pinned[0]].text == "the end", 30)
    finally:
        bot.send_signal(signal.SIGTERM)
        await bot.wait()
    assert len(room.pinned) == 1
    assert len(world.said(ann)) <= 1 + kills
