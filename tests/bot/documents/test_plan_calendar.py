"""The plan's calendar reads strictly, moves its events, and withdraws what the plan no longer has."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Calendar

from bot.documents.plan_calendar import event_uid, plan_calendar
from bot.documents.records import PlanEvent
from tests.bot.documents import strict_ics
from tests.bot.documents.cases import EVENTS, LONG_WORDS, MARKUP, SCRIPTS
from tests.bot.pictures.cases import h


def calendar(events: tuple[PlanEvent, ...] = EVENTS, sequence: int = 0, **more: object) -> bytes:
    """The calendar of the invented batch."""
    return plan_calendar(events, batch_uid="chat1/12", name="Coho belly", stamp=h(0), sequence=sequence, **more)  # type: ignore[arg-type]


def test_a_strict_reader_finds_every_event() -> None:
    events = strict_ics.read(calendar()).parts
    assert [e.value("SUMMARY") for e in events] == ["Soak: coho belly", "Smoke: small", "Read the cores"]
    soak, smoke, ring = events
    assert soak.value("DTSTART") == "20260912T010000Z"  # 0.5 h after 00:30 UTC
    assert soak.value("DTEND") == "20260912T130000Z"
    before, at_once = (a.value("TRIGGER") for a in smoke.parts)
    assert before == "-PT15M"
    assert at_once in ("PT0S", "P0D")  # RFC 5545, 3.3.6: two ways to write no time at all
    assert smoke.value("DESCRIPTION") == r"Core 160 °F for 30 min\nRead every 20 min"
    assert not ring.has("DTEND")
    assert {e.value("DTSTAMP") for e in events} == {"20260912T003000Z"}


def test_the_library_reads_it_back_without_errors() -> None:
    read = Calendar.from_ical(calendar())
    for part in read.walk():
        assert part.errors == []
    found = [(str(e["summary"]), e.decoded("dtstart")) for e in read.walk("VEVENT")]
    assert found == [(event.title, event.start) for event in EVENTS]
    assert len(read.walk("VALARM")) == 3


def test_a_moved_plan_keeps_the_ids_and_raises_the_sequence() -> None:
    later = tuple(replace(e, start=e.start + timedelta(hours=2), end=e.end + timedelta(hours=2)) for e in EVENTS)
    before, after = strict_ics.read(calendar()).parts, strict_ics.read(calendar(later, 1)).parts
    assert [e.value("UID") for e in before] == [e.value("UID") for e in after]
    assert {e.value("SEQUENCE") for e in before} == {"0"}
    assert {e.value("SEQUENCE") for e in after} == {"1"}
    assert all(a.value("DTSTART") > b.value("DTSTART") for a, b in zip(after, before, strict=True))


def test_what_the_plan_no_longer_has_is_cancelled_and_silent() -> None:
    *kept, gone = strict_ics.read(calendar(EVENTS[:2], 1, withdrawn=EVENTS[2:])).parts
    assert gone.value("STATUS") == "CANCELLED"
    assert gone.parts == []
    assert gone.value("UID") == event_uid("chat1/12", "ring/core")
    assert {e.value("STATUS") for e in kept} == {"CONFIRMED"}


def test_ids_differ_between_batches_and_show_nothing_of_them() -> None:
    assert event_uid("chat1/12", "soak") != event_uid("chat2/12", "soak")
    assert "chat1" not in event_uid("chat1/12", "soak")


def test_an_empty_plan_is_still_a_calendar() -> None:
    assert strict_ics.read(calendar(())).parts == []


@pytest.mark.parametrize("words", [LONG_WORDS, MARKUP, SCRIPTS, "a\x00b\x07;c,d\\e\rf\u2028g", "é" * 500])
def test_hard_words_are_folded_and_escaped(words: str) -> None:
    strict_ics.read(calendar((replace(EVENTS[0], title=words, says=words),)))


@settings(max_examples=60)
@given(st.text(max_size=200), st.text(max_size=200), st.integers(0, 10_000))
def test_any_words_read_strictly(title: str, says: str, minutes: int) -> None:
    event = replace(EVENTS[1], title=title or "-", says=says, alarms_min=(minutes,))
    strict_ics.read(calendar((event,)))


def test_what_would_be_a_wrong_calendar_is_refused() -> None:
    with pytest.raises(ValueError, match="same key: soak"):
        calendar((EVENTS[0], EVENTS[0]))
    with pytest.raises(ValueError, match="soak ends before it starts"):
        calendar((replace(EVENTS[0], end=h(-1)),))
