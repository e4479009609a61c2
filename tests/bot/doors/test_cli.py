"""The command line: help, wrong calls, faults, and readers who have had enough."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from bot import cli
from bot.cli import COMMANDS, main
from bot.complaints import WorkFailed

ROOT = Path(__file__).resolve().parents[3]


def one_line(capsys: pytest.CaptureFixture[str]) -> str:
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert said.err.startswith("brinebell: ")
    return said.err


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command.name)
def test_every_command_has_help_with_an_example(command: cli.Command, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        main([command.name, "--help"])
    assert left.value.code == 0
    out = capsys.readouterr().out
    assert command.example in out
    assert command.example.startswith(f"brinebell {command.name}")


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command.name)
def test_a_wrong_option_gets_one_line_with_a_call_that_works(
    command: cli.Command, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([command.name, "--colour"]) == 2
    assert command.example in one_line(capsys)


def test_the_list_of_commands(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["--help"])
    out = capsys.readouterr().out
    assert all(command.name in out and command.does in out for command in COMMANDS)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ([], "brinebell chat"),
        (["repaly"], "did you mean 'brinebell replay'?"),
        (["qqqq"], "chat, replay, ask, telegram, export, doctor"),
        (["--colour", "chat"], "--colour"),
        (["--data"], "--data"),
        (["telegram", "--token", "123:abc"], "--token"),
    ],
)
def test_wrong_calls(arguments: list[str], says: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(arguments) == 2
    assert says in one_line(capsys)


def stand_in(monkeypatch: pytest.MonkeyPatch, error: BaseException) -> None:
    def run(arguments: object) -> int:
        raise error

    monkeypatch.setattr("bot.doors.ask.run", run)


def test_work_that_failed(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    stand_in(monkeypatch, WorkFailed("it did not\nwork"))
    assert main(["ask", "x"]) == 1
    assert one_line(capsys) == "brinebell: it did not work\n"


def test_a_fault_shows_no_trace_unless_one_is_wanted(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    stand_in(monkeypatch, KeyError("inside"))
    assert main(["ask", "x"]) == 1
    assert "KeyError" in one_line(capsys)
    monkeypatch.setenv("BRINEBELL_DEBUG", "1")
    assert main(["ask", "x"]) == 1
    assert "Traceback" in capsys.readouterr().err


def test_ctrl_c_is_quiet(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    stand_in(monkeypatch, KeyboardInterrupt())
    assert main(["ask", "x"]) == 130
    assert capsys.readouterr() == ("", "")


def test_a_reader_who_has_had_enough_is_left_in_peace() -> None:
    lines = 'print("\\n" * 100_000, flush=True)'
    program = f"import bot.cli, bot.doors.ask\nbot.doors.ask.run = lambda a: {lines}\nraise SystemExit(bot.cli.main())"
    with subprocess.Popen(
        [sys.executable, "-c", program, "ask", "x"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=ROOT,
    ) as reading:
        assert reading.stdout is not None
        assert reading.stderr is not None
        reading.stdout.read(1)
        reading.stdout.close()
        assert reading.stderr.read() == b""
        assert reading.wait(30) == 0


def test_help_loads_nothing_heavy() -> None:
    program = (
        "import sys, bot.cli\n"
        "try: bot.cli.main(['replay', '--help'])\n"
        "except SystemExit: pass\n"
        "print(sorted({'sqlalchemy', 'telegram', 'numpy', 'pydantic'} & sys.modules.keys()), file=sys.stderr)"
    )
    said = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True, timeout=60
    )
    assert said.stderr == "[]\n"


def test_what_is_said_survives_a_terminal_that_knows_only_ascii() -> None:
    program = "import bot.cli, bot.doors.ask\nbot.doors.ask.run = lambda a: print('62 °C →')\nbot.cli.main()"
    said = subprocess.run(
        [sys.executable, "-c", program, "ask", "x"],
        cwd=ROOT,
        capture_output=True,
        check=True,
        timeout=60,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )
    assert said.stdout.decode("utf-8") == "62 °C →\n"
