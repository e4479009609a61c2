"""The journal of a batch as CSV and as JSON, and back again."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from planner.entries import Entry, Kind, standing

#: In the order in which they stand; ``read_record_csv`` needs each of them.
COLUMNS = ("number", "kind", "happened_at", "told_at", "who", "words", "voids", "counts", "data")
DATA_PREFIX = "data."
#: First letters that make a spreadsheet take a cell for a formula, wide forms included.
FORMULA = frozenset("=+-@|%＝＋－＠")
GUARD = "'"


def record_csv(entries: Sequence[Entry], zone: str = "UTC") -> bytes:
    """All entries as UTF-8 CSV with a byte order mark, times ISO 8601 with the zone's offset.

    ``data`` holds the entry's data as JSON and is what ``read_record_csv`` reads; after it each plain
    value stands once more in a column of its own (``data.core_c``), for people with a spreadsheet.
    Free text that a spreadsheet would take for a formula is guarded with an apostrophe.
    """
    keys = _plain_keys(entries)
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow([*COLUMNS, *(_guard(DATA_PREFIX + key) for key in keys)])
    for entry, row in zip(entries, _rows(entries, zone), strict=True):
        writer.writerow([_cell(value) for value in (*row.values(), *(_plain(entry, key) for key in keys))])
    return out.getvalue().encode("utf-8-sig", errors="backslashreplace")


def read_record_csv(table: bytes) -> list[Entry]:
    """The entries of a table that ``record_csv`` made; raises ValueError with the line that is wrong."""
    rows = csv.DictReader(io.StringIO(table.decode("utf-8-sig"), newline=""))
    if rows.fieldnames is None or not set(COLUMNS) <= set(rows.fieldnames):
        raise ValueError(f"not a batch record: the first line must name the columns {', '.join(COLUMNS)}")
    return [_entry_of_row(row, rows.line_num) for row in rows]


def record_json(entries: Sequence[Entry], batch: str, name: str = "", zone: str = "UTC") -> bytes:
    """All entries as one JSON object, UTF-8, keys as in the CSV."""
    record = {"batch": batch, "name": name, "zone": zone, "entries": _rows(entries, zone)}
    return json.dumps(record, indent=1).encode("ascii")


def read_record_json(record: bytes) -> list[Entry]:
    """The entries of a record that ``record_json`` made."""
    return [_entry(row) for row in json.loads(record)["entries"]]


def _rows(entries: Sequence[Entry], zone: str) -> list[dict[str, Any]]:
    """One mapping an entry, its keys the columns; ``counts`` is False where a later entry voids it."""
    counting = {entry.number for entry in standing(entries)}
    return [
        {
            "number": entry.number,
            "kind": entry.kind.value,
            "happened_at": _iso(entry.happened_at, zone),
            "told_at": _iso(entry.told_at, zone),
            "who": entry.who,
            "words": entry.words,
            "voids": entry.voids,
            "counts": entry.number in counting,
            "data": dict(entry.data),
        }
        for entry in entries
    ]


def _cell(value: Any) -> Any:
    if isinstance(value, str):
        return _guard(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list | dict):
        return json.dumps(value)
    return "" if value is None else value


def _iso(at: datetime, zone: str) -> str:
    return at.astimezone(ZoneInfo(zone)).isoformat()


def _guard(text: str) -> str:
    """``text`` so that no spreadsheet computes it; ``_unguard`` gives it back."""
    first = text.lstrip()[:1]
    return GUARD + text if first in FORMULA or text[:1] in (GUARD, "\t", "\r", "\n") else text


def _unguard(text: str) -> str:
    return text.removeprefix(GUARD)


def _plain_keys(entries: Sequence[Entry]) -> list[str]:
    """Keys under which some entry has a plain value, in order of their first appearance."""
    found = {key: None for e in entries for key, value in e.data.items() if not isinstance(value, list | dict)}
    return list(found)


def _plain(entry: Entry, key: str) -> Any:
    value = entry.data.get(key)
    return None if isinstance(value, list | dict) else value


def _entry_of_row(row: dict[str, str], line: int) -> Entry:
    try:
        return _entry(
            {
                **row,
                "who": _unguard(row["who"]),
                "words": _unguard(row["words"]),
                "voids": int(row["voids"]) if row["voids"] else None,
                "data": json.loads(row["data"]),
            }
        )
    except (ValueError, TypeError, KeyError) as why:
        raise ValueError(f"line {line} is no entry of a batch record: {why}") from why


def _entry(row: dict[str, Any]) -> Entry:
    return Entry(
        number=int(row["number"]),
        kind=Kind(row["kind"]),
        happened_at=datetime.fromisoformat(row["happened_at"]).astimezone(UTC),
        told_at=datetime.fromisoformat(row["told_at"]).astimezone(UTC),
        who=row["who"],
        data=row["data"],
        words=row["words"],
        voids=row["voids"],
    )
