"""Everything that is kept of a chat, as one file that needs no tool of ours to read."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Iterator, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from bot.crew import people_of
from bot.documents.records import Made
from bot.documents.table import record_csv, record_json
from bot.illustrate.photos import photos
from bot.say import shown
from planner.ring import Ring
from scheduler.turn import BatchFile, Chat

#: How its file ends.
SUFFIX = ".zip"
#: Photos beyond this are left out and counted: messengers take files of up to 50 MB.
_MOST_PHOTO_BYTES = 45 * 1024 * 1024
#: The earliest moment that a zip file can name: the same data gives the same file.
_NO_TIME = (1980, 1, 1, 0, 0, 0)


def archive(chat: Chat, files: Sequence[BatchFile], loose: Sequence[Ring], now: datetime, folder: Path) -> Made:
    """Habits, every journal as JSON and as a table, every photo; ``folder`` is where photos are kept."""
    out, left, missed = io.BytesIO(), _MOST_PHOTO_BYTES, 0
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as zipped:
        _put(zipped, "chat.json", json.dumps(_about(chat, files, loose, now), indent=1).encode("ascii"))
        for file in files:
            place = f"batch-{file.number:04}"
            _put(zipped, f"{place}/journal.json", record_json(file.entries, str(file.number), file.name, chat.zone))
            _put(zipped, f"{place}/journal.csv", record_csv(file.entries, chat.zone))
        for name, content in _photos(files, folder):
            if len(content) > left:
                missed += 1
                continue
            left -= len(content)
            _put(zipped, name, content)
    return Made(out.getvalue(), (shown.photos_left_out(missed),) if missed else ())


def _photos(files: Sequence[BatchFile], folder: Path) -> Iterator[tuple[str, bytes]]:
    """Newest batch first: where not all fit, the older ones are left out."""
    for file in reversed(files):
        for image in photos(file.entries, folder):
            yield f"batch-{file.number:04}/photo-{image.entry:04}.jpg", image.encoded


def _about(chat: Chat, files: Sequence[BatchFile], loose: Sequence[Ring], now: datetime) -> dict[str, Any]:
    return {
        "chat": chat.id,
        "exported_at": now.isoformat(),
        "zone": chat.zone,
        "units": chat.units,
        "quiet": list(chat.quiet),
        "memory": dict(chat.memory),
        "people": [{"name": person.name, "id": person.id} for person in people_of(chat.memory)],
        "reminders": [{"at": ring.due.isoformat(), "what": ring.what, **ring.data} for ring in loose],
        "batches": [
            {
                "number": file.number,
                "name": file.name,
                "opened_at": file.opened_at.isoformat(),
                "closed_at": file.closed_at.isoformat() if file.closed_at else None,
                "entries": len(file.entries),
            }
            for file in files
        ],
    }


def _put(zipped: zipfile.ZipFile, name: str, content: bytes) -> None:
    zipped.writestr(zipfile.ZipInfo(name, _NO_TIME), content, zipfile.ZIP_DEFLATED)
