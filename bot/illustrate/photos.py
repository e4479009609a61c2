"""Photos that people sent, as the journal knows them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from bot.documents.records import RecordImage
from planner.entries import Entry


def photos(entries: tuple[Entry, ...], folder: Path) -> Iterator[RecordImage]:
    """The photos that are still there, oldest first; a lost file must not lose the rest."""
    for entry in entries:
        name = entry.data.get("photo")
        path = folder / name if isinstance(name, str) and name else None
        if path is None:
            continue
        try:
            yield RecordImage(path.read_bytes(), entry.words, entry.number)
        except OSError:
            continue
