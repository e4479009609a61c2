"""Keep apart what is told of this fish, here and now, from what somebody read, hopes, bets or makes up."""

from __future__ import annotations

from bot.understanding.items import Sheet
from bot.understanding.model import Heard, Piece
from bot.understanding.statements import Told
from bot.understanding.wordlists import words

#: Slots that make a description one of a batch, whatever else stands in the sentence.
_BATCH = frozenset({"species", "mass_g", "thickness_mm", "form", "pieces", "lots"})


def without_hearsay(told: list[Told], sheet: Sheet) -> list[Told]:
    """Drop the readings, events and stray figures that follow words of hearsay, a hope or a bet in their sentence."""
    spans = [(cue, last) for first, last in sheet.sentences() if (cue := _cue(sheet, first, last)) is not None]
    kept = [t for t in told if not (_claims(t.heard) and any(cue <= t.at < last for cue, last in spans))]
    others = [(first, last) for first, last in sheet.sentences() if _of_old(sheet, first, last)]
    kept = [t for t in kept if not (_of_now(t.heard) and any(a <= t.at < b for a, b in others))]
    if len(kept) < len(told):
        sheet.pieces.append(Piece("what others say, a hope or a bet", "hearsay", "not taken"))
    return kept


def _of_now(heard: Heard) -> bool:
    """True for a reading, an event or a time: what is told of this fish at this hour."""
    timed = heard.intent == "describe" and set(heard.slots) <= {"ready_by", "start_at", "soak_end", "soak_start"}
    return heard.intent in {"reading", "event"} or timed


def _claims(heard: Heard) -> bool:
    if heard.intent in ("reading", "event"):
        return True
    return heard.intent in ("describe", "correct") and not _BATCH & heard.slots.keys()


def _of_old(sheet: Sheet, first: int, last: int) -> bool:
    """True where a sentence tells of another batch, long ago, or of what is usual."""
    said = f" {' '.join(sheet.words(first, last))} "
    return any(f" {cue} " in said for cue in words("hearsay", "elsewhen"))


def _cue(sheet: Sheet, first: int, last: int) -> int | None:
    """Return where words of hearsay begin, or None."""
    said = sheet.words(first, last)
    for i in range(len(said)):
        ahead = f"{' '.join(said[i:])} "
        if any(ahead.startswith(f"{cue} ") for cue in words("hearsay", "cues")):
            return first + i
    return None
