"""The one question that would move the plan most, and questions about what was ambiguous."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from bot import facts
from bot.replies.part import Labelled, Part, pen_of
from bot.say.question import ask_words, implausible_words, thickness_options
from bot.understanding import Doubt
from bot.work import Work
from scheduler.turn import BatchFile


def ask_for(work: Work, file: BatchFile, slot: str) -> Part:
    """Ask for a slot of the batch, with likely answers as buttons; remembered for the next message."""
    options = _options(work, slot)
    remember_asked(work, slot, options, file.number)
    buttons: tuple[Labelled, ...] = tuple(
        (label, {"intent": "describe", "slots": slots, "batch": file.number}) for label, slots in options
    )
    return Part(ask_words(slot), (facts.question(slot),), buttons)


def ask_doubt(work: Work, doubt: Doubt, intent: str, others: Mapping[str, Any], words: str) -> Part:
    """Ask which of two readings was meant; nothing of it is stored until that is answered."""
    file = work.focus
    number = file.number if file else None
    options = [(label, {**others, **slots}) for label, slots in doubt.options]
    if not options:
        return Part(implausible_words(doubt.slot, words), (facts.question(doubt.slot),))
    remember_asked(work, doubt.slot, options, number)
    text = ask_words(doubt.slot, doubt.reason)
    if doubt.reason == "scale":
        text = f"Is that {' or '.join(label for label, _ in options)}?"
    buttons = tuple((label, _means(intent, slots, number)) for label, slots in options)
    return Part(text, (facts.question(doubt.slot),), buttons)


def _means(intent: str, slots: Mapping[str, Any], number: int | None) -> dict[str, Any]:
    """What a choice does; one that says no more than that it is not so does nothing."""
    if not slots:
        return {"not_yet": True}
    told = "event" if {"stage", "what"} & slots.keys() else intent
    return {"intent": told, "slots": slots, "batch": number}


def remember_asked(work: Work, slot: str, options: Sequence[tuple[str, Mapping[str, Any]]], number: int | None) -> None:
    """Keep what was asked, so that the next message can be the answer."""
    work.remember(asked={"slot": slot, "options": [[la, dict(s)] for la, s in options], "batch": number})


def _options(work: Work, slot: str) -> list[tuple[str, dict[str, Any]]]:
    match slot:
        case "thickness_mm":
            return [(label, {slot: mm}) for label, mm in thickness_options(pen_of(work))]
        case "salt_kind":
            return [
                ("Table", {slot: "table"}),
                ("Coarse", {slot: "coarse"}),
                ("Kosher, light", {slot: "flake_light"}),
                ("Kosher, dense", {slot: "flake_dense"}),
            ]
        case "species":
            return [(label.capitalize(), {slot: label}) for label in ("salmon", "trout", "mackerel")]
        case "skin":
            return [("On", {slot: "on"}), ("Off", {slot: "off"})]
    return []
