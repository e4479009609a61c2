"""Several deeds told in one breath: ``pulled rinsed and racked``, ``topped up chips and water``; and whose they are."""

from __future__ import annotations

from bot.understanding.events import Event, read_event_of
from bot.understanding.items import Sheet
from bot.understanding.lot_names import lot_at
from bot.understanding.model import Context
from bot.understanding.tending import also_tended
from bot.understanding.timing import when_of
from bot.understanding.wordlists import words

_DEEDS = frozenset(pair.partition(":")[0] for name in ("lone_done", "lone_started") for pair in words("events", name))
_BEFORE = _DEEDS | words("events", "pull") | {"out", "off", "drained"}
_KEPT_BACK = words("events", "kept_back")
_POINTING = frozenset({"those", "these", "them", "em"})
Span = tuple[int, int]


def deeds(sheet: Sheet, clause: Span) -> list[Span]:
    """Cut a clause where a further deed begins: ``out at 6 | rinsed``; and before those that are left behind."""
    cuts = []
    start = clause[0]
    for i in range(clause[0] + 1, clause[1]):
        before = set(" ".join(sheet.words(start, i)).split())
        further = bool(set(sheet.text(i).split()) & _DEEDS) or sheet.text(i) in {"leaving", "fan"}
        if (further and before & _BEFORE) or (sheet.text(i) == "out" and _went_in(sheet, start, i)):
            cuts.append(i)
            start = i
    starts = [clause[0], *cuts]
    return list(zip(starts, [*cuts, clause[1]], strict=True))


def _went_in(sheet: Sheet, start: int, i: int) -> bool:
    """True for ``in brine 9 pm`` before ``out 7 am``."""
    timed = any(when_of(sheet.items[j]) is not None for j in range(start, i))
    return timed and any(sheet.items[j].key("place") == "soak" or sheet.text(j) == "in" for j in range(start, i))


def read_along(sheet: Sheet, clause: Span, before: Event, context: Context) -> Event | None:
    """Read what was topped up with the thing before."""
    found = also_tended(sheet, clause, str(before.slots.get("what", "")))
    if found is None:
        return None
    return read_event_of(sheet, clause, found, context)


def share_time(before: list[Event], event: Event) -> None:
    """Let the time of "added wood and water at 3" hold for both."""
    for other in before:
        pair = {other.slots.get("what"), event.slots.get("what")}
        if pair == {"fuel", "water"} and other.doubt is None and "at" in event.slots:
            other.slots.setdefault("at", event.slots["at"])


def read_out(sheet: Sheet, piece: Span, before: Event, context: Context) -> Event | None:
    """Read ``out 7 am`` behind "in the brine 9 pm"."""
    if before.slots.get("stage") not in {"soak", "salt"} or "started" not in before.slots:
        return None
    return read_event_of(sheet, piece, ({"stage": before.slots["stage"], "done": True}, piece[0]), context)


def give_lot(sheet: Sheet, clauses: list[Span], events: list[Event], context: Context) -> None:
    """Let "small ones done, pulled them" mean the small ones, and not those that "stay on the rack"."""
    moved: set[str] = set()
    kept: set[str] = set()
    for clause in clauses:
        for part in deeds(sheet, clause):
            lots = {lot for i in range(*part) if (lot := lot_at(sheet, i, context))}
            back = bool(_KEPT_BACK & set(" ".join(sheet.words(*part)).split()))
            (kept if back else moved).update(lots)
    for event in events:
        own = next((c for c in clauses if c[0] <= event.at < c[1]), None)
        points = own is not None and bool(_POINTING & set(" ".join(sheet.words(*own)).split()))
        pulled = event.slots.get("what") == "pulled"
        if pulled and len(moved) > 1:
            before = [lot for i in range(clauses[0][0], event.at) if (lot := lot_at(sheet, i, context)) in moved]
            event.slots.update({} if "lot" in event.slots or not before else {"lot": before[-1]})
        if len(moved) == 1 and (pulled or ("stage" in event.slots and (points or kept))):
            event.slots.setdefault("lot", next(iter(moved)))
