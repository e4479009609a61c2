"""Logs: one JSON object a line; people's words only where they are asked for."""

from __future__ import annotations

import json
import logging
import sys
from datetime import UTC, datetime

import pytest

from bot.doors.logs import JsonLines, Logged
from scheduler.turn import Chat, Due, Inbound, Ring, Snapshot
from tests.bot.doors.fakes import Parrot

NOW = datetime(2026, 9, 12, 0, 40, tzinfo=UTC)
SEEN = Snapshot(Chat("c1"), (), NOW)


def formatted(record: logging.LogRecord) -> dict[str, object]:
    line = JsonLines().format(record)
    assert "\n" not in line
    found: dict[str, object] = json.loads(line)
    return found


def test_a_line_carries_what_the_record_does() -> None:
    record = logging.makeLogRecord(
        {"msg": "late by %d", "args": (3,), "levelname": "WARNING", "name": "x", "chat": "c"}
    )
    line = formatted(record)
    assert (line["says"], line["level"], line["from"], line["chat"]) == ("late by 3", "warning", "x", "c")
    assert datetime.fromisoformat(str(line["at"])).tzinfo is not None


def test_a_trace_stays_in_its_line() -> None:
    try:
        raise RuntimeError("inside")
    except RuntimeError:
        record = logging.makeLogRecord({"msg": "broke", "exc_info": sys.exc_info()})
    assert "RuntimeError: inside" in str(formatted(record)["trace"])


@pytest.mark.parametrize("texts", [False, True])
def test_words_of_people_are_logged_only_where_asked(texts: bool, caplog: pytest.LogCaptureFixture) -> None:
    logged = Logged(Parrot(), texts=texts)
    with caplog.at_level(logging.INFO):
        logged.answer(SEEN, Inbound("k", "c1", "ida", NOW, "my secret recipe"))
        logged.ring(SEEN, Due("c1", None, Ring("r", NOW, "look", "soak"), 0.0, 0))
    lines = [JsonLines().format(record) for record in caplog.records]
    assert len(lines) == 2
    assert all(json.loads(line)["chat"] == "c1" for line in lines)
    assert ("my secret recipe" in "".join(lines)) is texts
