"""Opening what a live door works on: the data folder, the database, the habits of a new chat."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from enum import StrEnum
from functools import partial
from pathlib import Path

from sqlalchemy import URL

from bot.complaints import WorkFailed
from bot.settings import Settings
from scheduler.errors import StoreError
from scheduler.store import Store
from scheduler.turn import Chat


class Which(StrEnum):
    """The two conversations' databases: a terminal never answers for the Telegram bot's chats."""

    TERMINAL = "terminal"
    TELEGRAM = "telegram"


def database_url(settings: Settings, which: Which) -> str:
    """A file in the data folder; for Telegram the database that is set, if one is."""
    if which is Which.TELEGRAM and settings.database is not None:
        return settings.database.get_secret_value()
    return URL.create("sqlite", database=str(database_file(settings, which))).render_as_string()


def database_file(settings: Settings, which: Which) -> Path:
    """Where the file of a conversation lies that has no database of its own."""
    return settings.data.absolute() / f"{which}.sqlite3"


def there(settings: Settings) -> list[Which]:
    """The databases that exist, or are set."""
    return [
        which
        for which in Which
        if database_file(settings, which).exists() or (which is Which.TELEGRAM and settings.database is not None)
    ]


def data_folder(settings: Settings) -> Path:
    """The data folder, made where it is not there; WorkFailed where it cannot be written."""
    folder = settings.data
    try:
        folder.mkdir(parents=True, exist_ok=True)
        probe = folder / ".writable"
        probe.touch()
        probe.unlink()
    except OSError as error:
        raise WorkFailed(
            f"data folder {folder} cannot be written: {error.strerror}; mend its rights or choose another "
            "with --data DIR"
        ) from error
    return folder


def new_chat(settings: Settings, which: Which, chat: str) -> Chat:
    """A conversation that is not known yet, with the habits that are set.

    Whoever sits at the terminal is welcome. In Telegram it means that the chat gave the invite word:
    one on the allow list is served by the list alone, and no longer than it stands there.
    """
    welcome = which is Which.TERMINAL
    return Chat(chat, settings.zone_name(), settings.units, settings.quiet, welcome=welcome)


@asynccontextmanager
async def opened(settings: Settings, which: Which, *, look: bool = False) -> AsyncIterator[Store]:
    """The store that the settings name, made on first use; WorkFailed where it cannot be opened.

    ``look`` only reads, and may do so beside a process that works on the same file.
    """
    if not look:
        data_folder(settings)
    url = database_url(settings, which)
    habits = partial(new_chat, settings, which)
    try:
        store = await Store.open(url, migrate=not look, alone=not look, new_chat=habits)
    except StoreError as error:
        raise WorkFailed(str(error)) from error
    try:
        yield store
    finally:
        await store.close()
