"""Read what a message tells and asks: the batch, readings, events, questions; several at once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from bot.understanding.batch_names import named_batches
from bot.understanding.deeds import deeds, give_lot, read_along, read_out, share_time
from bot.understanding.describing import Description, read_description
from bot.understanding.events import Event, read_event
from bot.understanding.items import Sheet
from bot.understanding.measured_salt import read_measured_salt
from bot.understanding.model import Context, Doubt, Heard
from bot.understanding.plans import read_plan
from bot.understanding.questions import question_start, read_question
from bot.understanding.reading import Reading
from bot.understanding.readings import read_readings
from bot.understanding.recipes import read_recipe
from bot.understanding.tense import negated
from bot.understanding.timing import when_of
from bot.understanding.told_when import give_times
from bot.understanding.vocabulary import strange
from bot.understanding.wordlists import words

#: Slots that make a description by themselves.
_SOLID = words("statements", "solid")
#: Words that show that fish is talked about, not worked on.
_IDLE = words("statements", "idle")
#: Slots that a word from elsewhere makes something else's: "flour 500 g", "3 lb of salt from the store".
_LOOSE = frozenset({"mass_g", "pieces", "thickness_mm", "water_ml", "salt_g", "sugar_g", "salt_kind"})
#: Words of fish that got away, or went elsewhere.
_GOT_AWAY = words("statements", "got_away")


@dataclass
class Told:
    """Something heard, where it stands, and what of it is open."""

    at: int
    heard: Heard
    doubts: list[Doubt]


def read_statements(sheet: Sheet, context: Context) -> list[Told]:
    """Return all that is told and asked, in the order of the words."""
    names = named_batches(sheet, context)
    told: list[Told] = []
    statements: list[tuple[int, int]] = []
    for span in sheet.sentences():
        marked = span[1] < len(sheet.items) and "?" in sheet.text(span[1])
        start = question_start(sheet, span, marked)
        if start is None:
            statements.append(span)
            continue
        if start > span[0]:
            statements.append((span[0], start))
        found = read_question(sheet, (start, span[1]), marked, context)
        if found is not None:
            told.append(Told(start, *found))
    told.extend(_told(sheet, statements, context))
    told = [_with_batch(t, names, context) for t in sorted(told, key=lambda t: t.at)]
    return [t for t in told if t.heard.slots or t.doubts or t.heard.intent != "describe"]


def _with_batch(told: Told, names: list[tuple[int, str]], context: Context) -> Told:
    """Give what was told to the batch named before it, or else to the only one named."""
    before = [name for at, name in names if at <= told.at]
    name = before[-1] if before else names[0][1] if names else None
    if name is None:
        return told
    slots = {k: v for k, v in told.heard.slots.items() if k != "species"}
    return replace(told, heard=replace(told.heard, batch=name, slots=slots))


def _told(sheet: Sheet, spans: list[tuple[int, int]], context: Context) -> list[Told]:
    if not spans:
        return []
    part = _only(sheet, spans)
    readings: list[Reading] = [r for span in spans for r in read_measured_salt(part, span)]
    description = _described(part, spans, context)
    events: list[Event] = []
    for span in spans:
        readings += read_readings(part, span, context)
        told_here = _events(part, span, context, events)
        for piece in [p for clause in _clauses(part, span) for p in deeds(part, clause)]:
            if piece not in told_here:
                read_plan(part, piece, description, context)
    for span in spans:
        give_times(part, span, _clauses(part, span), [*readings, *events], context)
    events = _merged(events, description)
    if context.stage is None and _SOLID & set(description.slots):
        readings = _conditions(readings, description)
        events = [e for e in events if e.slots.get("what") != "fridge"]
    sheet.pieces.extend(part.pieces)
    told = [Told(r.at, Heard("reading", r.slots), [r.doubt] if r.doubt else []) for r in readings]
    told += [Told(e.at, Heard("event", e.slots), [e.doubt] if e.doubt else []) for e in events]
    if _worth_telling(part, spans, description, bool(told), context):
        told.append(Told(description.first or 0, Heard("describe", description.slots), description.doubts))
    return told


def _events(sheet: Sheet, span: tuple[int, int], context: Context, events: list[Event]) -> set[tuple[int, int]]:
    """Add the events of a sentence, clause by clause, else as a whole; return the clauses that told one."""
    told: set[tuple[int, int]] = set()
    found: list[Event] = []
    clauses = _clauses(sheet, span)
    for clause in clauses:
        for piece in deeds(sheet, clause):
            event = read_event(sheet, piece, context)
            if event is None and found and piece == clause:
                event = read_along(sheet, clause, found[-1], context)
            if event is None and found and sheet.text(piece[0]) == "out":
                event = read_out(sheet, piece, found[-1], context)
            if event is not None:
                share_time(found[-1:], event)
                found.append(event)
                told.add(piece)
    if not told and len(clauses) > 1:
        event = read_event(sheet, span, context)
        events += [event] if event is not None else []
        return set(clauses) if event is not None else told
    give_lot(sheet, clauses, found, context)
    events += found
    return told


def _only(sheet: Sheet, spans: list[tuple[int, int]]) -> Sheet:
    """Return a sheet in which all but the given stretches count as taken."""
    part = Sheet(sheet.items)
    inside = {i for span in spans for i in range(*span)}
    part.taken = [i not in inside or sheet.taken[i] for i in range(len(sheet.items))]
    return part


def _described(sheet: Sheet, spans: list[tuple[int, int]], context: Context) -> Description:
    recipe = read_recipe(sheet, context)
    description = read_description(sheet, context)
    if recipe is not None:
        description.put(recipe.first or 0, **recipe.slots)
        description.doubts += recipe.doubts
    return description


def _clauses(sheet: Sheet, span: tuple[int, int]) -> list[tuple[int, int]]:
    """Cut a sentence at commas and joining words."""
    joints = words("statements", "joints")
    cuts = [i for i in range(span[0] + 1, span[1] - 1) if sheet.text(i) in joints and sheet.text(i + 1) != "far"]
    starts = [span[0], *(i + 1 for i in cuts)]
    return [(a, b) for a, b in zip(starts, [*cuts, span[1]], strict=True) if b > a]


def _merged(events: list[Event], description: Description) -> list[Event]:
    """Put the start of the soak into the description of the batch; count the same event once."""
    kept: list[Event] = []
    solid = bool(_SOLID & set(description.slots))
    if any(e.slots.get("stage") == "smoke" for e in events):
        events = [e for e in events if e.doubt is None or e.doubt.slot != "stage"]  # the fish is said to be in
    for event in events:
        starts = event.slots.get("stage") in {"soak", "salt"} and event.slots.get("started")
        if starts and solid and ("at" in event.slots or event.doubt):
            if event.doubt is None:
                description.put(event.at, soak_start=event.slots["at"])
            else:
                options = tuple((name, {"soak_start": slots["at"]}) for name, slots in event.doubt.options)
                description.doubts.append(Doubt("soak_start", options, event.doubt.reason))
        elif all({**event.slots, "at": 0} != {**other.slots, "at": 0} for other in kept):
            kept.append(event)
    return kept


def _conditions(readings: list[Reading], description: Description) -> list[Reading]:
    """Put the cold or the air in which a new batch lies into its description."""
    for reading in readings:
        if reading.slot in {"fridge_c", "air_c", "rh_pct"} and reading.doubt is None and "at" not in reading.slots:
            description.put(reading.at, **reading.slots)
    return [r for r in readings if r.slots.items() - description.slots.items() or r.doubt]


def _is_time(sheet: Sheet, i: int) -> bool:
    """True for an hour or a span of time."""
    amount = sheet.items[i].quantity
    return when_of(sheet.items[i]) is not None or (amount is not None and amount.kind == "time")


def _elsewhen(spans: list[tuple[int, int]], sheet: Sheet) -> bool:
    """True where another time is spoken of, not this batch: "might do 10 lb next time"."""
    said = f" {' '.join(word for span in spans for word in sheet.words(*span))} "
    return any(f" {cue} " in said for cue in words("statements", "elsewhen"))


def _worth_telling(
    sheet: Sheet, spans: list[tuple[int, int]], description: Description, beside: bool, context: Context
) -> bool:
    """True if the description says something of a batch, not just that fish exists."""
    slots: dict[str, Any] = description.slots
    if not slots and not description.doubts:
        return False
    said = {word for span in spans for text in sheet.words(*span) for word in text.split()}
    if said & _IDLE and set(slots) <= {"species", "form", "ready_by", "state", "caught_at", "taste"}:
        return False
    if _elsewhen(spans, sheet) or (said & _GOT_AWAY and set(slots) <= {"species", "mass_g", "form", "pieces", "state"}):
        return False
    if said & words("food", "other") and not {"species", "lots"} & set(slots):
        return False
    elsewhere = any(strange(sheet, span) for span in spans)
    if "more" in said and set(slots) <= {"caught_at", "pieces"} and context.stage is not None:
        return False  # "caught 3 more today"
    recipe = "water_ml" in slots and {"salt_g", "sugar_g"} & set(slots)
    if elsewhere and set(slots) <= _LOOSE and not recipe and not description.doubts:
        return False  # "flour 500 g"
    if _SOLID & set(slots) or description.doubts:
        return True
    if beside and set(slots) <= {"species", "form"}:
        return False  # "the coho core is 141" names the fish, it does not describe one
    figures = [i for span in spans for i in range(*span) if sheet.amount(i)]
    if not beside and any(not _is_time(sheet, i) for i in figures):
        return False  # a figure that nothing took: something else is meant
    if negated([sheet.text(i) for span in spans for i in range(*span) if not sheet.taken[i]]):
        return False
    return beside or not elsewhere
