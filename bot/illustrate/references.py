"""How a reply names a picture or a paper that is still to be made: ``picture:plan:3``, ``labels:3:12:small``.

The last numbers are the batch's in its chat and, for labels, how many; a lot's name may follow.
"""

from __future__ import annotations

from dataclasses import dataclass

PICTURES = ("plan", "soak", "dry", "cook", "cool", "card")
PAPERS = ("label", "labels", "record", "table", "journal", "calendar")
#: Names all that is kept of the chat, as one file.
EVERYTHING = "everything:"


@dataclass(frozen=True)
class Reference:
    """What is to be made, of which batch; ``count`` and ``lot`` are for labels."""

    what: str
    batch: int
    count: int = 0
    lot: str | None = None

    def __str__(self) -> str:
        if self.what in PICTURES:
            return f"picture:{self.what}:{self.batch}"
        if self.what != "labels":
            return f"{self.what}:{self.batch}" + (f":{self.lot}" if self.lot else "")
        return f"labels:{self.batch}:{self.count}" + (f":{self.lot}" if self.lot else "")


def read_reference(name: str) -> Reference | None:
    """The reference that ``name`` is; None for a file's path."""
    match name.split(":"):
        case ["picture", what, batch] if what in PICTURES and batch.isdecimal():
            return Reference(what, int(batch))
        case ["labels", batch, count, *lot] if batch.isdecimal() and count.isdecimal():
            return Reference("labels", int(batch), int(count), ":".join(lot) or None)
        case [what, batch, *lot] if what in PAPERS and what != "labels" and batch.isdecimal():
            return Reference(what, int(batch), lot=":".join(lot) or None)
    return None
