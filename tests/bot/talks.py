"""Talks that have come some way, and what their journals tell."""

from __future__ import annotations

from planner.batch import Batch, read_batch
from planner.entries import Kind, standing
from tests.bot.talk import Talk

DESCRIBED = "4 lb coho fillets, 1 inch, skin on, 10 % brine, going in the brine now"
#: Kinds that say something about the fish; messages, plans and verdicts only record the talk.
TRUTH = {Kind.DESCRIBE, Kind.READING, Kind.EVENT, Kind.CHOICE, Kind.VOID}


def truth(talk: Talk, number: int = 1) -> list[tuple[Kind, dict]]:
    """What the journal holds as so."""
    if number not in talk.batches:
        return []
    return [(e.kind, dict(e.data)) for e in standing(talk.batches[number].entries) if e.kind in TRUTH]


def told(talk: Talk, number: int = 1) -> Batch:
    """The batch as its journal tells it."""
    return read_batch(talk.batches[number].entries, talk.batches[number].opened_at)


def soaking() -> Talk:
    """In the brine on Friday evening."""
    talk = Talk()
    talk.say(DESCRIBED)
    return talk


def smoking() -> Talk:
    """In the smoke on Saturday at eleven."""
    talk = soaking()
    for hours, text in ((14, "pulled from the brine"), (0.25, "on the racks"), (3, "tacky, in the smoke now")):
        talk.wait(hours=hours).say(text)
    return talk
