"""Read a question: where it begins, what it is about and the values that it names."""

from __future__ import annotations

from typing import Any

from bot.understanding.describing import read_description
from bot.understanding.items import Sheet
from bot.understanding.labels import slot_of
from bot.understanding.model import Context, Doubt, Heard
from bot.understanding.moments import iso
from bot.understanding.plausible import possible, readings_c
from bot.understanding.quantities import Quantity
from bot.understanding.readings import read_readings
from bot.understanding.recipes import read_recipe
from bot.understanding.temperatures import temperature
from bot.understanding.tense import asks
from bot.understanding.timing import moment, time_slot, when_of
from bot.understanding.topics import topic_of, words_of
from bot.understanding.vocabulary import strange
from bot.understanding.when import When
from bot.understanding.wordlists import words

_COMMANDS = words("questions", "commands")
_POLITE = words("questions", "polite")
_BREAKS = words("questions", "breaks")
_SHORT = words("questions", "short")
#: Words that tell what was done.
_DONE_WORDS = words("questions", "done_words")
_IF_WORDS = frozenset({"if", "when", "once", "after"})
#: Words of the longest short question.
_SHORTEST = 3
#: Topics to which the amounts in front belong: "half a cup per quart, how strong is that".
_TAKES_ALL = frozenset({"strength", "how_long", "wps", "keep", "what_if", "temperature"})
#: The slot that a time in a question fills, by topic; ``at`` where nothing else is meant.
_TIME_SLOT = {"stay": "soak_end", "what_if": "start_at"}
_IRRELEVANT = {
    "wps": {"taste"},
    "strength": {"taste", "cure"},
    "exposure": {"state"},
    "status": {"species", "form"},
}


def question_start(sheet: Sheet, span: tuple[int, int], marked: bool) -> int | None:
    """Return where in a sentence the question begins, or None if there is none."""
    said = _flat(sheet, span)
    if asks(said) or (_commands(said) and not _noun(sheet, span, said)) or (said[:1] == ["if"] and topic_of(said)):
        return span[0]
    inner = _inner(sheet, span, marked)
    if inner is None:
        return span[0] if marked and _has_words(sheet, span) else None
    conditional = {"if", "when", "suppose", "say"} & set(_flat(sheet, (span[0], inner)))
    topic = topic_of(_flat(sheet, (inner, span[1])))
    bare = not any(sheet.items[i].senses for i in range(span[0], inner))
    if (
        conditional
        or (bare and any(sheet.items[i].quantity for i in range(span[0], inner)))
        or (topic in _TAKES_ALL and not _measures(sheet, (span[0], inner)))
    ):
        return span[0]
    return inner


def _noun(sheet: Sheet, span: tuple[int, int], said: list[str]) -> bool:
    """True where ``next``, ``record``, ``last`` begin a description: ``next batch 6 lb coho``, ``last one``."""
    if said[0] == "last":
        return not words("questions", "logged") & set(said[1:3])  # "last week the core …" tells
    if said[0] == "log":
        return sheet.items[min(span[0] + 1, len(sheet.items) - 1)].quantity is not None
    told = any(sheet.items[i].quantity or sheet.items[i].when or sheet.items[i].key("species") for i in range(*span))
    return told and said[0] in {"next", "record", "label", "plan", "list"}


def _flat(sheet: Sheet, span: tuple[int, int]) -> list[str]:
    return [word for text in sheet.words(*span) for word in text.split()]


def _has_words(sheet: Sheet, span: tuple[int, int]) -> bool:
    return any(sheet.items[i].kind != "sym" for i in range(*span))


def _measures(sheet: Sheet, span: tuple[int, int]) -> bool:
    """True if a stretch tells a reading or an event."""
    said = set(_flat(sheet, span))
    if said & _DONE_WORDS and not said & _IF_WORDS:
        return True
    return any(slot_of(sheet.items[i]) or sheet.items[i].key("lot") for i in range(*span))


def _inner(sheet: Sheet, span: tuple[int, int], marked: bool) -> int | None:
    """Return where a question starts inside a sentence: behind a joining word, or at a short "enough?"."""
    for i in range(span[0] + 1, span[1]):
        behind = sheet.text(i - 1) in _BREAKS or sheet.items[i - 1].kind in {"amount", "when"}
        last = marked and i >= span[1] - _SHORTEST and sheet.text(i - 1) not in {"is", "that", "it", "be"}
        if not (behind or last):
            continue
        rest = _flat(sheet, (i, min(span[1], i + 12)))
        if (behind and (asks(rest) or (_commands(rest) and sheet.items[i - 1].kind == "sym"))) or (
            last and " ".join(rest) in _SHORT
        ):
            return i
    return None


def _commands(said: list[str]) -> bool:
    """True if words bid the tool to tell something."""
    rest = list(said)
    while rest and rest[0] in _POLITE:
        rest = rest[1:]
    texts = [" ".join(words).rstrip(" .!?") for words in (said, rest)]
    return any(text == c or text.startswith(c + " ") for c in _COMMANDS for text in texts)


def read_question(
    sheet: Sheet, span: tuple[int, int], marked: bool, context: Context
) -> tuple[Heard, list[Doubt]] | None:
    """Return what a stretch asks, with the values that it names; None if it asks nothing after all."""
    part = Sheet(sheet.items[span[0] : span[1]])
    said = [word for word in _flat(sheet, span) if word != "?"]
    topic = topic_of(said) or ("enough" if " ".join(said) in _SHORT else "other")
    slots: dict[str, Any] = {}
    doubts: list[Doubt] = []
    _recipe(part, context, slots, doubts)
    _durations(part, topic, context, slots)
    _times(part, topic, context, slots, doubts)
    _figures(part, topic, context, slots, doubts)
    _batch(part, topic, context, slots)
    topic = _refined(topic, slots)
    about_the_work = any(
        (item.kind == "term" and part.words(i, i + 2) != ["fan", "of"])
        or (item.quantity is not None and item.quantity.kind != "bare")
        for i, item in enumerate(part.items)
    )
    if topic == "other" and not slots and not about_the_work:
        return None
    if topic in {"log", "status", "on"} and not about_the_work and set(strange(sheet, span)) - words_of(topic):
        return None  # "what's on the telly"
    if topic == "help" and {"mass_g", "pieces", "thickness_mm"} & set(slots):
        return Heard("describe", slots), doubts  # "can you help me with 4 lb of coho"
    sheet.take(span[0], span[1] - 1, "question", topic)
    sheet.pieces.extend(part.pieces)
    return Heard("ask", slots, topic=topic), doubts


def _recipe(sheet: Sheet, context: Context, slots: dict[str, Any], doubts: list[Doubt]) -> None:
    recipe = read_recipe(sheet, context)
    if recipe is not None:
        slots.update(recipe.slots)
        doubts += recipe.doubts
    for i in range(len(sheet.items)):
        amount = sheet.amount(i)
        if amount is not None and amount.kind == "volume" and "water_ml" not in slots and not _of_salt(sheet, i):
            slots["water_ml"] = amount.value  # "how much salt for 2 gallons"
            sheet.take(i, i, "question: water", f"{amount.value:.0f} ml")


def _of_salt(sheet: Sheet, i: int) -> bool:
    """True for a measure of salt or sugar, which is no water."""
    return any(
        item.key("salt") or item.key("salt_kind") or item.key("sugar") for item in sheet.items[i + 1 : i + 6]
    ) and sheet.text(i + 1) in {"of", "kosher", "salt"}


def _batch(sheet: Sheet, topic: str, context: Context, slots: dict[str, Any]) -> None:
    for key, value in read_description(sheet, context, aims=False).slots.items():
        if key != "taste" and key not in _IRRELEVANT.get(topic, set()):
            slots.setdefault(key, value)


def _refined(topic: str, slots: dict[str, Any]) -> str:
    recipe = {"salt_ml_per_l", "salt_pct", "salt_g_per_l", "salometer_deg", "salt_g"} & set(slots)
    if recipe and topic in {"enough", "other"}:
        return "strength"
    return "enough" if topic == "other" and "core_c" in slots else topic


def _durations(sheet: Sheet, topic: str, context: Context, slots: dict[str, Any]) -> None:
    """Read ``remind me in 20``, and how long in a what-if."""
    for i in range(len(sheet.items)):
        amount = sheet.amount(i)
        if amount is None or sheet.items[i].prep in {"at", "by", "till", "until"}:
            continue
        if topic == "remind" and amount.kind in {"bare", "time"} and "at" not in slots:
            seconds = amount.value if amount.kind == "time" else amount.value * 60
            at, _ = moment(When(span_s=seconds), "at", "future", context)
            slots["at"] = iso(at) if at else None
            sheet.take(i, i, "reminder: span from now", f"{seconds:.0f} s")
        elif (
            topic in {"what_if", "stay", "strength", "wps"}
            and amount.kind == "time"
            and possible("soak_h", amount.value / 3600)
        ):
            slots["soak_h"] = amount.value / 3600
            sheet.take(i, i, "question: duration", f"{amount.value / 3600:g} h")


def _times(sheet: Sheet, topic: str, context: Context, slots: dict[str, Any], doubts: list[Doubt]) -> None:
    for i, item in enumerate(sheet.items):
        when = None if sheet.taken[i] else when_of(item)
        if when is None or (when.now and not {"start", "started", "began"} & set(sheet.words())):
            continue
        day_only = when.hour is None and when.span_s is None and not when.now and when.part in {"", "night"}
        if (
            day_only
            and topic not in {"what_if", "stay", "remind"}
            and _slot_for_time(sheet, i, topic, context) != "ready_by"
        ):
            continue
        slot = _slot_for_time(sheet, i, topic, context)
        past = slot in {"caught_at", "soak_start"} or (when.span_s or 0) < 0
        open_hour = topic == "stay" and when.hour is not None and not (when.meridiem or when.part or when.day)
        floor = context.stay_from if open_hour else None
        found, doubt = time_slot(sheet, i, slot, "past" if past else "future", context, floor)
        for key, value in found.items():
            slots.setdefault(key, value)  # "stop at 11 and leave it till tomorrow": the first is what is asked
        doubts += [doubt] if doubt and doubt.options else []


def _slot_for_time(sheet: Sheet, i: int, topic: str, context: Context) -> str:
    before = set(_flat(sheet, (max(0, i - 6), i)))
    wet = context.stage in {None, "soak", "salt"}
    if before & {"ready", "want", "need", "eat", "have"} and topic in {"what_if", "other", "enough", "how_long"}:
        return "ready_by"
    if topic in {"what_if", "wps", "strength"} and before & words("plans", "ending") | (
        before & {"leave", "left", "stay", "stays"}
    ):
        return "soak_end" if wet else "at"
    when = sheet.items[i].when
    by = "by" in before or "by" in {sheet.items[i].prep, when.prep if when else ""}
    if before & {"done", "finished"} and by:
        return "ready_by"
    if topic == "stay":
        return "soak_end" if wet else "at"
    return _TIME_SLOT.get(topic, "at")


def _figures(sheet: Sheet, topic: str, context: Context, slots: dict[str, Any], doubts: list[Doubt]) -> None:
    """Read temperatures in a question."""
    for reading in read_readings(sheet, (0, len(sheet.items)), context):
        slots.update(reading.slots if reading.slot not in {"surface", "firmness"} else {})
        doubts += [reading.doubt] if reading.doubt else []
    for i in range(len(sheet.items)):
        amount = sheet.amount(i)
        if amount is None:
            continue
        bare = (
            amount.kind == "bare"
            and topic in {"enough", "other"}
            and 30 <= amount.value <= 230
            and sheet.items[i].prep != "at"
        )
        if amount.kind == "temperature" or bare:
            found, doubt = temperature(_heat_slot(amount, context), amount, context)
            slots.update(found)
            doubts += [doubt] if doubt else []
            sheet.take(i, i, "question: temperature", f"{amount.value:g}")


def _heat_slot(amount: Quantity, context: Context) -> str:
    """Return the slot that a temperature with no label has in a question: by stage, and by what it can be."""
    by_stage = {"dry": "air_c", "soak": "fridge_c", "salt": "fridge_c", "chill": "fridge_c", "keep": "fridge_c"}
    slot = by_stage.get(context.stage or "", "core_c")
    if not amount.unit and not readings_c(slot, amount.value):
        slot = "core_c"  # "is 140 enough" while it soaks: no fridge reads that
    if slot == "core_c" and not amount.unit and not readings_c("core_c", amount.value):
        return "chamber_c"
    return slot
