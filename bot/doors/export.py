"""``brinebell export``: the record of a batch, as a table, as JSON, as a document or as a calendar."""

from __future__ import annotations

import argparse
import asyncio
import sys
from dataclasses import dataclass
from pathlib import Path

from bot.complaints import WorkFailed, WrongCall
from bot.doors.opening import Which, opened, there
from bot.settings import Settings, load
from scheduler.clock import SystemClock
from scheduler.store import Store
from scheduler.turn import BatchFile, Chat, Taught

SUFFIXES = {".csv": "csv", ".json": "json", ".pdf": "pdf", ".ics": "calendar"}
#: The paper that each form is, as the conversation names it.
PAPERS = {"csv": "table", "json": "journal", "pdf": "record", "calendar": "calendar"}


@dataclass(frozen=True)
class Found:
    """A batch that was asked for, with the conversation that it belongs to."""

    which: Which
    chat: Chat
    file: BatchFile
    taught: tuple[Taught, ...] = ()


def run(arguments: argparse.Namespace) -> int:
    """Find the batch, write its record."""
    settings = load(arguments.data)
    found = asyncio.run(find(settings, arguments.batch, arguments.chat))
    form = arguments.format or form_of(arguments.out)
    if form == "pdf" and arguments.out is None and sys.stdout.isatty():
        raise WrongCall("a PDF is nothing for a terminal; type for example: --out batch.pdf")
    _write(_record(found, form, settings), arguments.out)
    return 0


def form_of(out: Path | None) -> str:
    """The form that a file's name asks for; a table where it asks for none."""
    return SUFFIXES.get(out.suffix.lower(), "csv") if out is not None else "csv"


async def find(settings: Settings, wanted: str, chat: str | None) -> Found:
    """The one batch of that number or name; WrongCall naming the choice where there is none or several."""
    known: list[tuple[Which, str, BatchFile]] = []
    for which in there(settings):
        async with opened(settings, which, look=True) as store:
            known += [(which, name, file) for name, file in await store.batches()]
    fits = [one for one in known if _fits(one[2], wanted) and chat in (None, one[1])]
    if not fits:
        raise WrongCall(_none_line(wanted, known))
    if len(fits) > 1:
        raise WrongCall(_several_line(wanted, fits))
    which, name, file = fits[0]
    async with opened(settings, which, look=True) as store:
        return await _whole(store, which, name, file.number)


async def _whole(store: Store, which: Which, chat: str, number: int) -> Found:
    file = await store.batch(chat, number)
    if file is None:
        raise WorkFailed(f"batch {number} was deleted a moment ago")
    seen = await store.snapshot(chat, SystemClock().now())
    return Found(which, seen.chat, file, seen.taught)


def _fits(file: BatchFile, wanted: str) -> bool:
    return wanted.strip().casefold() in (str(file.number), file.name.casefold())


def _none_line(wanted: str, known: list[tuple[Which, str, BatchFile]]) -> str:
    if not known:
        return f"no batch {wanted}: none was made yet; start one with 'brinebell chat'"
    names = ", ".join(f"{file.number} ({file.name}, chat {chat})" for _, chat, file in known[-8:])
    return f"no batch {wanted}; there are: {names}"


def _several_line(wanted: str, fits: list[tuple[Which, str, BatchFile]]) -> str:
    chats = ", ".join(dict.fromkeys(chat for _, chat, _ in fits))
    if len({chat for _, chat, _ in fits}) == 1:
        return f"several batches are called {wanted}; give the number: {', '.join(str(f.number) for _, _, f in fits)}"
    return f"several conversations have a batch {wanted}; add --chat with one of: {chats}"


def _record(found: Found, form: str, settings: Settings) -> bytes:
    from bot.illustrate.batches import Case
    from bot.illustrate.making import make_file
    from bot.illustrate.references import Reference
    from bot.known import finished_in, known_for

    known = known_for(found.file, finished_in(found.taught))
    case = Case(found.file, found.chat, SystemClock().now(), known)
    return make_file(Reference(PAPERS[form], found.file.number), case, settings.data).data


def _write(content: bytes, out: Path | None) -> None:
    if out is None:
        sys.stdout.buffer.write(content)
        sys.stdout.buffer.flush()
        return
    try:
        out.write_bytes(content)
    except OSError as error:
        raise WorkFailed(f"{out} cannot be written: {error.strerror}; choose another with --out FILE") from error
