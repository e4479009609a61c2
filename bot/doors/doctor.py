"""``brinebell doctor``: checks the set-up and says how to mend what is wrong; copies the database."""

from __future__ import annotations

import argparse
import asyncio
import os
from collections.abc import AsyncIterator, Iterator
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from rapidfuzz import process

from bot.complaints import DEBUG_VARIABLE, Complaint
from bot.doors.copying import back_up, restore
from bot.doors.opening import Which, data_folder, database_file, opened, there
from bot.settings import FILE_VARIABLE, PREFIX, Settings, load, settings_file, system_zone
from scheduler.clock import SystemClock
from scheduler.health import Trouble, troubles
from scheduler.sqlitefile import damage

#: No machine's clock is right that shows an earlier moment: this version did not exist then.
NOT_BEFORE = datetime.fromisoformat("2026-01-01T00:00:00+00:00")
#: How long Telegram may take to say who the bot is.
PATIENCE_S = 5.0
PUT_BACK = "'brinebell doctor --restore FILE' puts a copy back"


@dataclass(frozen=True)
class Finding:
    """One line of the report; ``mend`` says what to do where something is wrong."""

    what: str
    says: str
    mend: str = ""

    def __str__(self) -> str:
        mark = "WRONG" if self.mend else "ok"
        return f"{mark:6}{self.what:10}{self.says}" + (f"\n      mend: {self.mend}" if self.mend else "")


def run(arguments: argparse.Namespace) -> int:
    """Check everything, or make or put back a copy."""
    if arguments.backup or arguments.restore:
        settings = load(arguments.data)
        if arguments.backup:
            print(back_up(settings, arguments.of, arguments.backup))
        else:
            print(restore(settings, arguments.of, arguments.restore))
        return 0
    return asyncio.run(_report(arguments))


async def _report(arguments: argparse.Namespace) -> int:
    wrong = 0
    async for finding in _findings(arguments):
        print(finding, flush=True)
        wrong += bool(finding.mend)
    print("all is well" if not wrong else f"{wrong} to mend")
    return 1 if wrong else 0


async def _findings(arguments: argparse.Namespace) -> AsyncIterator[Finding]:
    try:
        settings = load(arguments.data)
    except Complaint as complaint:
        says, _, mend = str(complaint).partition("; ")
        yield Finding("settings", says, mend or "see the table of settings in the README")
        return
    for finding in (*_settings(), _data(settings), _zone(settings), _clock()):
        yield finding
    for which in Which:
        for finding in await _database(settings, which):
            yield finding
    yield await _messenger(settings)


def _settings() -> Iterator[Finding]:
    path = settings_file()
    yield Finding("settings", f"{path}" if path.exists() else f"none at {path}; the usual ones hold")
    known = {PREFIX + name.upper() for name in Settings.model_fields} | {FILE_VARIABLE, DEBUG_VARIABLE}
    for name in sorted(os.environ):
        if name.startswith(PREFIX) and name not in known:
            near = process.extractOne(name, sorted(known))
            yield Finding("settings", f"no setting is called {name}", f"did you mean {near[0]}?")


def _data(settings: Settings) -> Finding:
    try:
        return Finding("data", f"{data_folder(settings)} can be written")
    except Complaint as complaint:
        says, _, mend = str(complaint).rpartition("; ")
        return Finding("data", says, mend)


def _zone(settings: Settings) -> Finding:
    name = settings.zone_name()
    local = SystemClock().now().astimezone(ZoneInfo(name))
    says = f"{name}, where it is {local:%a %H:%M} now"
    if settings.zone is None and system_zone() == "UTC":
        return Finding("zone", says, "set BRINEBELL_ZONE, like America/Vancouver, if you don't live by UTC")
    return Finding("zone", says)


def _clock() -> Finding:
    now = SystemClock().now()
    if now < NOT_BEFORE:
        return Finding("clock", f"shows {now:%Y-%m-%d %H:%M} UTC, which has long passed", "set the machine's clock")
    return Finding("clock", f"{now:%Y-%m-%d %H:%M} UTC")


async def _database(settings: Settings, which: Which) -> list[Finding]:
    if which not in there(settings):
        return [Finding(which, "no database yet; it is made on first use")]
    file = database_file(settings, which)
    own = which is Which.TELEGRAM and settings.database is not None
    if not own and (hurt := damage(file, thorough=True)):
        return [Finding(which, f"{file} is damaged ({hurt})", PUT_BACK)]
    try:
        async with opened(settings, which, look=True) as store:
            batches = await store.batches()
            found = await troubles(store, SystemClock())
    except Complaint as complaint:
        return [Finding(which, str(complaint), PUT_BACK)]
    chats = len({chat for chat, _ in batches})
    well = Finding(which, f"database up to date: {len(batches)} batches in {chats} conversations")
    return [well, *(_trouble(which, trouble) for trouble in found)]


def _trouble(which: Which, trouble: Trouble) -> Finding:
    start = "brinebell chat" if which is Which.TERMINAL else "brinebell telegram"
    much = f"{trouble.much:.0f}"
    match trouble.what:
        case "aside":
            says, mend = (
                f"{much} messages or reminders were set aside",
                f"say them again; {DEBUG_VARIABLE}=1 shows more",
            )
        case "late":
            says, mend = f"{much} reminders are late and not rung", f"start '{start}': nothing rings without it"
        case "clock_behind":
            says, mend = f"this clock is {much} s behind what was written last", "set the machine's clock"
        case "clock_of_server":
            says, mend = f"this clock is {much} s off the database server's", "set the machine's clock, or the server's"
    return Finding(which, says, mend)


async def _messenger(settings: Settings) -> Finding:
    """Whether Telegram knows the token; asked only where one is set."""
    if settings.token is None:
        return Finding("messenger", "no Telegram token set; the terminal needs none")
    from bot.messengers.check import bot_name

    try:
        name = await bot_name(settings.token.get_secret_value(), settings.api_url, PATIENCE_S)
    except Complaint as complaint:
        says, _, mend = str(complaint).partition(": ")
        return Finding("messenger", says, mend)
    return Finding("messenger", f"Telegram knows this bot as @{name}")
