# ruff: noqa: E501, PLR0911
"""Read what was started, done, turned or topped up, and when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from bot.understanding.items import Sheet
from bot.understanding.model import Context, Doubt
from bot.understanding.moments import iso
from bot.understanding.tense import looks_ahead, negated
from bot.understanding.timing import find_when, time_slot, when_of

_IN = frozenset({"in", "into", "to", "on", "onto", "under", "inside", "over"})
_OUT = frozenset({"out", "off", "from", "outta", "outa", "of"})
_SKIP = frozenset(
    [
        "the",
        "a",
        "my",
        "our",
        "it",
        "them",
        "fish",
        "all",
        "of",
        "pieces",
        "batch",
        "those",
        "these",
        "that",
        "now",
    ]
)
_DONE = frozenset(
    ["done", "finished", "finish", "complete", "completed", "over", "ended", "ready", "through"]
)
_START = frozenset(
    ["started", "start", "starting", "begin", "began", "begun", "starts", "kicked", "going", "commenced"]
)
#: A lone word that tells of a stage.
_BARE = {
    "rinsed": ("rinse", "done"), "drained": ("soak", "done"), "packed": ("pack", "done"), "bagged": ("pack", "done"),
    "thawed": ("thaw", "done"), "defrosted": ("thaw", "done"), "trimmed": ("trim", "done"), "filleted": ("trim", "done"),
    "pinboned": ("trim", "done"), "hung": ("dry", "started"), "racked": ("dry", "started"), "salted": ("salt", "started"),
    "lit": ("smoke", "started"), "sealed": ("pack", "done"), "wrapped": ("pack", "done"), "submerged": ("soak", "started"),
    "cooled": ("cool", "done"), "chilled": ("chill", "done"), "desalted": ("rinse", "done"),
}  # fmt: skip
_GERUND = {
    "brining": "soak", "drying": "dry", "smoking": "smoke", "cooling": "cool", "chilling": "chill", "resting": "rest",
    "thawing": "thaw", "rinsing": "rinse", "soaking": "soak", "packing": "pack", "salting": "salt", "curing": "salt",
    "defrosting": "thaw", "trimming": "trim",
}  # fmt: skip
_TURN = frozenset(
    [
        "rotated",
        "rotate",
        "turned",
        "turn",
        "flipped",
        "flip",
        "swapped",
        "swap",
        "switched",
        "switch",
        "shuffled",
        "rearranged",
        "rotating",
        "turning",
        "swapping",
        "spun",
    ]
)
_ADD = frozenset(
    [
        "added",
        "add",
        "threw",
        "put",
        "tossed",
        "chucked",
        "topped",
        "fed",
        "stoked",
        "loaded",
        "refilled",
        "filled",
        "more",
        "reloaded",
        "dumped",
        "slung",
        "popped",
        "fresh",
        "new",
        "another",
        "stuck",
        "lit",
        "dropped",
        "laid",
        "replaced",
        "restocked",
    ]
)
_PULL = frozenset(["pulled", "pull", "took", "taken", "removed", "yanked", "grabbed", "lifted"])


@dataclass
class Event:
    """One event: its slots, where it stands, what could not be settled."""

    slots: dict[str, Any]
    at: int
    doubt: Doubt | None = None


def read_event(sheet: Sheet, span: tuple[int, int], context: Context) -> Event | None:
    """Return the event that a clause tells of, with its time; mark what it took."""
    words = [w for text in sheet.words(*span) for w in text.split()]
    if negated(words):
        return None
    if _overrides(words):
        sheet.take(span[0], span[1] - 1, "event: going on against the advice", "override")
        return Event({"override": True}, span[0])
    found = (
        _what(sheet, span, words, context) or _moved(sheet, span, context) or _stage_word(sheet, span, words)
    )
    if found is None:
        return None
    slots, at = found
    if looks_ahead(words) and not _already(words):
        return None
    event = Event(dict(slots), at)
    lot = _lot(sheet, span)
    if lot and "override" not in slots:
        event.slots["lot"] = lot
    _timed(sheet, span, event, context)
    sheet.take(at, at, "event: what happened", ", ".join(f"{k} {v}" for k, v in slots.items()))
    return event


def _already(words: list[str]) -> bool:
    return bool({"just", "now", "already"} & set(words)) and not {"will", "gonna", "later", "tomorrow"} & set(
        words
    )


def _overrides(words: list[str]) -> bool:
    text = " ".join(words)
    return any(
        phrase in text
        for phrase in (
            "going on anyway", "go on anyway", "carry on anyway", "carrying on anyway", "moving on anyway", "continue anyway",
            "continuing anyway", "going ahead anyway", "go ahead anyway", "proceed anyway", "proceeding anyway",
            "packing anyway", "pack it anyway", "packing it anyway", "good enough for me", "doing it anyway", "pressing on anyway",
        )
    )  # fmt: skip


def _lot(sheet: Sheet, span: tuple[int, int]) -> str | None:
    for i in range(*span):
        key = sheet.items[i].key("lot")
        before = sheet.amount(i - 1)
        if key and not (before is not None and before.kind == "length"):
            return key
    return None


def _timed(sheet: Sheet, span: tuple[int, int], event: Event, context: Context) -> None:
    i = find_when(sheet, span)
    if i is not None:
        slots, event.doubt = time_slot(sheet, i, "at", "past", context)
        event.slots.update(slots)
        return
    lasting = _lasting(sheet, span)
    if lasting is not None and event.slots.get("started"):
        at = context.now.astimezone(UTC) - timedelta(seconds=sheet.items[lasting].quantity.value)  # type: ignore[union-attr]
        event.slots["at"] = iso(at.astimezone(ZoneInfo(context.zone)))
        sheet.take(lasting, lasting, "time: how long so far", event.slots["at"])


def _lasting(sheet: Sheet, span: tuple[int, int]) -> int | None:
    """Return the duration in "been in the brine for 3 hours"."""
    for i in range(*span):
        amount = sheet.amount(i)
        if amount is not None and amount.kind == "time" and {"been", "for"} & set(sheet.words(span[0], i)):
            return i
    return None


def _what(
    sheet: Sheet, span: tuple[int, int], words: list[str], context: Context
) -> tuple[dict[str, Any], int] | None:
    """Read turned racks, fuel, water, pieces pulled from the smoker."""
    told = set(words)
    first = span[0]
    if told & _TURN and (
        told
        & {
            "racks",
            "rack",
            "trays",
            "tray",
            "shelves",
            "screens",
            "fish",
            "them",
            "it",
            "pieces",
            "sides",
            "fillets",
            "all",
            "everything",
        }
        or len(words) <= 3
    ):
        return {"what": "rotated"}, first
    water = any(sheet.items[i].key("water") for i in range(*span)) or "pan" in told
    if (
        water
        and told
        & {"topped", "filled", "refilled", "added", "add", "more", "put", "poured", "full", "top", "refill"}
        and not (told & {"chips", "brine", "salt"})
    ):
        return {"what": "water"}, first
    fuel = any(sheet.items[i].key("fuel") or sheet.items[i].key("wood") for i in range(*span))
    if (fuel and told & _ADD) or told & {"stoked", "refuelled", "refueled"}:
        return {"what": "fuel"}, first
    if told & _PULL and context.stage == "smoke" and not _brined(sheet, span):
        return {"what": "pulled"}, first
    if told & {"pulled"} and context.stage in {"soak", "salt"} and not _place_said(sheet, span):
        return {"stage": context.stage, "done": True}, first
    if told & {"pulled"} and context.stage is None and not _place_said(sheet, span) and len(words) <= 10:
        return {"what": "pulled"}, first
    return None


def _brined(sheet: Sheet, span: tuple[int, int]) -> bool:
    return any(sheet.items[i].key("place") in {"soak", "salt", "fridge"} for i in range(*span))


def _place_said(sheet: Sheet, span: tuple[int, int]) -> bool:
    return any(sheet.items[i].key("place") for i in range(*span))


def _moved(sheet: Sheet, span: tuple[int, int], context: Context) -> tuple[dict[str, Any], int] | None:
    """Read ``in the brine``, ``out of the brine``, ``on the racks``, ``in the fridge``."""
    best: tuple[dict[str, Any], int] | None = None
    for i in range(*span):
        place = sheet.items[i].key("place")
        if place is None or sheet.taken[i]:
            continue
        j = i - 1
        while j >= span[0] and sheet.text(j) in _SKIP:
            j -= 1
        prep = sheet.text(j) if j >= span[0] else ""
        out = prep in _OUT - {"of"} and not (prep == "out" and sheet.text(j + 1) == "in")
        if out and place in {"soak", "salt", "smoke", "dry"}:
            return {"stage": place, "done": True}, j
        if prep in _IN and not out:
            found = _entered(place, context)
            if best is None or place in {"soak", "smoke"}:
                best = (found, i)
    return best


def _entered(place: str, context: Context) -> dict[str, Any]:
    return {"what": "fridge"} if place == "fridge" else {"stage": place, "started": True}


def _stage_word(sheet: Sheet, span: tuple[int, int], words: list[str]) -> tuple[dict[str, Any], int] | None:
    """Read ``done brining``, ``brine done``, ``started drying``, ``rinsed``, ``brining now``."""
    told = set(words)
    for i in range(*span):
        stage = sheet.items[i].key("stage")
        near = set(" ".join(sheet.words(max(span[0], i - 3), min(span[1], i + 4))).split())
        if stage and near & _DONE and not near & {"by", "nearly", "almost"}:
            return {"stage": stage, "done": True}, i
        if stage and near & _START and not near & {"going"}:
            return {"stage": stage, "started": True}, i
    for i in range(*span):
        for word in sheet.text(i).split():
            if word in _BARE:
                stage, how = _BARE[word]
                return {"stage": stage, how: True}, i
    for i in range(*span):
        word = sheet.text(i)
        if word in _GERUND and (len(words) <= 4 or told & {"now", "since", "been", "ago", "just"}):
            return {"stage": _GERUND[word], "started": True}, i
    return None


def has_time(sheet: Sheet, span: tuple[int, int]) -> bool:
    """True if a time stands in the stretch."""
    return any(when_of(sheet.items[i]) is not None for i in range(*span))
