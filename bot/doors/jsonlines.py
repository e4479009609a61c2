"""The JSON-lines form of a conversation: one object a line, in and out."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, date, datetime
from enum import Enum
from pathlib import PurePath
from typing import Any
from zoneinfo import ZoneInfo

from bot.complaints import WrongCall
from bot.doors.steps import Habits, Sent, Step, Tick
from bot.settings import known_zone, quiet_hours

#: Years in which a conversation can play, with room to reckon before and after.
YEARS = range(1971, 9000)


class BadLine(ValueError):
    """A line that cannot be taken, and why."""


def read_steps(lines: Iterable[bytes], name: str) -> Iterator[Step]:
    """Steps of a conversation as its lines arrive; blank lines are passed over.

    Raises WrongCall naming the line and the reason.
    """
    before: datetime | None = None
    for number, raw in enumerate(lines, start=1):
        if not raw.strip():
            continue
        try:
            step = _step(_object(raw))
            before = _not_backwards(step, before)
        except BadLine as error:
            raise WrongCall(f"{name} line {number}: {error}") from error
        yield step


def _object(raw: bytes) -> dict[str, Any]:
    try:
        found = json.loads(raw.decode("utf-8"))
    except UnicodeDecodeError as error:
        raise BadLine(f"not UTF-8 (byte {error.start + 1})") from error
    except (ValueError, RecursionError) as error:
        raise BadLine(f"not JSON: {error}") from error
    if not isinstance(found, dict):
        raise BadLine('not an object; write for example {"at": "…", "chat": "c1", "from": "p1", "text": "…"}')
    return found


def _step(line: dict[str, Any]) -> Step:
    if "settings" in line:
        return _habits(line)
    at = _moment(line)
    if "tick" in line:
        if line["tick"] is not True:
            raise BadLine('"tick" must be true')
        return Tick(at)
    return _sent(line, at)


def _habits(line: dict[str, Any]) -> Habits:
    settings = line["settings"]
    if not isinstance(settings, dict):
        raise BadLine('"settings" must be an object')
    chat = _words(line, "chat") if "chat" in line else None
    try:
        zone = known_zone(str(settings["zone"])) if "zone" in settings else None
        quiet = quiet_hours(settings["quiet"]) if "quiet" in settings else None
    except ValueError as error:
        raise BadLine(f"settings: {error}") from error
    units = settings.get("units")
    if units not in (None, "us", "metric"):
        raise BadLine('settings: "units" must be "us" or "metric"')
    return Habits(chat, zone, units, quiet)


def _sent(line: dict[str, Any], at: datetime) -> Sent:
    if not line.keys() & {"text", "press", "photo"}:
        raise BadLine('lacks "text", "press", "photo" or "tick"')
    sent = Sent(
        at=at,
        chat=_words(line, "chat"),
        sender=_words(line, "from"),
        text=_words(line, "text") if "text" in line else "",
        press=_words(line, "press") if "press" in line else None,
        photo=_words(line, "photo") if "photo" in line else None,
    )
    if sent.press is not None and (sent.text or sent.photo):
        raise BadLine('"press" stands alone, without "text" or "photo"')
    return sent


def _words(line: dict[str, Any], key: str) -> str:
    """Text under ``key``; half a surrogate pair, which JSON can write, becomes a question mark."""
    if key not in line:
        raise BadLine(f'lacks "{key}"')
    value = line[key]
    if not isinstance(value, str):
        raise BadLine(f'"{key}" must be text')
    return value.encode("utf-16", "surrogatepass").decode("utf-16", "replace")


def _moment(line: dict[str, Any]) -> datetime:
    written = _words(line, "at")
    try:
        at = datetime.fromisoformat(written)
    except ValueError as error:
        raise BadLine(f'"at" is not ISO 8601: {written!r}') from error
    if at.tzinfo is None:
        raise BadLine(f'"at" needs an offset, for example {written}-07:00')
    if at.year not in YEARS:
        raise BadLine(f'"at" is out of range: {written!r}')
    return at.astimezone(UTC)


def _not_backwards(step: Step, before: datetime | None) -> datetime | None:
    if isinstance(step, Habits):
        return before
    if before is not None and step.at < before:
        raise BadLine(f'"at" goes backwards: {step.at.isoformat()} after {before.isoformat()}')
    return step.at


def write_line(found: Mapping[str, Any], zone: ZoneInfo) -> str:
    """One object as a line of JSON; moments in it are said in ``zone`` with its offset."""
    return json.dumps(_plain(found, zone), ensure_ascii=False, allow_nan=False)


def _plain(value: Any, zone: ZoneInfo) -> Any:
    if isinstance(value, Enum):
        return _plain(value.value, zone)
    if isinstance(value, datetime):
        return value.astimezone(zone).isoformat()
    if isinstance(value, date | PurePath):
        return str(value)
    if isinstance(value, float) and not math.isfinite(value):
        return None
    if isinstance(value, Mapping):
        return {str(key): _plain(held, zone) for key, held in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        return [_plain(held, zone) for held in value]
    return value
