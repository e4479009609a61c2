# ruff: noqa: E501, RUF007
"""Read what a message tells: the batch, readings, events; several at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from bot.understanding.describing import Description, read_description
from bot.understanding.events import Event, read_event
from bot.understanding.items import Sheet
from bot.understanding.model import Context, Doubt, Heard
from bot.understanding.questions import commands, read_question
from bot.understanding.readings import Reading, read_readings
from bot.understanding.recipes import read_recipe
from bot.understanding.tense import asks, looks_ahead
from bot.understanding.timing import find_when, time_slot

#: Slots that say what a batch is; with one of them a message describes.
_BATCH = frozenset(
    ["species", "form", "mass_g", "pieces", "thickness_mm", "lots", "skin", "state", "caught_at"]
)
_SOLID = frozenset(
    [
        "species",
        "mass_g",
        "pieces",
        "thickness_mm",
        "lots",
        "cure",
        "salt_ml_per_l",
        "salt_g",
        "salt_pct",
        "salometer_deg",
        "salt_per_fish_pct",
        "sugar_per_salt",
        "salt_g_per_l",
        "brine_ml",
    ]
)


@dataclass
class Told:
    """Something heard, where it stands, and what of it is open."""

    at: int
    heard: Heard
    doubts: list[Doubt]


def read_statements(sheet: Sheet, context: Context) -> list[Told]:
    """Return all that is told and asked, in the order of the words."""
    told: list[Told] = []
    statements: list[tuple[int, int]] = []
    for span in sheet.sentences():
        marked = span[1] < len(sheet.items) and "?" in sheet.text(span[1])
        if asks(sheet.words(*span), marked) or commands(" ".join(sheet.words(*span))):
            told.extend(_asked(sheet, span, context))
        else:
            statements.append(span)
    told.extend(_told(sheet, statements, context))
    return sorted(told, key=lambda t: t.at)


def _asked(sheet: Sheet, span: tuple[int, int], context: Context) -> list[Told]:
    heard, doubts, at = read_question(sheet, span, context)
    return [Told(at, heard, doubts)]


def _told(sheet: Sheet, spans: list[tuple[int, int]], context: Context) -> list[Told]:
    if not spans:
        return []
    description, recipe_at = _described(sheet, context)
    events: list[Event] = []
    readings: list[Reading] = []
    solid = bool(_SOLID & set(description.slots))
    for span in spans:
        for clause in _clauses(sheet, span):
            event = read_event(sheet, clause, context)
            if event is not None:
                events.append(event)
            else:
                _plans(sheet, clause, description, context)
        readings += read_readings(sheet, span, context)
    events = _merged_start(events, description)
    told = [Told(e.at, Heard("event", e.slots), [e.doubt] if e.doubt else []) for e in events]
    told += [Told(r.at, Heard("reading", r.slots), [r.doubt] if r.doubt else []) for r in readings]
    if description.slots or description.doubts:
        told.append(
            Told(
                min(description.first or 0, recipe_at),
                Heard("describe", description.slots),
                description.doubts,
            )
        )
    _ = solid
    return told


def _described(sheet: Sheet, context: Context) -> tuple[Description, int]:
    recipe = read_recipe(sheet)
    description = read_description(sheet, context)
    if recipe is not None:
        slots: dict[str, Any] = recipe[0]
        description.put(recipe[1], **slots)
        return description, recipe[1]
    return description, description.first if description.first is not None else 10**9


def _clauses(sheet: Sheet, span: tuple[int, int]) -> list[tuple[int, int]]:
    """Cut a sentence at commas and joining words, where the next part can stand alone."""
    cuts = [span[0]]
    for i in range(span[0] + 1, span[1] - 1):
        if sheet.items[i].text in {",", "and", "then", "but", "+", "&", "so"} and sheet.items[i].kind in {
            "word",
            "sym",
        }:
            cuts.append(i)
    cuts.append(span[1])
    return [(a + (1 if a != span[0] else 0), b) for a, b in zip(cuts, cuts[1:], strict=False) if b > a]


def _merged_start(events: list[Event], description: Description) -> list[Event]:
    """Put the start of the soak into the description, where the message tells of the batch too."""
    if not _BATCH & set(description.slots) and not _SOLID & set(description.slots):
        return events
    rest = []
    for event in events:
        starts = event.slots.get("stage") in {"soak", "salt"} and event.slots.get("started")
        if starts and "at" in event.slots:
            description.put(event.at, soak_start=event.slots["at"])
        elif starts and event.doubt is not None:
            description.doubts.append(
                Doubt(
                    "soak_start",
                    tuple((n, {"soak_start": s.get("at")}) for n, s in event.doubt.options),
                    event.doubt.reason,
                )
            )
        elif not starts:
            rest.append(event)
        else:
            rest.append(event)
    return rest


def _plans(sheet: Sheet, clause: tuple[int, int], description: Description, context: Context) -> None:
    """Read what is to come: ``brining tonight``, ``start smoking at 9 tomorrow``, ``out of the brine at 7 tomorrow``."""
    words = [w for text in sheet.words(*clause) for w in text.split()]
    stages = {key for i in range(*clause) if (key := sheet.items[i].key("stage"))}
    places = {key for i in range(*clause) if (key := sheet.items[i].key("place"))}
    i = find_when(sheet, clause)
    if i is None:
        return
    when = sheet.items[i].when
    slot = None
    if ({"out", "pull", "rinse", "pulling", "rinsing", "taking", "done"} & set(words)) and (
        stages | places | {"rinse"}
    ) & {"soak", "salt", "rinse"}:
        slot = "soak_end"
    elif {"soak", "salt"} & (stages | places):
        slot = "soak_start"
    elif {"smoke", "dry"} & (stages | places) or {"start", "starting"} & set(words):
        slot = "start_at"
    if slot is None or not (
        looks_ahead(words)
        or (when is not None and (when.day or when.part or when.weekday or when.now))
        or "start" in words
    ):
        return
    direction = "future"
    slots, doubt = time_slot(sheet, i, slot, direction, context)
    description.put(i, **slots)
    if doubt:
        description.doubts.append(doubt)
