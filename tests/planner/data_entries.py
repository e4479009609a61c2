"""Every figure of the planner's data files with its source; run as a module it lists the unread ones.

python -m tests.planner.data_entries > tests/reference/unread_figures.txt
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

from planner.sources import UNREAD, table

DATA = files("planner") / "data"
COLUMNS = ("source", "place", "status")


@dataclass(frozen=True)
class Entry:
    """A row of a CSV file or a table of a TOML file: where it stands and what it cites."""

    where: str
    source: str | None
    place: str | None
    status: str | None
    disagreement: str | None


def entries() -> Iterator[Entry]:
    """All rows and all tables that hold a figure or a word, in order of file."""
    for file in sorted(DATA.iterdir(), key=lambda f: f.name):
        name, _, kind = file.name.rpartition(".")
        if kind == "csv":
            for row in table(name):
                key = "/".join(list(row.values())[:3])
                yield _entry(f"{file.name}: {key}", row)
        elif kind == "toml" and name != "disagreements":
            yield from _tables(f"{file.name}: ", tomllib.loads(file.read_text(encoding="utf-8")), {})


def disagreements() -> dict[str, Any]:
    """Entries of ``data/disagreements.toml``."""
    return tomllib.loads((DATA / "disagreements.toml").read_text(encoding="utf-8"))


def unread() -> list[str]:
    """Figures that nobody has read in the source itself, one line each."""
    return sorted(f"{e.where} [{e.status}]" for e in entries() if e.status in UNREAD)


def _tables(path: str, found: Mapping[str, Any], above: Mapping[str, Any]) -> Iterator[Entry]:
    cited = {**above, **{k: found[k] for k in (*COLUMNS, "disagreement") if k in found}}
    own = [k for k, v in found.items() if k not in (*COLUMNS, "disagreement") and not isinstance(v, dict)]
    if own or "source" in found:
        yield _entry(path, cited)
    for key, value in found.items():
        if isinstance(value, dict):
            yield from _tables(f"{path}{'' if path.endswith(' ') else '.'}{key}", value, cited)


def _entry(where: str, found: Mapping[str, Any]) -> Entry:
    source, place, status = (found.get(column) for column in COLUMNS)
    return Entry(where, source, place, status, found.get("disagreement") or None)


if __name__ == "__main__":
    print("\n".join(unread()))
