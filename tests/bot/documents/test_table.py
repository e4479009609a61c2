"""The record as CSV and JSON: nothing is lost on the way out and back, and no cell computes."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.documents.table import read_record_csv, read_record_json, record_csv, record_json
from planner.entries import Entry, Kind
from tests.bot.documents.cases import ENTRIES

ZONES = st.sampled_from(["UTC", "America/Vancouver", "Asia/Kathmandu", "Europe/Oslo"])
WORDS = st.text(st.characters(exclude_categories=["Cs"]), max_size=60)
TRICKY = st.sampled_from(
    ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "'=1", " =1", "＝1+1", "|calc", "%x", 'a"b,c\r\nd', "'"]
)
PLAIN = st.none() | st.booleans() | st.integers(-(2**40), 2**40) | st.floats(allow_nan=False, allow_infinity=False)
VALUES = st.recursive(
    PLAIN | WORDS | TRICKY, lambda v: st.lists(v, max_size=3) | st.dictionaries(WORDS, v, max_size=3), max_leaves=6
)
MOMENTS = st.integers(0, 10**15).map(lambda us: datetime(2020, 1, 1, tzinfo=UTC) + timedelta(microseconds=us))


@st.composite
def journals(draw: st.DrawFn) -> list[Entry]:
    """Any journal of up to four entries."""
    return [
        Entry(
            number,
            draw(st.sampled_from(Kind)),
            draw(MOMENTS),
            draw(MOMENTS),
            draw(WORDS | TRICKY),
            draw(st.dictionaries(WORDS | TRICKY, VALUES, max_size=4)),
            draw(WORDS | TRICKY),
            draw(st.none() | st.integers(1, number)),
        )
        for number in range(1, draw(st.integers(1, 5)))
    ]


def cells(table: bytes) -> list[list[str]]:
    """The table as a strict reader of RFC 4180 sees it."""
    return list(csv.reader(io.StringIO(table.decode("utf-8-sig"), newline=""), strict=True))


@given(journals(), ZONES)
def test_csv_gives_back_every_entry(journal: list[Entry], zone: str) -> None:
    assert read_record_csv(record_csv(journal, zone)) == journal


@given(journals(), ZONES)
def test_json_gives_back_every_entry(journal: list[Entry], zone: str) -> None:
    assert read_record_json(record_json(journal, "12", "Coho", zone)) == journal


def is_number(cell: str) -> bool:
    """True for what a spreadsheet reads as a plain number."""
    try:
        float(cell)
    except ValueError:
        return False
    return True


@given(journals())
def test_no_cell_is_taken_for_a_formula(journal: list[Entry]) -> None:
    # The first letters are those that OWASP's page on CSV injection names.
    for row in cells(record_csv(journal)):
        for cell in row:
            assert not cell.startswith(("\t", "\r", "\n"))
            assert not cell.lstrip().startswith(("=", "+", "-", "@", "＝", "＋", "－", "＠")) or is_number(cell)


@pytest.mark.parametrize("words", ["=1+1", "-5", "'quoted", " +2", "@here"])
def test_free_text_is_guarded_even_where_it_looks_like_a_number(words: str) -> None:
    journal = [
        Entry(1, Kind.MESSAGE, datetime(2026, 1, 1, tzinfo=UTC), datetime(2026, 1, 1, tzinfo=UTC), "p", {}, words)
    ]
    row = dict(zip(*cells(record_csv(journal)), strict=True))
    assert row["words"] == "'" + words


@given(journals())
def test_every_row_is_as_wide_as_the_head(journal: list[Entry]) -> None:
    head, *rows = cells(record_csv(journal))
    assert len(rows) == len(journal)
    assert all(len(row) == len(head) for row in rows)


def test_times_carry_the_zone_and_readings_have_their_own_column() -> None:
    head, *rows = cells(record_csv(ENTRIES, "America/Vancouver"))
    sixth = dict(zip(head, rows[5], strict=True))
    assert sixth["happened_at"] == "2026-09-12T09:30:00-07:00"
    assert sixth["told_at"] == "2026-09-12T09:32:00-07:00"
    assert sixth["data.core_c"] == "54.4"
    assert sixth["counts"] == "yes"
    assert dict(zip(head, rows[3], strict=True))["counts"] == "no"  # entry 5 voids entry 4


def test_a_batch_without_entries_is_a_head_alone() -> None:
    assert len(cells(record_csv([]))) == 1
    assert read_record_csv(record_csv([])) == []
    assert json.loads(record_json([], "1"))["entries"] == []


@pytest.mark.parametrize(
    ("table", "said"),
    [
        (b"", "not a batch record"),
        (b"a,b\r\n1,2\r\n", "must name the columns"),
        # The first line names the columns, so that entry 4, the first reading, is on line 5.
        (record_csv(ENTRIES).replace(b"reading", b"guess"), "line 5 is no entry"),
        (record_csv(ENTRIES).replace(b"2026-09-12", b"yesterday"), "is no entry"),
    ],
)
def test_a_foreign_table_is_refused_with_its_line(table: bytes, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        read_record_csv(table)
