"""The pictures of each chat, in a folder of their own, so that they can be forgotten together."""

from __future__ import annotations

import hashlib
import shutil
from pathlib import Path

from bot.messengers.pictures import keep_picture

FOLDER = "photos"
#: An empty file of this ending names another folder of the same chat: the messenger renamed it, and
#: the journal knows its older pictures by the older path.
ALSO = ".also"


class Album:
    """Keeps and forgets pictures under ``data_dir``. No part of a name comes from a person."""

    def __init__(self, data_dir: Path) -> None:
        self._data_dir = data_dir

    def keep(self, chat: str, key: str, content: bytes) -> str:
        """Keep a picture; its path relative to the data folder. Raises NotAPicture, OSError."""
        return keep_picture(content, key, self._data_dir, f"{FOLDER}/{_name(chat)}")

    def moved(self, old: str, new: str) -> None:
        """Note that a chat has a new name. Raises OSError."""
        if self._folder(_name(old)).is_dir():
            folder = self._folder(_name(new))
            folder.mkdir(parents=True, exist_ok=True)
            (folder / f"{_name(old)}{ALSO}").touch()

    def forget(self, chat: str) -> None:
        """Delete every picture of a chat, under its older names too. Raises OSError."""
        names, seen = [_name(chat)], set[str]()
        while names:
            folder = self._folder(name := names.pop())
            if name in seen or not folder.is_dir():
                continue
            seen.add(name)
            names += [path.stem for path in folder.glob(f"*{ALSO}")]
            shutil.rmtree(folder)

    def _folder(self, name: str) -> Path:
        return self._data_dir / FOLDER / name


def _name(chat: str) -> str:
    return hashlib.sha256(chat.encode()).hexdigest()[:16]
