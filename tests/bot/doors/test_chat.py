"""The terminal: typed or piped, what is said is shown, and the next session goes on where it was."""

from __future__ import annotations

import asyncio
import io
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

from bot.cli import main
from bot.doors import chat
from bot.doors.opening import Which, opened
from bot.doors.said import Said
from bot.doors.terminal import CHAT, plain_lines
from bot.settings import Settings
from scheduler.clock import FakeClock
from scheduler.turn import Outcome
from tests.bot.doors.fakes import Parrot


@pytest.fixture(autouse=True)
def parrot(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bot.doors.chat.answering", lambda _, **__: Parrot())


def pipe(monkeypatch: pytest.MonkeyPatch, data: Path, content: bytes) -> int:
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(content)))
    return main(["--data", str(data), "chat"])


def test_each_line_is_answered(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert pipe(monkeypatch, tmp_path / "new" / "folder", b"hello\nthere\n") == 0
    assert capsys.readouterr().out == "hello\n[Done] [Later]\n\nthere\n[Done] [Later]\n\n"


def test_bytes_that_are_no_text_stop_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert pipe(monkeypatch, tmp_path, b"\xff\xfe\x00\r\n\nlast") == 0
    out = capsys.readouterr().out
    assert "last" in out
    assert "\x00" not in out


def test_buttons_are_pressed_by_number(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert pipe(monkeypatch, tmp_path, b"/1\nhello\n/2\n/3\n") == 0
    out = capsys.readouterr().out
    assert out.startswith("there is no button 1")
    assert "pressed Later" in out
    assert "there is no button 3" in out


def test_a_picture_is_taken_and_what_is_none_is_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    Image.new("RGB", (8, 8)).save(tmp_path / "fish.png")
    (tmp_path / "none.png").write_bytes(b"not a picture")
    lines = f"/photo {tmp_path}/fish.png rinsed\n/photo {tmp_path}/none.png\n/photo {tmp_path}/missing\n"
    assert pipe(monkeypatch, tmp_path, lines.encode()) == 0
    out = capsys.readouterr().out
    assert out.startswith("rinsed\n")
    assert "none.png cannot be taken" in out
    assert "missing cannot be read" in out
    assert len(list((tmp_path / "photos").rglob("*.jpg"))) == 1
    assert pipe(monkeypatch, tmp_path, b"forget\n") == 0
    assert list((tmp_path / "photos").rglob("*.jpg")) == []


async def test_the_next_session_rings_what_fell_due(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    clock = FakeClock(datetime(2026, 9, 12, 0, 40, tzinfo=UTC))
    await chat.read_through(Settings(data=tmp_path), ["ring 20"], clock)
    clock.set(datetime(2026, 9, 12, 1, 30, tzinfo=UTC))
    capsys.readouterr()
    await chat.read_through(Settings(data=tmp_path), ["hello"], clock)
    assert capsys.readouterr().out.startswith("time to look\n")


def test_a_message_that_breaks_the_talking_gets_a_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("scheduler.turns.backoff_s", lambda *a, **k: 0.01)
    assert pipe(monkeypatch, tmp_path, b"break\nhello\n") == 0
    out = capsys.readouterr().out
    assert "went wrong on my side" in out
    assert "hello" in out
    assert "Traceback" not in out


def test_a_data_folder_that_cannot_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").touch()
    assert pipe(monkeypatch, tmp_path / "file" / "inside", b"hello\n") == 1
    err = capsys.readouterr().err
    assert "cannot be written" in err
    assert "--data DIR" in err
    assert err.count("\n") == 1


def test_the_habits_of_a_new_chat_are_those_that_are_set(tmp_path: Path) -> None:
    settings = Settings(data=tmp_path, zone="Europe/Oslo", units="metric", quiet="23:00-05:00")  # type: ignore[arg-type]

    async def look() -> Any:
        async with opened(settings, Which.TERMINAL) as store:
            return (await store.snapshot(CHAT, chat.SystemClock().now())).chat

    found = asyncio.run(look())
    assert (found.zone, found.units, found.quiet) == ("Europe/Oslo", "metric", ("23:00", "05:00"))


async def test_a_person_types_and_is_answered_above_the_prompt(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shown: list[Said] = []
    said = asyncio.Event()

    def show(self: object, one: Said) -> None:
        shown.append(one)
        said.set()

    monkeypatch.setattr(chat._Styled, "show", show)
    with create_pipe_input() as typed, create_app_session(input=typed, output=DummyOutput()):
        talking = asyncio.create_task(chat.converse(Settings(data=tmp_path)))
        for line, answer in (("hello\r", "hello"), ("\r/2\r", "pressed Later"), ("ring 0\r", "ring 0")):
            said.clear()
            typed.send_text(line)
            await asyncio.wait_for(said.wait(), 20)
            assert answer in [one.text for one in shown]
        while shown[-1].text != "time to look":
            said.clear()
            await asyncio.wait_for(said.wait(), 20)
        typed.send_text("\x04")
        await asyncio.wait_for(talking, 20)


async def test_ctrl_c_leaves(tmp_path: Path) -> None:
    with create_pipe_input() as typed, create_app_session(input=typed, output=DummyOutput()):
        talking = asyncio.create_task(chat.converse(Settings(data=tmp_path)))
        typed.send_text("\x03")
        await asyncio.wait_for(talking, 20)


async def test_what_stops_the_work_is_not_hidden(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    async def broken(self: object) -> Outcome:
        raise RuntimeError("the work stopped")

    monkeypatch.setattr("scheduler.runner.Runner.run", broken)
    with (
        create_pipe_input() as typed,
        create_app_session(input=typed, output=DummyOutput()),
        pytest.raises(RuntimeError, match="the work stopped"),
    ):
        await asyncio.wait_for(chat.converse(Settings(data=tmp_path)), 20)


def test_a_terminal_is_told_nothing_to_obey() -> None:
    said = Said(chat.SystemClock().now(), CHAT, "a\x1b[2J\nb\x9b", ("Done",), files=("plan.png",))
    lines = plain_lines(said, numbered=True)
    assert lines == [
        "a\N{REPLACEMENT CHARACTER}[2J",
        "b\N{REPLACEMENT CHARACTER}",
        "[/1 Done]",
        "(file: plan.png)",
    ]
