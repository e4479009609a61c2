"""``brinebell replay``: a written conversation in simulated time, shown or checked."""

from __future__ import annotations

import argparse
import asyncio
import shutil
import sys
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO
from zoneinfo import ZoneInfo

from bot.complaints import WrongCall
from bot.doors.answering import answering
from bot.doors.compare import difference
from bot.doors.demo_file import Demo, read_demo
from bot.doors.jsonlines import read_steps, write_line
from bot.doors.play import Play, Played, playing
from bot.doors.readable import Readable
from bot.doors.said import Said
from bot.doors.steps import Habits, Sent, Step
from scheduler.turn import Answering


def run(arguments: argparse.Namespace) -> int:
    """Play each file in turn."""
    if arguments.check:
        return asyncio.run(_check_all([_demo_to_check(name) for name in arguments.files], arguments.json))
    for number, name in enumerate(arguments.files):
        if number and not arguments.json:
            print()
        asyncio.run(_show(name, arguments.json))
    if not arguments.json:
        print(f"\nStart your own batch: {_called()} chat", file=sys.stderr)
    return 0


def _called() -> str:
    """The command as the person typed it, so that the line can be copied."""
    return sys.argv[0] if Path(sys.argv[0]).name == "brinebell" else "brinebell"


async def _show(name: str, as_json: bool) -> None:
    with _conversation(name) as (title, steps), _folder(kept=True) as folder:
        async with playing(_answering(folder)) as play:
            printer = _Json(play) if as_json else _Words(play, title)
            for step in steps:
                printer.show(step, await play.take(step))


@contextmanager
def _folder(*, kept: bool) -> Iterator[Path]:
    """Where pictures and papers go; a folder that stays is taken away again only where none were made."""
    folder = Path(tempfile.mkdtemp(prefix="brinebell-files-"))
    try:
        yield folder
    finally:
        if not kept or not any(folder.iterdir()):
            shutil.rmtree(folder)


def _answering(folder: Path) -> Answering:
    """The conversation; photos are named as seen from where the command was called."""
    return answering(folder, photos=Path(), whole_paths=True)


@contextmanager
def _conversation(name: str) -> Iterator[tuple[str, Iterable[Step]]]:
    """Title and steps of a file of either form, or of standard input."""
    if name == "-":
        yield "standard input", read_steps(sys.stdin.buffer, "standard input")
    elif name.endswith(".chat"):
        demo = read_demo(Path(name))
        yield demo.shows, demo.steps()
    else:
        with _opened(name) as file:
            yield name, read_steps(file, name)


def _opened(name: str) -> BinaryIO:
    try:
        return Path(name).open("rb")
    except OSError as error:
        hint = "type 'brinebell replay demo_conversations/*', or - for standard input"
        raise WrongCall(f"{name} cannot be read: {error.strerror}; {hint}") from error


class _Printer:
    def __init__(self, play: Play) -> None:
        self._play = play

    def _zone(self, chat: str) -> ZoneInfo:
        return self._play.zone(chat)


class _Json(_Printer):
    """JSON lines, each out as soon as it is known."""

    def show(self, step: Step, played: Played) -> None:
        """What fell due, then what was heard, then what was said to it."""
        for said in played.due:
            self._said(said)
        if isinstance(step, Sent):
            line = {"at": step.at, "chat": step.chat, "heard": played.heard}
            print(write_line(line, self._zone(step.chat)), flush=True)
        for said in played.said:
            self._said(said)

    def _said(self, said: Said) -> None:
        line = {
            "at": said.at,
            "chat": said.chat,
            "text": said.text,
            "buttons": said.buttons,
            "facts": said.facts,
            "files": said.files,
        }
        print(write_line(line, self._zone(said.chat)), flush=True)


class _Words(_Printer):
    """The conversation as people read it."""

    def __init__(self, play: Play, title: str) -> None:
        super().__init__(play)
        self._lines = Readable()
        self._print(self._lines.title(title))

    def show(self, step: Step, played: Played) -> None:
        """What fell due, then what somebody sent, then what was said to it."""
        if isinstance(step, Habits):
            self._print(self._lines.habits(step))
        for said in played.due:
            self._said(said)
        if isinstance(step, Sent):
            self._print(self._lines.sent(step, self._zone(step.chat)))
        for said in played.said:
            self._said(said)

    def _said(self, said: Said) -> None:
        self._print(self._lines.said(said, self._zone(said.chat)))

    @staticmethod
    def _print(lines: Iterable[str]) -> None:
        for line in lines:
            print(line, flush=True)


def _demo_to_check(name: str) -> Demo:
    if not name.endswith(".chat"):
        raise WrongCall(f"{name} expects nothing; --check takes .chat files, as in demo_conversations/")
    return read_demo(Path(name))


async def _check_all(demos: list[Demo], as_json: bool) -> int:
    parted = [demo for demo in demos if not await _check(demo, as_json)]
    return 1 if parted else 0


async def _check(demo: Demo, as_json: bool) -> bool:
    """Play and compare; True where nothing parts. With JSON lines the report goes to standard error."""
    report = sys.stderr if as_json else sys.stdout
    differences = []
    with _folder(kept=as_json) as folder:
        async with playing(_answering(folder)) as play:
            await play.take(demo.habits)
            printer = _Json(play)
            for part in demo.parts:
                played = await play.take(part.step)
                if as_json:
                    printer.show(part.step, played)
                shown = difference(part, played.due + played.said, demo.zone)
                differences += [shown] if shown else []
    verdict = f"differs in {len(differences)}" if differences else f"agrees in all {len(demo.parts)} parts"
    print(f"{demo.path}: {verdict}", *differences, sep="\n", file=report, flush=True)
    return not differences
