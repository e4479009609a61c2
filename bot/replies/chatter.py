"""What people in a group say to each other, and not to the tool."""

from __future__ import annotations

from bot.understanding import Heard, Understood
from scheduler.turn import Inbound

#: What people ask each other about everything: "dinner at 8?", "can you bring 2 lb of butter?"
_COMMON = frozenset({"at", "ready_by", "start_at", "smoke_at", "mass_g", "pieces"})


def talk_among_people(inbound: Inbound, understood: Understood) -> bool:
    """In a group, words that are not about the trade are not meant for the tool, unless it is spoken to."""
    spoken_to = inbound.addressed or "brinebell" in inbound.text.casefold()
    nothing = all(_says_nothing(h) for h in understood.heard) and not understood.doubts
    return inbound.chat_kind != "private" and nothing and not spoken_to and inbound.photo is None


def _says_nothing(heard: Heard) -> bool:
    of_nothing = heard.topic == "other" and heard.slots.keys() <= _COMMON
    return heard.intent == "chat" or (heard.intent == "ask" and of_nothing)
