"""Read the tables of published figures under ``tests/reference``."""

from __future__ import annotations

import csv
from pathlib import Path

FOLDER = Path(__file__).parent.parent / "reference"


def rows(name: str) -> list[dict[str, str]]:
    """Rows of ``tests/reference/NAME.csv``; lines that start with ``#`` are for people."""
    lines = (FOLDER / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))
