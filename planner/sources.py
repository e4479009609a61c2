"""Published sources, and the data files that quote them.

Every number that a person may want to check stands in a file under ``planner/data`` beside the
key of its source, the place in that source and how it is known. ``planner/data/sources/*.toml``
holds author, title and year of each key, once.
"""

from __future__ import annotations

import csv
import io
import tomllib
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Any


class Status(StrEnum):
    """How a figure is known."""

    SEEN = "seen"
    SECONDARY = "secondary"
    PARTIAL = "partial"
    MEMORY = "memory"
    MEMORY_CORROB = "memory+corrob"
    DERIVED = "derived"
    OURS = "ours"
    COMMON_PRACTICE = "common practice"


#: Figures nobody has read in the source itself: they may decide when stricter, and say so.
UNREAD = frozenset({Status.SECONDARY, Status.PARTIAL, Status.MEMORY, Status.MEMORY_CORROB})


@dataclass(frozen=True)
class Source:
    """One published work: who, what, when."""

    key: str
    title: str
    author: str = ""
    year: str = ""
    short: str = ""


@dataclass(frozen=True)
class Citation:
    """A figure's source, the place in it, and how the figure is known."""

    source: Source
    place: str
    status: Status

    def text(self) -> str:
        """One line for a person: short name and place, with a warning where it was not read."""
        name = self.source.short or self.source.title
        line = f"{name}, {self.place}" if self.place else name
        if self.status is Status.COMMON_PRACTICE:
            return "common practice, no source"
        if self.status is Status.OURS:
            return "our own rule, no source"
        if self.status in UNREAD:
            return f"{line} (as remembered; check the current edition)"
        return line


@cache
def sources() -> dict[str, Source]:
    """All sources by key, from ``data/sources/*.toml``; a key defined twice raises ValueError."""
    found: dict[str, Source] = {}
    for file in sorted((files("planner") / "data" / "sources").iterdir(), key=lambda f: f.name):
        if not file.name.endswith(".toml"):
            continue
        for key, entry in tomllib.loads(file.read_text(encoding="utf-8")).items():
            if key in found:
                raise ValueError(f"source {key!r} is defined twice, the second time in {file.name}")
            found[key] = Source(key=key, **entry)
    return found


def cite(source: str, place: str, status: str) -> Citation:
    """Citation from the three columns that every data row carries."""
    return Citation(sources()[source], place, Status(status))


@cache
def table(name: str) -> tuple[dict[str, str], ...]:
    """Rows of ``data/NAME.csv`` as text; lines that start with ``#`` are for people."""
    text = (files("planner") / "data" / f"{name}.csv").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    return tuple(csv.DictReader(io.StringIO("\n".join(lines))))


@cache
def rules(name: str) -> dict[str, Any]:
    """Contents of ``data/NAME.toml``."""
    return tomllib.loads((files("planner") / "data" / f"{name}.toml").read_text(encoding="utf-8"))
