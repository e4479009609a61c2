"""Words for several people at one batch: who has a call, who is on till when."""

from __future__ import annotations

from datetime import datetime

from bot.crew import Duty, Person
from bot.say.format import Pen

TILL_WHEN = 'Till when? Say it like "Ana takes over till 6".'
NO_HAND_OVER = "Nobody had taken over: I call everyone here."
NOBODY_ON = 'Nobody has taken over: I call everyone here. "Ana takes over till 6" changes that.'
GOOD = "Good."


def sentence(text: str) -> str:
    """A sentence may begin with a name that somebody writes small."""
    return text[:1].upper() + text[1:]


def taken_words(who: Person, call: str, again: datetime | None, pen: Pen) -> str:
    """Somebody of several has a call."""
    then = f"\nIf it isn't done by {pen.time(again)}, I call {who.name} alone." if again is not None else ""
    return sentence(f"{who.name} has it: {call}.{then}")


def hand_over_words(duty: Duty, known: bool, pen: Pen) -> str:
    """Somebody takes over until a stated time."""
    text = sentence(f"{duty.who.name} is on till {pen.clock(duty.until)}. My calls go to {duty.who.name} by name.")
    if not known:
        text += f"\n{sentence(duty.who.name)} has not written here yet, so that phone will not ring for a name alone."
    return text


def watch_over_words(duty: Duty) -> str:
    """The stated time has come."""
    if duty.before.name == duty.who.name:
        return back_words(duty)
    return sentence(f"{duty.who.name}'s watch is over. Back with {duty.before.name}.")


def back_words(duty: Duty) -> str:
    """The hand-over was ended before its time."""
    return sentence(f"{duty.who.name}'s watch is over. I call everyone here again.")


def on_till(duty: Duty, when: str) -> str:
    """One line for card and evening note."""
    return sentence(f"{duty.who.name} is on till {when}.")
