"""JSON lines: every line that must be taken, and what is said of one that cannot."""

from __future__ import annotations

import contextlib
import json
from datetime import UTC, datetime
from enum import StrEnum
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.complaints import WrongCall
from bot.doors.jsonlines import read_steps, write_line
from bot.doors.steps import Habits, Sent, Tick

AT = "2026-09-11T17:40:00-07:00"
MOMENT = datetime(2026, 9, 12, 0, 40, tzinfo=UTC)


def steps(*lines: Any) -> list[Any]:
    raw = [line if isinstance(line, bytes) else json.dumps(line).encode() for line in lines]
    return list(read_steps(raw, "talk.jsonl"))


def test_the_lines_of_the_contract() -> None:
    settings = {"zone": "America/Vancouver", "units": "us", "quiet": ["22:30", "06:30"]}
    assert steps(
        {"settings": settings},
        {"settings": {"units": "metric"}, "chat": "c1"},
        {"at": AT, "chat": "c1", "from": "p1", "text": "hi"},
        b"  \n",
        {"at": AT, "chat": "c1", "from": "p1", "press": "Done"},
        {"at": AT, "chat": "c1", "from": "p1", "photo": "path/to.jpg", "text": "caption"},
        {"at": "2026-09-12T00:40:00Z", "tick": True},
    ) == [
        Habits(None, "America/Vancouver", "us", ("22:30", "06:30")),
        Habits("c1", units="metric"),
        Sent(MOMENT, "c1", "p1", "hi"),
        Sent(MOMENT, "c1", "p1", press="Done"),
        Sent(MOMENT, "c1", "p1", "caption", photo="path/to.jpg"),
        Tick(MOMENT),
    ]


@pytest.mark.parametrize(
    ("line", "says"),
    [
        (b"{", "not JSON"),
        (b"\xff{}", "not UTF-8"),
        (b"[" * 100_000, "not JSON"),
        ([1], "not an object"),
        ({"chat": "c1", "from": "p1", "text": "x"}, 'lacks "at"'),
        ({"at": AT, "from": "p1", "text": "x"}, 'lacks "chat"'),
        ({"at": AT, "chat": "c1", "text": "x"}, 'lacks "from"'),
        ({"at": AT, "chat": "c1", "from": "p1"}, 'lacks "text"'),
        ({"at": AT, "chat": "c1", "from": "p1", "text": 5}, '"text" must be text'),
        ({"at": 5, "chat": "c1", "from": "p1", "text": "x"}, '"at" must be text'),
        ({"at": "noon", "tick": True}, "ISO 8601"),
        ({"at": "2026-09-11T17:40:00", "tick": True}, "needs an offset"),
        ({"at": "0001-01-01T00:00:00+05:00", "tick": True}, "out of range"),
        ({"at": AT, "tick": False}, '"tick"'),
        ({"at": AT, "chat": "c1", "from": "p1", "press": "Done", "text": "x"}, '"press" stands alone'),
        ({"settings": {"zone": "Mars/Olympus"}}, "time zone"),
        ({"settings": {"quiet": "always"}}, "clock times"),
        ({"settings": {"units": "cubits"}}, '"units"'),
        ({"settings": []}, '"settings"'),
        ({"settings": {}, "chat": 5}, '"chat" must be text'),
    ],
)
def test_a_line_that_cannot_be_taken_is_named_with_the_reason(line: Any, says: str) -> None:
    with pytest.raises(WrongCall) as caught:
        steps({"settings": {}}, b"", line)
    assert "talk.jsonl line 3: " in str(caught.value)
    assert says in str(caught.value)
    assert caught.value.status == 2


def test_time_never_goes_backwards() -> None:
    with pytest.raises(WrongCall, match=r"line 2: .*goes backwards"):
        steps({"at": AT, "tick": True}, {"at": "2026-09-11T17:39:59-07:00", "tick": True})


def test_lines_before_a_bad_one_are_played() -> None:
    arriving = read_steps([json.dumps({"at": AT, "tick": True}).encode(), b"{"], "-")
    assert next(arriving) == Tick(MOMENT)
    with pytest.raises(WrongCall):
        next(arriving)


def test_half_a_surrogate_pair_can_be_stored() -> None:
    line = rb'{"at": "2026-09-11T17:40:00Z", "chat": "c", "from": "p", "text": "fish \ud83d"}'
    (sent,) = steps(line)
    assert sent.text.encode("utf-8").startswith(b"fish ")


@given(st.text(), st.text(min_size=1), st.text(min_size=1))
def test_any_text_comes_through(text: str, chat: str, sender: str) -> None:
    (sent,) = steps({"at": AT, "chat": chat, "from": sender, "text": text})
    assert (sent.text, sent.chat, sent.sender) == (text, chat, sender)


json_values = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=5,
)
keys = st.sampled_from(["at", "chat", "from", "text", "press", "photo", "tick", "settings", "zone"]) | st.text()
objects = st.dictionaries(keys, json_values | st.just(AT) | st.just(True), max_size=6)


@given(st.binary(max_size=60) | objects.map(lambda line: json.dumps(line).encode()))
def test_a_line_is_taken_or_refused_and_nothing_else(line: bytes) -> None:
    with contextlib.suppress(WrongCall):
        list(read_steps([line], "x"))


def test_moments_are_written_in_the_zone_with_its_offset() -> None:
    line = write_line({"at": MOMENT, "in": {"list": (MOMENT,)}}, ZoneInfo("America/Vancouver"))
    assert json.loads(line) == {"at": AT, "in": {"list": [AT]}}


class Word(StrEnum):
    GO = "go"


def test_every_value_becomes_plain_json() -> None:
    found = {"call": Word.GO, "eta": float("nan"), "values": MappingProxyType({"core_c": 62.8}), "set": {1}}
    line = write_line(found, ZoneInfo("UTC"))
    assert json.loads(line) == {"call": "go", "eta": None, "values": {"core_c": 62.8}, "set": [1]}
    assert "\n" not in line
