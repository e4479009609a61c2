"""Read a question: what it is about and the values that it names."""

from __future__ import annotations

from typing import Any

from bot.understanding.describing import read_description
from bot.understanding.items import Sheet
from bot.understanding.model import Context, Doubt, Heard
from bot.understanding.moments import iso
from bot.understanding.plausible import possible
from bot.understanding.readings import read_readings, temperature
from bot.understanding.recipes import read_recipe
from bot.understanding.timing import moment, time_slot, when_of
from bot.understanding.whens import When

#: Topic by phrases, the first that fits; phrases are matched on whole words.
_TOPICS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "remind",
        (
            "remind me",
            "snooze",
            "ping me",
            "nudge me",
            "wake me",
            "call me",
            "poke me",
            "alert me",
            "reminder",
            "set a timer",
            "alarm",
        ),
    ),
    (
        "what_if",
        (
            "what if",
            "whatif",
            "what happens if",
            "suppose",
            "if i start",
            "if i pull",
            "if i leave",
            "if we",
            "what would happen",
        ),
    ),
    (
        "privacy",
        (
            "delete my data",
            "what do you store",
            "privacy",
            "who sees",
            "who can see",
            "my data",
            "forget me",
            "delete everything",
        ),
    ),
    (
        "strength",
        (
            "how strong",
            "how salty is",
            "what percent",
            "how many percent",
            "what strength",
            "strength",
            "salometer is",
            "how much salt is",
            "what salometer",
            "what's the percent",
            "too strong",
            "strong enough",
            "how salty will the brine",
        ),
    ),
    (
        "wps",
        (
            "wps",
            "water phase",
            "water - phase",
            "waterphase",
            "phase salt",
            "how salty will",
            "how salty",
            "salty enough",
        ),
    ),
    (
        "keep",
        (
            "how long will it keep",
            "will it keep",
            "keep for",
            "shelf life",
            "how long does it keep",
            "keep in the fridge",
            "how long will they keep",
            "best before",
            "use by",
            "how long is it good",
            "how long can i keep",
            "how long can it keep",
            "go bad",
            "does it keep",
            "good for in the fridge",
            "last in the fridge",
            "store it",
            "keep it",
            "vacuum pack it",
            "vac pack it",
            "how long does smoked",
            "how long do they keep",
            "how long will this keep",
            "will they keep",
        ),
    ),
    (
        "stay",
        (
            "can it stay",
            "can they stay",
            "can i leave",
            "can it sit",
            "can they sit",
            "ok to leave",
            "okay to leave",
            "leave it",
            "leave them",
            "can it wait",
            "can they wait",
            "stay in",
            "stay till",
            "stay until",
            "can it go till",
            "can it go until",
            "sit till",
            "sit until",
            "can we leave",
            "can the fish stay",
            "can this stay",
            "can that stay",
            "hold till",
            "wait till",
            "wait until",
            "can it soak",
            "stay overnight",
            "can it brine",
        ),
    ),
    (
        "exposure",
        (
            "too long in the warm",
            "how long out",
            "been out",
            "danger zone",
            "how warm",
            "out of the fridge",
            "still safe",
            "is it safe",
            "is this safe",
            "safe to eat",
            "histamine",
            "how long at room",
            "how much time",
            "time left in the warm",
            "safe left",
            "out of the cold",
            "left in the sun",
            "sat out",
        ),
    ),
    (
        "enough",
        (
            "enough",
            "hot enough",
            "good enough",
            "is it done",
            "are they done",
            "is it cooked",
            "done at",
            "high enough",
            "ok at",
            "okay at",
            "too low",
            "too high",
            "too hot",
            "is that hot",
            "are we there",
            "is it ready",
            "are they ready",
            "ok?",
            "good?",
            "done yet",
            "ready yet",
            "is that ok",
            "is that okay",
            "is it ok",
            "can i pull",
            "can i take",
        ),
    ),
    (
        "when_up",
        (
            "get up",
            "wake up",
            "when do i have to be up",
            "when do i need to be up",
            "have to be up",
            "need to be up",
            "when do you need me",
            "when am i up",
            "set my alarm",
            "be awake",
            "be up",
            "be back",
            "be home",
            "sleep till",
            "sleep until",
            "sleep in",
            "can i sleep",
            "go to bed",
        ),
    ),
    (
        "why",
        (
            "why",
            "how come",
            "reason",
            "where does that come from",
            "says who",
            "what's the reason",
            "how do you know",
            "explain",
            "source",
        ),
    ),
    (
        "log",
        (
            "log",
            "show the log",
            "what did i do",
            "history",
            "what have i done",
            "list entries",
            "journal",
            "show me the readings",
            "readings so far",
            "what did we do",
            "show readings",
            "all readings",
        ),
    ),
    ("record", ("record", "label", "export", "pdf", "csv", "print", "batch sheet", "report", "spreadsheet")),
    (
        "how_long",
        (
            "how long",
            "how much longer",
            "how many hours",
            "how much time",
            "when will it be",
            "when will they be",
            "when is it done",
            "when is it ready",
            "when will",
            "when's it done",
            "when are they done",
            "when done",
            "eta",
            "how many more hours",
            "when's it ready",
            "what time will",
            "when can i eat",
            "how many minutes",
            "when does",
            "when is",
            "when are",
        ),
    ),
    (
        "temperature",
        (
            "what temp",
            "what temperature",
            "how hot",
            "temp should",
            "temperature should",
            "which temp",
            "how cold",
            "target temp",
            "temp do i",
            "what heat",
            "what core",
        ),
    ),
    (
        "status",
        (
            "status",
            "where are we",
            "how's it going",
            "how is it going",
            "how are we doing",
            "how's it looking",
            "where am i",
            "what stage",
            "how are things",
            "where were we",
            "how far along",
            "hows it",
            "sitrep",
            "what's up with",
            "how does it look",
            "how we doing",
            "hows my",
            "how's my",
            "how's the",
        ),
    ),
    (
        "next",
        (
            "what next",
            "what's next",
            "whats next",
            "next",
            "now what",
            "what now",
            "what do i do",
            "what should i do",
            "then what",
            "what's the plan",
            "whats the plan",
            "the plan",
            "what do we do",
            "when do i",
            "when should i",
            "what's left",
            "do i rinse",
            "should i",
            "what time do i",
            "do i need to",
            "when can i",
            "what to do",
        ),
    ),
    (
        "help",
        (
            "help",
            "what can you do",
            "how does this work",
            "how do i use",
            "commands",
            "/help",
            "/start",
            "how do you work",
        ),
    ),
)
_TIME_SLOT = {
    "stay": "soak_end",
    "what_if": "start_at",
    "next": "at",
    "when_up": "at",
    "how_long": "at",
    "remind": "at",
    "enough": "at",
    "keep": "at",
}


#: What asks without being a question: a sentence that begins so.
_COMMANDS = (
    "show",
    "remind me",
    "snooze",
    "status",
    "help",
    "next",
    "log",
    "record",
    "why",
    "explain",
    "ping me",
    "wake me",
    "list",
    "tell me",
    "plan",
    "label",
    "export",
    "history",
    "print",
    "give me",
    "send me",
    "the log",
    "the plan",
    "the record",
    "any idea",
    "wondering",
    "i wonder",
    "what if",
    "thinking of",
    "poke me",
    "nudge me",
    "delete my data",
    "forget me",
)


def commands(text: str) -> bool:
    """True if a sentence bids the tool to tell something."""
    start = text
    for lead in ("please ", "pls ", "can you ", "hey ", "ok ", "and "):
        start = start.removeprefix(lead)
    return any(start == c or start.startswith(c + " ") for c in _COMMANDS)


def topic_of(text: str) -> str | None:
    """Return the topic whose phrase stands in ``text`` (plain, words parted by one space)."""
    padded = f" {text} "
    for topic, phrases in _TOPICS:
        if any(f" {phrase} " in padded for phrase in phrases):
            return topic
    return None


def read_question(sheet: Sheet, span: tuple[int, int], context: Context) -> tuple[Heard, list[Doubt], int]:
    """Return what a sentence asks, with the values that it names."""
    part = _part(sheet, span)
    text = " ".join(sheet.words(*span)).replace("?", "").strip()
    topic = topic_of(text) or "other"
    slots: dict[str, Any] = {}
    doubts: list[Doubt] = []
    recipe = read_recipe(part)
    if recipe is not None:
        slots.update(recipe[0])
    _times(part, topic, context, slots, doubts)
    _figures(part, topic, context, slots, doubts)
    described = read_description(part, context)
    slots.update({k: v for k, v in described.slots.items() if k not in slots})
    topic = _refined(topic, slots, text)
    sheet.take(span[0], span[1] - 1, "question", topic)
    sheet.pieces.extend(part.pieces)
    return Heard("ask", slots, topic=topic), doubts, span[0]


def _part(sheet: Sheet, span: tuple[int, int]) -> Sheet:
    return Sheet(sheet.items[span[0] : span[1]])


def _refined(topic: str, slots: dict[str, Any], text: str) -> str:
    if topic == "enough" and ("salt_ml_per_l" in slots or "salt_pct" in slots or "salt_g_per_l" in slots):
        return "strength"
    if topic == "other" and ({"salt_ml_per_l", "salt_pct", "salt_g_per_l", "salometer_deg"} & set(slots)):
        return "strength"
    if topic == "other" and "core_c" in slots:
        return "enough"
    return topic


def _times(sheet: Sheet, topic: str, context: Context, slots: dict[str, Any], doubts: list[Doubt]) -> None:
    for i, item in enumerate(sheet.items):
        if sheet.taken[i]:
            continue
        when = when_of(item)
        if when is None or when.now:
            continue
        slot = _slot_for_time(sheet, i, topic, context)
        found, doubt = time_slot(sheet, i, slot, "past" if slot.startswith("caught") else "future", context)
        slots.update(found)
        if doubt is not None:
            doubts.append(doubt)


def _slot_for_time(sheet: Sheet, i: int, topic: str, context: Context) -> str:
    before = set(" ".join(sheet.words(max(0, i - 6), i)).split())
    if topic == "what_if":
        if before & {"pull", "pulled", "out", "leave", "left", "rinse", "stay", "stays"}:
            return "soak_end"
        return "ready_by" if before & {"ready", "want", "need"} else "start_at"
    if topic == "stay":
        return "soak_end" if context.stage in {None, "soak", "salt"} else "at"
    if before & {"ready"} or (before & {"done", "finished"} and topic in {"other", "enough"}):
        return "ready_by"
    return _TIME_SLOT.get(topic, "at")


def _figures(sheet: Sheet, topic: str, context: Context, slots: dict[str, Any], doubts: list[Doubt]) -> None:
    """Read temperatures and durations in a question."""
    for reading in read_readings(sheet, (0, len(sheet.items)), context):
        slots.update(reading.slots)
        if reading.doubt is not None:
            doubts.append(reading.doubt)
    for i in range(len(sheet.items)):
        amount = sheet.amount(i)
        if amount is None:
            continue
        bare = amount.kind == "bare" and topic == "enough" and 30 <= amount.value <= 230
        if topic == "remind" and _remind(sheet, i, context, slots):
            continue
        if amount.kind == "temperature" or bare:
            found, doubt = temperature("core_c", amount, context)
            slots.update(found)
            doubts.extend([doubt] if doubt else [])
            sheet.take(i, i, "question: temperature", f"{amount.value:g}")
        elif (
            amount.kind == "time" and topic in {"what_if", "stay"} and possible("soak_h", amount.value / 3600)
        ):
            slots["soak_h"] = amount.value / 3600
            sheet.take(i, i, "question: duration", f"{amount.value / 3600:g} h")


def _remind(sheet: Sheet, i: int, context: Context, slots: dict[str, Any]) -> bool:
    """Read ``in 20``: minutes, where no unit was said."""
    amount = sheet.items[i].quantity
    if amount is None or amount.kind not in {"bare", "time"} or "at" in slots:
        return False
    seconds = amount.value if amount.kind == "time" else amount.value * 60
    when = When(span_s=seconds)
    at, _ = moment(when, "at", "future", context)
    slots["at"] = iso(at) if at else None
    sheet.take(i, i, "reminder: span from now", f"{seconds:.0f} s")
    return True
