"""Who is who in a chat, who has taken a call, and who has taken over till when."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from planner.batch import Batch
from planner.rings import same_call

#: Names remembered in a chat; those who spoke longest ago go first.
MOST_PEOPLE = 20


@dataclass(frozen=True)
class Person:
    """Somebody by the name that they go by. ``id`` is the messenger's, empty where it is not known."""

    name: str
    id: str = ""


@dataclass(frozen=True)
class Duty:
    """``who`` has taken over from ``before`` until a moment."""

    who: Person
    before: Person
    until: datetime


def people_of(memory: Mapping[str, Any]) -> list[Person]:
    """Those who have spoken in a chat, by its memory."""
    return [Person(str(name), id_) for id_, name in memory.get("people", {}).items()]


def is_shared(memory: Mapping[str, Any]) -> bool:
    """True in a chat of several people."""
    return bool(memory.get("group")) or len(memory.get("people", {})) > 1


def met(memory: Mapping[str, Any], person: Person, *, group: bool) -> dict[str, Any]:
    """What the memory gains by this person speaking; nothing where it knows all that."""
    known = dict(memory.get("people", {}))
    gained: dict[str, Any] = {"group": True} if group and not memory.get("group") else {}
    if person.id and known.get(person.id) != person.name:
        known.pop(person.id, None)
        newest = list({**known, person.id: person.name}.items())[-MOST_PEOPLE:]
        gained["people"] = dict(newest)
    return gained


def named(memory: Mapping[str, Any], name: str) -> Person:
    """The person of that name, with what the messenger needs to call them where they have spoken here."""
    return next((p for p in people_of(memory) if p.name.casefold() == name.casefold()), Person(name))


def last_duty(memory: Mapping[str, Any]) -> Duty | None:
    """The last hand-over, its time over or not."""
    kept = memory.get("duty")
    if not kept:
        return None
    return Duty(Person(*kept["who"]), Person(*kept["before"]), datetime.fromisoformat(kept["until"]))


def duty_of(memory: Mapping[str, Any], now: datetime) -> Duty | None:
    """The hand-over that is in force."""
    duty = last_duty(memory)
    return duty if duty is not None and duty.until > now else None


def kept_duty(duty: Duty) -> dict[str, Any]:
    """A hand-over as the memory keeps it."""
    who, before = ([p.name, p.id] for p in (duty.who, duty.before))
    return {"who": who, "before": before, "until": duty.until.isoformat()}


def taker(batch: Batch, key: str) -> Person | None:
    """Who said "I've got it" to this reminder, the last where several did."""
    taken = [a.slots for a in batch.answered if a.slots.get("name") and same_call(str(a.slots.get("key", "")), key)]
    return Person(str(taken[-1]["name"]), str(taken[-1].get("by", ""))) if taken else None
