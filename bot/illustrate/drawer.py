"""Where finished pictures and papers lie until they are sent, a folder for each chat."""

from __future__ import annotations

import hashlib
import os
import shutil
from pathlib import Path

FOLDER = "shown"
#: The newest of a chat are kept: they can be made again at any time.
KEPT = 60


class Drawer:
    """Keeps and forgets files under ``folder``. No part of a name comes from a person."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def put(self, chat: str, content: bytes, name: str, suffix: str) -> str:
        """Keep a file under ``name`` and the hash of its content; its path within the folder. Raises OSError."""
        place = self._of(chat)
        place.mkdir(parents=True, exist_ok=True)
        path = place / f"{name}-{hashlib.sha256(content).hexdigest()[:12]}{suffix}"
        if not path.exists():
            half = path.with_suffix(".half")
            half.write_bytes(content)
            os.replace(half, path)
        else:
            path.touch()
        self._clear(place)
        return path.relative_to(self._folder).as_posix()

    def forget(self, chat: str) -> None:
        """Delete everything of a chat."""
        shutil.rmtree(self._of(chat), ignore_errors=True)

    def _of(self, chat: str) -> Path:
        return self._folder / FOLDER / hashlib.sha256(chat.encode()).hexdigest()[:16]

    @staticmethod
    def _clear(place: Path) -> None:
        newest = sorted(place.iterdir(), key=lambda path: path.stat().st_mtime_ns, reverse=True)
        for path in newest[KEPT:]:
            path.unlink(missing_ok=True)
