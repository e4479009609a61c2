"""Questions that stand alone: the sums on what the question itself says, no batch needed."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from bot import facts
from bot.replies.part import Part, pen_of
from bot.say import general as words
from bot.say.answer import enough_words
from bot.say.refuse import refusal_words
from bot.work import Work
from planner.batch import read_batch
from planner.brine import Brine, brine
from planner.brine_said import OneStrength, salt_said, sugar_said
from planner.entries import Entry, Kind
from planner.hold import marks
from planner.limits import citation, rule
from planner.planning import plan_batch
from planner.ranges import OutOfRange
from planner.salts import UnknownIngredient
from planner.salts import salt as salt_of
from planner.saltwater import OverSaturated
from planner.stages import Stage
from planner.whatif import salt_outlook

Slots = Mapping[str, Any]

#: What the planner refuses a description for; all else is a fault.
REFUSALS = (OutOfRange, OverSaturated, OneStrength, UnknownIngredient)

#: Slots that say that a fish is there to be salted.
FISH_SLOTS = frozenset({"species", "thickness_mm", "mass_g", "form", "pieces", "lots", "skin", "state"})

_SALT_SLOTS = frozenset({"salt_ml_per_l", "salt_g_per_l", "salt_g", "salt_pct", "salometer_deg"})


def general_answer(work: Work, topic: str, slots: Slots, text: str) -> Part | None:
    """The answer to a question that brings its own figures; None where it brings none."""
    try:
        if _SALT_SLOTS & slots.keys() and not FISH_SLOTS & slots.keys():
            return _strength(work, slots)
        if topic in ("how_long", "wps", "other", "stay") and FISH_SLOTS & slots.keys():
            return _fish(work, slots)
        if "core_c" in slots and topic in ("enough", "other") and work.focus is None:
            return _enough(work, float(slots["core_c"]))
        if topic == "keep" and work.focus is None:
            return _keep(work)
        if topic == "temperature" and work.focus is None:
            return Part(words.temperatures(pen_of(work)), (facts.answer("temperature", {}),))
    except REFUSALS as problem:
        return Part(refusal_words(problem, pen_of(work)), (facts.question("salt_pct"),))
    return None


def _strength(work: Work, slots: Slots) -> Part:
    """Any way of saying a brine into every other."""
    pen = pen_of(work)
    kind_open = "salt_ml_per_l" in slots and "salt_kind" not in slots
    said = dict(slots) | ({"salt_kind": "table"} if kind_open else {})
    mixed = _brine_of(said)
    kind = str(said.get("salt_kind", "table"))
    by_volume = "salt_ml_per_l" in said
    text = words.strength(mixed, kind if by_volume else None, kind_open, float(said.get("water_ml", 0.0)), pen)
    source = salt_of(kind).citation.text() if by_volume else "definition of the scale: 100 degrees are 26.395 % salt"
    return Part(text, (facts.answer("strength", words.strength_values(mixed), source),))


def _brine_of(slots: Slots) -> Brine:
    water_ml = float(slots.get("water_ml", 1000.0))
    if "salt_g" in slots and "water_ml" not in slots:
        raise OneStrength(("salt_g",))
    return brine(water_ml, salt_said(slots), sugar_said(slots))


def _fish(work: Work, slots: Slots) -> Part | None:
    """A soak for a fish that is only asked about: the plan of a batch that is not kept."""
    pen = pen_of(work)
    entry = Entry(1, Kind.DESCRIBE, work.now, work.now, work.who, dict(slots))
    plan = plan_batch(read_batch((entry,), work.now), work.habits, work.now)
    row = plan.stage(Stage.SOAK) or plan.stage(Stage.SALT)
    if row is None:
        return None
    hours = (row.end - row.start) / timedelta(hours=1)
    said = facts.plan(plan, 0, pen)
    values = {"soak_h": round(hours, 1), "wps_pct": said["wps_pct"], "brine": said["brine"]}
    ahead = salt_outlook(plan, work.habits, float(rule("airless")["wps_pct"]))
    if ahead is not None:
        values["levers"] = [{"change": str(x.change), "value": round(x.value, 1)} for x in ahead.levers]
    return Part(words.soak(plan, hours, ahead, pen), (facts.answer("how_long", values),))


def _enough(work: Work, value: float) -> Part:
    floor, aim = marks()
    values = {"core_c": value, "floor_c": floor.core_c, "aim_c": aim.core_c, "hold_min": aim.hold_min}
    return Part(
        enough_words(value, floor, aim, pen_of(work)), (facts.answer("enough", values, floor.citation.text()),)
    )


def _keep(work: Work) -> Part:
    values = {"days": 14, "fridge_c": 3.3}
    return Part(words.keep(pen_of(work)), (facts.answer("keep", values, citation("keep.ceiling").text()),))
