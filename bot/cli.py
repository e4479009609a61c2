"""The command line: which commands there are, and that only single lines reach a person.

Nothing heavy is imported before the command is known, so that ``--help`` is quick.
"""

from __future__ import annotations

import argparse
import difflib
import importlib
import logging
import os
import sys
import traceback
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import NoReturn, TextIO

from bot.complaints import DEBUG_VARIABLE, Complaint, WrongCall, debugging
from bot.doors import arguments


@dataclass(frozen=True)
class Command:
    """A command: its name, what it does, a call that works, and what it takes.

    ``bot.doors.NAME`` holds ``run(arguments) -> int``.
    """

    name: str
    does: str
    example: str
    takes: Callable[[argparse.ArgumentParser], None]


COMMANDS: tuple[Command, ...] = (
    Command("chat", "talk in this terminal, in real time", "brinebell chat", arguments.chat),
    Command(
        "replay",
        "play a written conversation in simulated time",
        "brinebell replay demo_conversations/overnight_coho.chat",
        arguments.replay,
    ),
    Command(
        "ask",
        "answer one question and keep nothing",
        'brinebell ask "how strong is half a cup of kosher salt per quart?"',
        arguments.ask,
    ),
    Command("telegram", "run the Telegram bot", "brinebell telegram", arguments.telegram),
    Command(
        "export",
        "write the record of a batch",
        "brinebell export 1 --format csv --out batch.csv",
        arguments.export,
    ),
    Command(
        "doctor",
        "check the set-up and say how to mend it; copy the database",
        "brinebell doctor --backup batches.copy",
        arguments.doctor,
    ),
)


class Parser(argparse.ArgumentParser):
    """An argument parser whose errors are one line with a call that works."""

    def __init__(self, prog: str, example: str, description: str) -> None:
        super().__init__(
            prog=prog,
            description=description,
            epilog=f"example:\n  {example}",
            formatter_class=argparse.RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )
        self.example = example

    def error(self, message: str) -> NoReturn:
        raise WrongCall(f"{message}; type for example: {self.example}")


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command: 0 all went well, 1 the work failed, 2 a wrong call."""
    _speak_utf8(sys.stdout)
    _speak_utf8(sys.stderr)
    _log_where_wanted()
    # The sums are small: threads of the linear algebra cost more than they bring, most under load.
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        status = _run(sys.argv[1:] if argv is None else list(argv))
        sys.stdout.flush()
        return status
    except Complaint as complaint:
        return _complain(str(complaint), complaint.status)
    except BrokenPipeError:
        return _reader_left()
    except KeyboardInterrupt:
        return 130
    except Exception as fault:
        return _fault(fault)


def _run(argv: list[str]) -> int:
    at = _command_at(argv)
    root = _root_parser()
    before = root.parse_args(argv[:at])
    if at == len(argv):
        root.error("no command given ('brinebell --help' lists them)")
    command = next((c for c in COMMANDS if c.name == argv[at]), None)
    if command is None:
        raise WrongCall(_unknown_command(argv[at]))
    parser = Parser(f"brinebell {command.name}", command.example, command.does)
    _add_data(parser, before.data)
    command.takes(parser)
    taken = parser.parse_args(argv[at + 1 :])
    status: int = importlib.import_module(f"bot.doors.{command.name}").run(taken)
    return status


def _root_parser() -> Parser:
    listed = "\n".join(f"  {c.name:9} {c.does}" for c in COMMANDS)
    parser = Parser(
        "brinebell",
        "brinebell chat",
        "A companion for brining, air-drying, hot-smoking and packing fish.\n\n"
        f"commands:\n{listed}\n\n'brinebell COMMAND --help' says more about one.",
    )
    parser.usage = "brinebell [--data DIR] COMMAND ..."
    parser.add_argument("--version", action="version", version=f"brinebell {version('brinebell')}")
    _add_data(parser, None)
    return parser


def _add_data(parser: argparse.ArgumentParser, default: Path | None) -> None:
    parser.add_argument("--data", metavar="DIR", type=Path, default=default, help="folder of the database and files")


def _command_at(argv: list[str]) -> int:
    """Where the command stands: after the options, which belong to the tool as a whole."""
    at = 0
    while at < len(argv) and argv[at].startswith("-"):
        at += 2 if argv[at] == "--data" else 1
    return min(at, len(argv))


def _unknown_command(name: str) -> str:
    names = [command.name for command in COMMANDS]
    near = difflib.get_close_matches(name, names, n=1)
    hint = f"did you mean 'brinebell {near[0]}'?" if near else f"type one of: {', '.join(names)}"
    return f"no command is called {name!r}; {hint}"


def _speak_utf8(stream: TextIO) -> None:
    """Degree signs and dashes must not fail where the locale knows only ASCII."""
    reconfigure = getattr(stream, "reconfigure", None)
    if reconfigure is not None:
        reconfigure(encoding="utf-8", errors="replace")


def _log_where_wanted() -> None:
    """Logs are for whoever runs a bot or looks for a fault, not for somebody who talks."""
    logging.getLogger().addHandler(logging.StreamHandler() if debugging() else logging.NullHandler())


def _complain(line: str, status: int) -> int:
    print(f"brinebell: {' '.join(line.split())}", file=sys.stderr)
    return status


def _reader_left() -> int:
    """Whoever read our output has had enough: nothing failed, and nothing more can be said."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return 0


def _fault(fault: Exception) -> int:
    if debugging():
        traceback.print_exc()
    return _complain(
        f"a fault inside: {type(fault).__name__}: {str(fault)[:200]}; {DEBUG_VARIABLE}=1 shows where, "
        "'brinebell doctor' checks the set-up",
        1,
    )
