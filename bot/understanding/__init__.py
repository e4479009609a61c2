"""Understand what people type: text and what the batch is, to what was heard.

A pure function of its arguments: no clock, no files beyond its own word lists, no network.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from bot.understanding.answers import read_answer, read_option
from bot.understanding.corrections import read_correction
from bot.understanding.hearsay import without_hearsay
from bot.understanding.items import Sheet, items_of
from bot.understanding.likeness import read_likeness, with_likeness
from bot.understanding.measures import measures_of, scales_of
from bot.understanding.model import Context, Doubt, Heard, Piece, Rung, Slots, Understood
from bot.understanding.persuading import persuades
from bot.understanding.rigs import read_forgetting, rig_named, with_rig, without_rig
from bot.understanding.settings import read_setting
from bot.understanding.statements import Told, read_statements
from bot.understanding.swaps import read_swap
from bot.understanding.tasting import read_tasting
from bot.understanding.text import LIMIT, plain
from bot.understanding.tokens import tokens

#: Words and signs that are read of one message; a chat message has far fewer.
MOST_TOKENS = 320

__all__ = ["LIMIT", "MOST_TOKENS", "Context", "Doubt", "Heard", "Piece", "Rung", "Slots", "Understood", "understand"]


def understand(text: str, context: Context) -> Understood:
    """Return what ``text`` says, given what is known; at least one thing is heard.

    A value that could mean several things, or cannot be true, is in ``doubts`` and not in the slots.
    Of a text longer than LIMIT characters or MOST_TOKENS words only the beginning is read.
    """
    message = plain(text)
    if not message.trusted:
        return Understood((Heard("chat"),), (Doubt("text", (), "direction"),))
    whole = read_forgetting(message.text) or read_tasting(message.text, context)
    if whole is not None:
        return Understood((whole,), (), (Piece(message.text, whole.intent, "after the meal"),))
    likeness, rig = read_likeness(message.text), rig_named(message.text)
    said = likeness.rest if likeness else message.text
    said = without_rig(said) if rig and context.stage is None else said
    found = tokens(said)
    sheet = Sheet(items_of(found[:MOST_TOKENS]))
    told = without_hearsay(_read(said, sheet, context), sheet)
    if message.cut or len(found) > MOST_TOKENS:
        sheet.pieces.append(Piece(f"beyond {LIMIT} characters or {MOST_TOKENS} words", "length", "not read"))
    heard = tuple(_rounded(t.heard) for t in told) or (Heard("chat"),)
    doubts = tuple(d for t in told for d in t.doubts)
    heard = with_likeness(heard, likeness) if likeness else heard
    heard = with_rig(heard, rig) if rig and not persuades(sheet) else heard
    return Understood(heard, doubts, tuple(sheet.pieces), measures_of(sheet), scales_of(sheet, heard))


def _read(text: str, sheet: Sheet, context: Context) -> list[Told]:
    """Try the rules in order of how sure they are of themselves."""
    if persuades(sheet):
        return []
    chosen = read_option(text, context)
    if chosen is not None:
        return [Told(0, chosen, [])]
    fresh = Sheet(sheet.items)
    swapped = read_swap(fresh, context)
    if swapped is not None:
        sheet.pieces.extend(fresh.pieces)
        return [Told(0, *correction) for correction in swapped]
    for rule in (read_correction, read_setting):
        fresh = Sheet(sheet.items)
        found = rule(fresh, context)
        if found is not None:
            sheet.pieces.extend(fresh.pieces)
            return [Told(0, *found)]
    fresh = Sheet(sheet.items)
    answers = read_answer(fresh, context)
    if answers is not None:
        sheet.pieces.extend(fresh.pieces)
        return [Told(0, *answer) for answer in answers]
    return read_statements(sheet, context)


def _rounded(heard: Heard) -> Heard:
    return replace(heard, slots=_round(heard.slots), old=_round(heard.old) if heard.old is not None else None)


def _round(slots: Slots) -> dict[str, Any]:
    return {key: _round_one(value) for key, value in slots.items()}


def _round_one(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, 3)
    if isinstance(value, list):
        return [_round(v) if isinstance(v, dict) else v for v in value]
    return value
