"""Read what was started, done, turned or topped up, and when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

from bot.understanding.items import Sheet
from bot.understanding.labels import slot_of
from bot.understanding.lot_names import lot_at
from bot.understanding.model import Context, Doubt
from bot.understanding.moments import iso
from bot.understanding.tending import LIT, lit, lots_named, tended, turned
from bot.understanding.tense import negated, will_be
from bot.understanding.timing import find_when, moment, time_slot, when_of
from bot.understanding.vocabulary import strange, strange_deed
from bot.understanding.when import When
from bot.understanding.wordlists import words
from planner.stages import ORDER, Stage

_IN = words("events", "in")
_OUT = words("events", "out")
_SKIP = words("events", "skip")
_DONE = words("events", "done")
_START = words("events", "start")
#: Places that are everyday things too.
_EVERYDAY = words("events", "everyday_places")
_OVERRIDES = words("events", "overrides")
_LONE = {name: words("events", f"lone_{name}") for name in ("done", "started")}
_GERUNDS = words("events", "gerunds")
_STAYING = words("events", "staying")
#: Things that go into a smoker and are no fish.
_GEAR = words("gear", "things")
_PAST_SMOKE = frozenset({"cool", "chill", "pack", "keep"})
_PAST_DRYING = frozenset({"smoke", "cool", "chill", "pack", "keep"})
#: Stages behind which the smoke comes.
_BEFORE_SMOKE = frozenset({"dry", "rinse", "rest"})
#: Words beside a span that has lasted until now.
_LASTING = frozenset({"been", "for", "now", "already", "far"})
#: A clock time so long ago is more likely still to come, where that is nearer.
_LONG_AGO = timedelta(hours=12)
Told = tuple[dict[str, Any], int]


@dataclass
class Event:
    """One event: its slots, where it stands, what could not be settled."""

    slots: dict[str, Any]
    at: int
    doubt: Doubt | None = None


def read_event(sheet: Sheet, span: tuple[int, int], context: Context) -> Event | None:
    """Return the event that a clause tells of, with its time; mark what it took."""
    said = [w for text in sheet.words(*span) for w in text.split()]
    if negated(said):
        return None
    if any(phrase in " ".join(said) for phrase in _OVERRIDES):
        sheet.take(span[0], span[1] - 1, "event: going on against the advice", "override")
        return Event({"override": True}, span[0])
    told = set(said)
    found = (
        turned(sheet, span, told)
        or _moved(sheet, span, context)
        or _entered(sheet, span, told, context)
        or tended(sheet, span, told, context)
        or lit(sheet, span, said)
        or _worked(sheet, span, said, context)
    )
    if found is None or _ahead(said) or _duration_of_soak(sheet, span, told):
        return None
    if found[0].get("stage") == "rest" and context.stage in _PAST_DRYING:
        return None  # what rests on a rack now has nothing to even out
    if _still_to_come(sheet, span, said, _not_before(found[0], context), context):
        return None
    return read_event_of(sheet, span, found, context)


def read_event_of(sheet: Sheet, span: tuple[int, int], found: Told, context: Context) -> Event:
    """Return the event that was found in a clause, with its lot and its time; mark what it took."""
    slots, at = found
    event = Event(dict(slots), at)
    lots = [(i, lot) for i in range(*span) if not sheet.taken[i] and (lot := lot_at(sheet, i, context))]
    before = [lot for i, lot in lots if i < at]
    if lots:  # "thick 147 tails are out": whose the deed is stands nearest before it
        event.slots["lot"] = before[-1] if before else lots[0][1]
    _timed(sheet, span, event, context)
    if slots is LIT:
        event = _asked_if_in(event, context)
    sheet.take(at, at, "event: what happened", ", ".join(f"{k} {v}" for k, v in slots.items()))
    return event


def _asked_if_in(event: Event, context: Context) -> Event:
    """Ask whether the fish is in where the smoke comes next: a fire alone is no fish in the smoke."""
    if context.stage not in _BEFORE_SMOKE or event.doubt is not None:
        return event
    fish_in = {"stage": "smoke", "started": True}
    return Event(event.slots, event.at, Doubt("stage", (("Fish is in", fish_in), ("Not yet", {})), "lit"))


def _duration_of_soak(sheet: Sheet, span: tuple[int, int], told: set[str]) -> bool:
    """True where "12 hours in the brine" was read as how long the soak is to take."""
    lasting = [i for i in range(*span) if (q := sheet.items[i].quantity) and q.kind == "time" and sheet.taken[i]]
    return bool(lasting) and not told & {"been", "ago", "now", "just", "started"}


def _still_to_come(
    sheet: Sheet, span: tuple[int, int], said: list[str], floor: datetime | None, context: Context
) -> bool:
    """True if the time said can only lie ahead, and no verb looks back."""
    i = find_when(sheet, span)
    when = when_of(sheet.items[i]) if i is not None else None
    if i is None or when is None or set(said) & words("events", "looks_back") - {"got"} or "since" in said:
        return False
    if when.span_s is not None:
        return when.span_s > 0
    if when.weekday is not None and when.week >= 0:
        return True
    back, doubt = moment(when, "at", "past", context, floor)
    if (when.prep or sheet.items[i].prep) in {"by", "till", "until", "til"}:
        return _nearer_ahead(when, back, context)
    hourly = when.hour is not None or when.part in {"midnight", "noon"}
    if back is not None and when.day is None and hourly and context.now - back > _LONG_AGO:
        return _nearer_ahead(when, back, context)  # "in the brine 9 pm", told at eight
    if (
        back is not None
        and when.bare
        and not set(said) & words("events", "pull")
        and context.now - back > timedelta(hours=3)
    ):
        return _nearer_ahead(when, back, context)
    return doubt is not None and not doubt.options


def _nearer_ahead(when: When, back: datetime | None, context: Context) -> bool:
    """True if the time lies ahead, and nearer than the moment it would be in the past."""
    ahead, _ = moment(when, "at", "future", context)
    if ahead is None or ahead <= context.now:
        return False
    return back is None or ahead - context.now < context.now - back


def _ahead(said: list[str]) -> bool:
    """True if the words speak of what is to come: by the verb, or by the day where no verb looks back."""
    told = set(said)
    if told & {"start", "starting", "begin"} and any(c.isdigit() for w in said for c in w) and "now" not in told:
        return True  # "start brining at 7"
    if not will_be(said) or (told & {"just", "now", "already"} and not told & {"will", "gonna", "later", "tomorrow"}):
        return False
    return not (told & words("events", "looks_back") and not told & {"will", "gonna", "plan", "want", "need", "should"})


def _timed(sheet: Sheet, span: tuple[int, int], event: Event, context: Context) -> None:
    i = find_when(sheet, span)
    until_now = i is not None and (when := sheet.items[i].when) is not None and when.now
    if until_now and event.slots.get("started") and _lasting(sheet, span) is not None:
        i = None  # "in the brine 30 minutes now"
    if i is not None:
        slots, event.doubt = time_slot(sheet, i, "at", "past", context, _not_before(event.slots, context))
        event.slots.update(slots)
        return
    lasting = _lasting(sheet, span)
    if lasting is not None and event.slots.get("started"):
        span_s = sheet.items[lasting].quantity.value  # type: ignore[union-attr]
        at = context.now.astimezone(UTC) - timedelta(seconds=span_s)
        event.slots["at"] = iso(at.astimezone(ZoneInfo(context.zone)))
        sheet.take(lasting, lasting, "time: how long so far", event.slots["at"])


def _not_before(slots: dict[str, Any], context: Context) -> datetime | None:
    """Return the moment before which an event cannot lie: a stage ends, and the next begins, after it began."""
    stage = slots.get("stage")
    if context.stage == "smoke" and slots.get("what") in {"pulled", "rotated"}:
        return context.stage_since  # none of it was done before the smoke
    if context.stage is None or context.stage_since is None or stage is None:
        return None
    later = ORDER.index(Stage(stage)) > ORDER.index(Stage(context.stage))
    return context.stage_since if later or (stage == context.stage and "done" in slots) else None


def _lasting(sheet: Sheet, span: tuple[int, int]) -> int | None:
    """Return the duration in "been in the brine for 3 hours"."""
    for i in range(*span):
        amount = sheet.amount(i)
        if amount is not None and amount.kind == "time" and _LASTING & set(sheet.words(*span)):
            return i
    return None


def _moved(sheet: Sheet, span: tuple[int, int], context: Context) -> Told | None:
    """Read ``in the brine``, ``out of the brine``, ``on the racks``, ``in the fridge``."""
    best: Told | None = None
    for i in range(*span):
        place = sheet.items[i].key("place")
        everyday = bool(set(sheet.text(i).split()) & _EVERYDAY)
        if place == "cool" and context.stage not in {"smoke", "cool"}:
            continue
        if place == "dry" and context.stage in _PAST_DRYING:
            continue  # what lies on a rack now cools or waits there
        if place == "pack" and context.stage not in _PAST_SMOKE:
            continue  # a cure in the bag
        if place is None or sheet.taken[i] or (everyday and strange(sheet, span)):
            continue
        prep, at = _prep_before(sheet, span, i)
        if sheet.text(at - 1) == "air" and at > span[0] and prep in _IN:
            continue  # "air in the dryer 64": the air is there
        if place in {"dry", "cool"} and any(sheet.items[j].key("stage") == "cool" for j in range(*span)):
            place = "cool"  # "cooling on the racks"
        if prep in _OUT - {"of"} and place == "freezer":
            return {"stage": "thaw", "started": True}, at
        if prep in _OUT - {"of"} and place in {"soak", "salt", "smoke", "dry"}:
            if place == "smoke" and lots_named(sheet, span, context):
                return {"what": "pulled"}, at
            return {"stage": place, "done": True}, at
        lying = next((k for j in range(*span) if (k := sheet.items[j].key("stage")) in {"rest", "dry"}), None)
        if place == "fridge" and lying:
            return {"stage": lying, "started": True}, at
        if (
            prep in _IN
            and place != "freezer"
            and _goes_there(sheet, span, i, place, context)
            and (best is None or place in {"soak", "smoke"})
        ):
            best = (
                ({"what": "fridge"} if place == "fridge" else {"stage": _unlit(sheet, i, place), "started": True}),
                at,
            )
    return best


def _unlit(sheet: Sheet, i: int, place: str) -> str:
    """Return dry for "in the smoker, no fire yet": the smoker as a place to dry in."""
    behind = sheet.words(i + 1, i + 6)
    cold = any(a == "no" and b in {"fire", "heat", "smoke"} for a, b in pairwise(behind))
    return "dry" if place == "smoke" and cold else place


def _prep_before(sheet: Sheet, span: tuple[int, int], i: int) -> tuple[str, int]:
    """Return the preposition before a place, ``out`` for ``out of the``."""
    j = i - 1
    while j >= span[0] and sheet.text(j) in _SKIP:
        j -= 1
    if j < span[0]:
        return "", i
    if sheet.text(j) == "of" and sheet.text(j - 1) == "front":
        return "in", j - 1
    if sheet.text(j) == "to" and sheet.text(i) in {"smoke", "brine", "air", "heat", "rack"}:
        return "", j  # "to smoke" is the work
    if sheet.text(j) == "of" or sheet.text(j + 1) == "of":
        k = j if sheet.text(j) != "of" else j - 1
        return ("out", max(k, span[0])) if sheet.text(k) in {"out", "off", "outa", "outta"} else ("", j)
    return sheet.text(j), j


def _goes_there(sheet: Sheet, span: tuple[int, int], i: int, place: str, context: Context) -> bool:
    """True if the fish, not something else, went to the place."""
    said = set(" ".join(sheet.words(span[0], i) + sheet.words(i + 1, span[1])).split())
    if place == "fridge" and (strange(sheet, span) or sheet.text(span[0]) == "ice"):
        return False
    if said & _GEAR - {"pan", "ice"} and not said & {"fish", "it", "them", "em"}:
        return False  # a thermometer in the fridge
    if said & {"still", *_STAYING} or any(
        (q := sheet.items[j].quantity) and q.kind == "volume" for j in range(*span)
    ):
        return False
    if said & {"chips", "wood", "charcoal", "water", "log", "temp", "pellets", "salt", "sugar"} and place in {
        "smoke",
        "dry",
        "soak",
    }:
        return bool(said & {"fish", "it", "them"})
    if place == "fridge" and context.stage in {"thaw"}:
        return False
    thawing = any(sheet.items[j].key("stage") == "thaw" or sheet.items[j].key("state") for j in range(*span))
    return not (place == "fridge" and thawing)


def _entered(sheet: Sheet, span: tuple[int, int], said: set[str], context: Context) -> Told | None:
    """Read ``went in at 5``, ``in at 5:15``: with no place said, the next one in the order of work."""
    if "in" not in said or strange(sheet, span) or any(_no_fish(sheet, i) for i in range(*span)):
        return None
    i = next(i for i in range(*span) if "in" in sheet.text(i).split())
    gone = bool(said & {"went", "going", "goes", "put", "dunked", "threw", "tossed", "dropped", "been"})
    if _all_in(sheet, span, said):
        return _next_place(context, i)
    timed = i + 1 < span[1] and (
        sheet.items[i + 1].when is not None
        or sheet.items[i + 1].text in {"at", "since", "@", "just", "around", "about"}
    )
    if not timed or not (gone or i - span[0] <= 1) or any(slot_of(sheet.items[j]) for j in range(*span)):
        return None
    return _next_place(context, i)


def _no_fish(sheet: Sheet, i: int) -> bool:
    """True for a place, fuel, water or gear: what goes in "at 5" is not the fish."""
    item = sheet.items[i]
    return bool(
        item.key("place") or item.key("fuel") or item.key("wood") or item.key("water") or item.text in _GEAR
    )


def _all_in(sheet: Sheet, span: tuple[int, int], said: set[str]) -> bool:
    """True for "fish is in", "they're in", "all in": nothing else is said, and "6 lb all in" is a sum."""
    if any(sheet.items[i].quantity or sheet.items[i].key("form") for i in range(*span)):
        return False
    return len(said) <= 4 and sheet.text(span[1] - 1) == "in" and bool(said & words("events", "all_of_it"))


def _next_place(context: Context, i: int) -> Told | None:
    """Return where fish goes in next, by the stage that the batch is in."""
    if context.stage in {"cool", "chill", "pack", "keep"}:
        return None
    smokes = context.stage in {"dry", "rinse", "rest", "smoke"}
    return {"stage": "smoke" if smokes else "salt" if context.stage == "salt" else "soak", "started": True}, i


def _worked(sheet: Sheet, span: tuple[int, int], said: list[str], context: Context) -> Told | None:
    """Read ``done brining``, ``brine done``, ``started drying``, ``rinsed``, ``brining now``."""
    return (
        _named_stage(sheet, span) or _lone_verb(sheet, span, context) or _going_on(sheet, span, said, context)
    )


def _named_stage(sheet: Sheet, span: tuple[int, int]) -> Told | None:
    for i in range(*span):
        stage = sheet.items[i].key("stage")
        if stage is None or (sheet.taken[i] and not sheet.items[i].key("cure")):
            continue
        near = set(" ".join(sheet.words(max(span[0], i - 3), min(span[1], i + 4))).split())
        switched = sheet.text(i + 1) == "on" and sheet.text(i + 2) not in {"high", "low"}
        if switched and sheet.text(i) != "dry" and not strange_deed(sheet, span):
            return {"stage": stage, "started": True}, i
        if near & _DONE and not near & {"by", "nearly", "almost", "before"}:
            return {"stage": stage, "done": True}, i
        if near & _START or near & {"gave", "given"}:
            return {"stage": stage, ("done" if near & {"gave", "given"} else "started"): True}, i
    return None


def _lone_verb(sheet: Sheet, span: tuple[int, int], context: Context) -> Told | None:
    """Read a verb that tells of a stage by itself: ``rinsed``, ``hung``, ``bagged``."""
    if strange_deed(sheet, span):
        return None
    for i in range(*span):
        packed = context.stage in {"cool", "chill", "pack"} and sheet.items[i].key("pack")
        if sheet.taken[i] and not packed:
            continue
        if sheet.text(i) == "hung" and sheet.text(i + 1) in {"out", "over", "around"}:
            continue
        for word in sheet.text(i).split():
            for how, listed in _LONE.items():
                stage = next((pair.split(":")[1] for pair in listed if pair.startswith(f"{word}:")), None)
                if stage == "pack" and not _packs_fish(sheet, i):
                    continue
                if stage is not None:
                    return {"stage": stage, how: True}, i
    return None


def _packs_fish(sheet: Sheet, i: int) -> bool:
    """False for "packed lunch", "packed my bags", "sealed the deck", and for "packed in dry salt"."""
    if i + 1 >= len(sheet.items):
        return True
    if {"salt", "ice"} & {word for text in sheet.words(i + 1, i + 5) for word in text.split()}:
        return False
    following = sheet.items[i + 1]
    if following.text in {"my bags", "house"}:
        return False
    if following.when is not None:
        return bool(following.when.prep) or following.when.hour is not None or following.when.span_s is not None
    if following.text in {"the", "my", "our", "a"} and i + 2 < len(sheet.items):
        thing = sheet.items[i + 2]
        return bool(
            thing.key("species")
            or thing.key("form")
            or thing.key("lot")
            or thing.text in {"fish", "rest", "lot", "batch"}
        )
    return not (following.key("label") or following.key("place") in {"cool", "fridge"})


def _going_on(sheet: Sheet, span: tuple[int, int], said: list[str], context: Context) -> Told | None:
    for i in range(*span):
        word, stage = sheet.text(i).split()[0] if sheet.text(i) else "", sheet.items[i].key("stage")
        since = bool({"now", "since", "been", "ago", "just"} & set(said))
        if stage == "pack" and context.stage not in {"cool", "chill", "pack"}:
            continue
        stage = stage or {"hanging": "dry"}.get(word)
        if (stage == context.stage and not since) or sheet.text(i - 1) in {"for", "before", "after"}:
            continue
        alone = not strange_deed(sheet, span) and (len(said) <= 5 or since)
        if word in _GERUNDS and stage and not sheet.taken[i] and alone:
            return {"stage": stage, "started": True}, i
    return None
