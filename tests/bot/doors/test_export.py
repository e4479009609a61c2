"""Export: the batch that was meant, in each form, readable by something else."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar
from PIL import Image

from bot.cli import main
from bot.doors.export import form_of
from bot.doors.opening import Which, opened
from bot.illustrate.batches import Case
from bot.illustrate.calendar import calendar_file
from bot.illustrate.record import batch_record, record_document
from bot.settings import Settings
from planner.entries import Entry, Kind
from scheduler.arrivals import Arrival
from scheduler.turn import BatchFile, Chat, Inbound, NewBatch, Outcome

NOON = datetime(2026, 9, 11, 19, 0, tzinfo=UTC)


def entry(number: int, kind: Kind, data: dict[str, Any], words: str = "") -> Entry:
    at = NOON + timedelta(hours=number - 1)
    return Entry(number, kind, at, at + timedelta(minutes=5), "ida", data, words)


JOURNAL = (
    entry(1, Kind.DESCRIBE, {"species": "coho_salmon", "mass_g": 2000.0, "thickness_mm": 25.4}, "=2+2 coho"),
    entry(2, Kind.EVENT, {"stage": "soak", "started": True}, "in the brine"),
    entry(3, Kind.READING, {"fridge_c": 2.0, "photo": "photos/fish.jpg"}, "fridge 2"),
    entry(4, Kind.CHOICE, {"override": True, "stage": "smoke"}, "out anyway"),
)


async def keep(data: Path, which: Which, chat: str, *names: str) -> None:
    """Batches with the journal above."""
    async with opened(Settings(data=data, zone="America/Vancouver"), which) as store:  # type: ignore[call-arg]
        for number, name in enumerate(names, start=1):
            await store.take_in([Arrival(Inbound(f"{chat} {number}", chat, "ida", NOON, name))])
            (item,) = await store.next_inbound(datetime.now(UTC) + timedelta(days=1))
            seen = await store.snapshot(chat, NOON)
            outcome = Outcome(opened=(NewBatch(number, name),), entries={number: JOURNAL})
            await store.commit(outcome, item, seen, NOON)


def export(data: Path, *arguments: str) -> int:
    return main(["--data", str(data), "export", *arguments])


async def test_csv_goes_to_standard_output(tmp_path: Path, capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    await keep(tmp_path, Which.TERMINAL, "terminal", "coho")
    assert await in_thread(export, tmp_path, "1") == 0
    text = capfdbinary.readouterr().out.decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [row["kind"] for row in rows] == ["describe", "event", "reading", "choice"]
    assert not any(str(value).startswith("=") for row in rows for value in row.values())


async def in_thread(call: Any, *arguments: Any) -> Any:
    import asyncio

    return await asyncio.to_thread(call, *arguments)


async def test_json_goes_to_a_file(tmp_path: Path) -> None:
    await keep(tmp_path, Which.TERMINAL, "terminal", "coho")
    out = tmp_path / "record.json"
    assert await in_thread(export, tmp_path, "COHO", "--format", "json", "--out", str(out)) == 0
    record = json.loads(out.read_bytes())
    assert len(record["entries"]) == 4


@pytest.mark.parametrize(
    ("name", "form"),
    [("x.json", "json"), ("x.PDF", "pdf"), ("x.ics", "calendar"), ("x.csv", "csv"), ("x", "csv"), (None, "csv")],
)
def test_a_files_name_says_the_form(name: str | None, form: str) -> None:
    assert form_of(Path(name) if name else None) == form


async def test_a_pdf_and_a_calendar(tmp_path: Path) -> None:
    await keep(tmp_path, Which.TELEGRAM, "4711", "coho")
    (tmp_path / "photos").mkdir()
    Image.new("RGB", (40, 30)).save(tmp_path / "photos" / "fish.jpg")
    pdf, ics = tmp_path / "record.pdf", tmp_path / "plan.ics"
    assert await in_thread(export, tmp_path, "1", "--out", str(pdf)) == 0
    assert pdf.read_bytes().startswith(b"%PDF-")
    assert await in_thread(export, tmp_path, "1", "--format", "calendar", "--out", str(ics)) == 0
    events = Calendar.from_ical(ics.read_bytes()).walk("VEVENT")
    assert "Coho: smoke" in [str(event["summary"]) for event in events]
    assert len({str(event["uid"]) for event in events}) == len(events)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["9"], "no batch 9; there are: 1 (coho, chat terminal), 2 (coho, chat terminal), 1 (trout, chat 4711)"),
        (["1"], "add --chat with one of: terminal, 4711"),
        (["coho"], "give the number: 1, 2"),
        (["1", "--chat", "nobody"], "no batch 1"),
        (["1", "--format", "xls"], "xls"),
        ([], "BATCH"),
    ],
)
async def test_what_is_not_clear_is_asked_in_one_line(
    tmp_path: Path, arguments: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    await keep(tmp_path, Which.TERMINAL, "terminal", "coho", "coho")
    await keep(tmp_path, Which.TELEGRAM, "4711", "trout")
    assert await in_thread(export, tmp_path, *arguments) == 2
    said = capsys.readouterr()
    assert says in said.err
    assert said.err.count("\n") == 1
    assert said.out == ""


async def test_the_conversation_can_be_named(tmp_path: Path) -> None:
    await keep(tmp_path, Which.TERMINAL, "terminal", "coho")
    await keep(tmp_path, Which.TELEGRAM, "4711", "trout")
    out = tmp_path / "record.json"
    assert await in_thread(export, tmp_path, "1", "--chat", "4711", "--format", "json", "--out", str(out)) == 0
    assert b"trout" in out.read_bytes()


async def test_a_batch_can_be_exported_while_the_bot_works(tmp_path: Path) -> None:
    await keep(tmp_path, Which.TELEGRAM, "4711", "coho")
    out = tmp_path / "record.csv"
    async with opened(Settings(data=tmp_path), Which.TELEGRAM):
        assert await in_thread(export, tmp_path, "1", "--out", str(out)) == 0
    assert out.stat().st_size > 0


def test_nothing_was_made_yet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert export(tmp_path, "1") == 2
    assert "brinebell chat" in capsys.readouterr().err


async def test_a_file_that_cannot_be_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    await keep(tmp_path, Which.TERMINAL, "terminal", "coho")
    assert await in_thread(export, tmp_path, "1", "--out", str(tmp_path / "none" / "x.csv")) == 1
    assert "cannot be written" in capsys.readouterr().err


CHAT = Chat("c1", "America/Vancouver", "us")
FILE = BatchFile(1, "coho", NOON, None, JOURNAL)


def test_the_record_shows_gates_as_shut_and_what_was_overridden(tmp_path: Path) -> None:
    record = batch_record(Case(FILE, CHAT, NOON + timedelta(hours=5)), tmp_path)
    assert {gate.name for gate in record.gates} >= {"Hot enough", "Cooled in time", "Cold"}
    assert not any(gate.opened for gate in record.gates if gate.name != "Time in the warm")
    assert [override.entry for override in record.overrides] == [4]
    assert record.photos == ()


def test_an_empty_batch_has_a_record_and_a_calendar(tmp_path: Path) -> None:
    empty = BatchFile(1, "fish", NOON, None, ())
    case = Case(empty, Chat("c1"), NOON)
    assert record_document(case, tmp_path).startswith(b"%PDF-")
    assert Calendar.from_ical(calendar_file(case)).walk("VEVENT")


def test_a_later_calendar_moves_the_same_events() -> None:
    now = NOON + timedelta(hours=5)
    moved = BatchFile(1, "coho", NOON, None, (*JOURNAL, entry(5, Kind.PLAN, {})))
    first, second = (
        Calendar.from_ical(calendar_file(Case(file, CHAT, now))).walk("VEVENT") for file in (FILE, moved)
    )
    assert {str(event["uid"]) for event in first} == {str(event["uid"]) for event in second}
    (before,), (after,) = ({int(event["sequence"]) for event in events} for events in (first, second))
    assert after > before
