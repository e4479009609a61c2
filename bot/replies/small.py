"""Settings, greetings, thanks, deletion, and what was not understood."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from bot import facts
from bot.replies.context import UNITS_AS_WRITTEN
from bot.replies.loose import loose
from bot.replies.part import Part
from bot.say.evening import NOTE_OFF, NOTE_ON
from bot.say.help import FORGET_ASK, FORGOTTEN, HELLO, HELP, KEPT, NO_BATCH_FOR_NOTE, NOTED
from bot.say.question import NOT_UNDERSTOOD
from bot.work import Work

Slots = Mapping[str, Any]

_GREETING = re.compile(r"^(/?start|hi|hello|hey|moin|hei|hej|good (morning|evening|day))\b", re.I)
_THANKS = re.compile(r"\b(thanks|thank you|thx|cheers|takk|danke|great|good bot|nice)\b", re.I)
_OK = re.compile(r"^(ok(ay)?|yes|yep|yup|no|nope|sure|got it|done|cool|fine|alright|k)[.! ]*$", re.I)
_NOTE = re.compile(r"^notes?\s*:\s*\D+$", re.I)
_FORGET = re.compile(r"\b(delete|forget|erase|wipe) (everything|all|me|us)\b", re.I)


def setting(work: Work, slots: Slots) -> Part:
    """Zone, units, quiet hours of the chat."""
    said: list[str] = []
    if "zone" in slots:
        work.habit(zone=str(slots["zone"]))
        said.append(f"I go by {slots['zone'].replace('_', ' ')} time")
    if "units" in slots:
        work.habit(units=str(slots["units"]))
        work.remember(**{UNITS_AS_WRITTEN: None})
        said.append("US units from now on" if slots["units"] == "us" else "metric from now on")
    if "quiet" in slots:
        start, end = slots["quiet"]
        work.habit(quiet=(str(start), str(end)))
        said.append(f"quiet from {start} to {end}; what protects the fish still rings")
    if "evening_note" in slots:
        work.remember(evening_note=None if slots["evening_note"] else False)
        work.loose = loose(work)  # looked at anew
        said.append(NOTE_ON if slots["evening_note"] else NOTE_OFF)
    if not said:
        return Part(NOT_UNDERSTOOD)
    text = "; ".join(said)
    return Part(f"{text[:1].upper()}{text[1:]}.", (facts.answer("setting", slots),))


def is_note(text: str) -> bool:
    """True for words that a person wants kept as they are: "note: skin came off cleanly". A figure is a reading."""
    return _NOTE.match(text.strip()) is not None


def chat(work: Work, text: str) -> Part:
    """Anything that is none of the trade's business, kindly and shortly."""
    stripped = text.strip()
    if not stripped:
        return Part("")
    if wants_deletion(stripped):
        return forget_ask(work)
    if is_note(stripped):
        return Part(NOTED if work.focus else NO_BATCH_FOR_NOTE)
    if _GREETING.match(stripped):
        return Part(HELLO if work.focus is None else HELP)
    if _THANKS.search(stripped) and len(stripped) < 80:
        return Part("Good luck with it.")
    if _OK.match(stripped):
        return Part("Noted.") if work.chat.memory.get("rung") else Part("All right.")
    return Part(NOT_UNDERSTOOD, (facts.question("text"),))


def wants_deletion(text: str) -> bool:
    """True where somebody asks for everything to be deleted."""
    return _FORGET.search(text) is not None


def forget_ask(work: Work) -> Part:
    """Deleting everything wants a yes."""
    return Part(
        FORGET_ASK,
        (facts.question("forget"),),
        (("Yes, delete everything", {"do": "forget"}), ("No", {"do": "keep"})),
    )


def forget(work: Work) -> Part:
    """Everything of the chat goes, but for a mark that it went."""
    work.forget = True
    return Part(FORGOTTEN)


def keep(work: Work) -> Part:
    """Nothing is deleted after all."""
    return Part(KEPT)
