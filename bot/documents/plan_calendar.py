"""The plan as an iCalendar file (RFC 5545): stages and rings as events with alarms."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID, uuid5

from bot.documents import words
from bot.documents.records import PlanEvent

if TYPE_CHECKING:
    from icalendar import Alarm, Event

MAKER = "-//brinebell//plan//EN"
#: Namespace of event ids. Never change it: calendars know moved events by their id.
EVENTS = UUID("6b0d6c1c-9a53-4f0e-8d0b-5c7f3a1e2b94")


def event_uid(batch_uid: str, key: str) -> str:
    """The id of an event, the same in every calendar of this batch and opaque to readers."""
    return str(uuid5(EVENTS, f"{batch_uid}/{key}"))


def plan_calendar(
    events: Sequence[PlanEvent],
    *,
    batch_uid: str,
    name: str,
    stamp: datetime,
    sequence: int,
    withdrawn: Sequence[PlanEvent] = (),
) -> bytes:
    """The calendar as UTF-8 bytes.

    ``batch_uid`` must be unique to the batch across all chats. ``sequence`` counts the plans told, from
    0; ``stamp`` is when this one was made (aware). ``withdrawn`` are events of earlier calendars that
    the plan no longer has: they are marked cancelled. Raises ValueError for a key that comes twice and
    for an end before its start.
    """
    from icalendar import Calendar

    keys = [event.key for event in (*events, *withdrawn)]
    twice = sorted({key for key in keys if keys.count(key) > 1})
    if twice:
        raise ValueError(f"two events have the same key: {', '.join(twice)}")
    calendar = Calendar()
    calendar.add("prodid", MAKER)
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", _text(name))
    for event in events:
        part = _event(event, batch_uid, stamp, sequence)
        part.add("status", "CONFIRMED")
        for minutes in event.alarms_min:
            part.add_component(_alarm(event, minutes))
        calendar.add_component(part)
    for event in withdrawn:
        part = _event(event, batch_uid, stamp, sequence)
        part.add("status", "CANCELLED")
        calendar.add_component(part)
    return bytes(calendar.to_ical())


def _event(event: PlanEvent, batch_uid: str, stamp: datetime, sequence: int) -> Event:
    from icalendar import Event

    if event.end < event.start:
        raise ValueError(f"{event.key} ends before it starts")
    part = Event()
    part.add("uid", event_uid(batch_uid, event.key))
    part.add("dtstamp", stamp.astimezone(UTC))
    part.add("sequence", sequence)
    part.add("dtstart", event.start.astimezone(UTC).replace(microsecond=0))
    # A moment has no DTEND: RFC 5545, 3.6.1 and 3.8.2.2, wants an end later than the start.
    if event.end - event.start >= timedelta(seconds=1):
        part.add("dtend", event.end.astimezone(UTC).replace(microsecond=0))
    part.add("summary", _title(event))
    if event.says:
        part.add("description", _text(event.says))
    part.add("transp", "TRANSPARENT")  # a soak does not make anyone busy
    return part


def _alarm(event: PlanEvent, minutes: int) -> Alarm:
    from icalendar import Alarm

    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", _title(event))
    alarm.add("trigger", -timedelta(minutes=minutes))
    return alarm


def _title(event: PlanEvent) -> str:
    return _text(event.title).strip() or words.NAMELESS_EVENT


def _text(raw: str) -> str:
    """Without control letters, which RFC 5545 does not allow in a text; line breaks stay."""
    even = raw.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(c for c in even if c == "\n" or unicodedata.category(c) not in ("Cc", "Cs"))
