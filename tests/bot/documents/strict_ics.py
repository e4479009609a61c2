"""A strict reader of iCalendar: raises AssertionError with the section of RFC 5545 that is broken."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

# RFC 5545, 3.1: contentline = name *(";" param) ":" value
LINE = re.compile(r'([A-Za-z0-9-]+)((?:;[A-Za-z0-9-]+=(?:"[^"]*"|[^";:,]*))*):(.*)', re.DOTALL)
UTC_MOMENT = re.compile(r"\d{8}T\d{6}Z")  # 3.3.5, form 2
ESCAPED = re.compile(r"(?:[^\\;,\x00-\x08\x0b-\x1f\x7f]|\\[\\;,nN])*")  # 3.3.11
DURATION = re.compile(r"[+-]?P(?:\d+W|(?:\d+D)?(?:T(?:\d+H)?(?:\d+M)?(?:\d+S)?)?)")  # 3.3.6
TEXTS = {"SUMMARY", "DESCRIPTION", "UID", "X-WR-CALNAME"}
ONCE = {"UID", "DTSTAMP", "DTSTART", "DTEND", "SEQUENCE", "SUMMARY", "STATUS", "DESCRIPTION", "TRANSP"}


@dataclass
class Part:
    """A component: its properties in order and the components in it."""

    name: str
    properties: list[tuple[str, str]] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)

    def value(self, name: str) -> str:
        """The one value of a property that must be there once."""
        values = [value for key, value in self.properties if key == name]
        assert len(values) == 1, f"{self.name} has {len(values)} {name}"
        return values[0]

    def has(self, name: str) -> bool:
        """True if the property is there."""
        return any(key == name for key, _ in self.properties)


def read(ics: bytes) -> Part:
    """The calendar in a file, every line and component checked."""
    assert ics.endswith(b"\r\n"), "3.1: lines end with CRLF"
    raw = ics[:-2].split(b"\r\n")
    assert all(b"\r" not in line and b"\n" not in line for line in raw), "3.1: a bare line break"
    assert all(len(line) <= 75 for line in raw), "3.1: a line of more than 75 octets"
    lines = b"\r\n".join(raw).replace(b"\r\n ", b"").decode("utf-8").split("\r\n")
    root = _parts(lines)
    _check_calendar(root)
    return root


def _parts(lines: list[str]) -> Part:
    top = Part("")
    open_parts = [top]
    for line in lines:
        found = LINE.fullmatch(line)
        assert found, f"3.1: no content line: {line!r}"
        name, value = found[1].upper(), found[3]
        if name == "BEGIN":
            part = Part(value)
            open_parts[-1].parts.append(part)
            open_parts.append(part)
        elif name == "END":
            assert open_parts.pop().name == value, "3.6: components do not nest"
        else:
            assert name not in TEXTS or ESCAPED.fullmatch(value), f"3.3.11: {name} is not escaped: {value!r}"
            open_parts[-1].properties.append((name, value))
    assert open_parts == [top], "3.6: a component is not closed"
    assert len(top.parts) == 1, "3.4: one calendar object"
    return top.parts[0]


def _check_calendar(calendar: Part) -> None:
    assert calendar.name == "VCALENDAR"
    assert calendar.value("VERSION") == "2.0"
    assert calendar.value("PRODID")
    for event in calendar.parts:
        assert event.name == "VEVENT"
        _check_event(event)


def _check_event(event: Part) -> None:
    names = [name for name, _ in event.properties]
    assert all(names.count(name) <= 1 for name in ONCE), "3.6.1: a property twice"
    assert event.value("UID")
    assert int(event.value("SEQUENCE")) >= 0
    for name in ("DTSTAMP", "DTSTART"):
        assert UTC_MOMENT.fullmatch(event.value(name)), f"3.3.5: {name}"
    if event.has("DTEND"):
        assert UTC_MOMENT.fullmatch(event.value("DTEND"))
        assert event.value("DTEND") > event.value("DTSTART"), "3.8.2.2: the end is later than the start"
    for alarm in event.parts:
        assert alarm.name == "VALARM"
        assert alarm.value("ACTION") == "DISPLAY"
        assert alarm.value("DESCRIPTION"), "3.6.6: a display alarm has a description"
        assert DURATION.fullmatch(alarm.value("TRIGGER")), "3.8.6.3: trigger"
