"""Give the moments told of in a sentence to what was read or done at each."""

from __future__ import annotations

from bot.understanding.events import Event
from bot.understanding.items import Sheet
from bot.understanding.model import Context, Doubt
from bot.understanding.reading import Reading
from bot.understanding.timing import time_slot, when_of

Span = tuple[int, int]
Thing = Reading | Event


def give_times(sheet: Sheet, span: Span, clauses: list[Span], told: list[Thing], context: Context) -> None:
    """Give each time said in a sentence to its readings, where no event took it; and to an event beside it.

    One moment holds for all that is told, unless the same thing was read twice: "128 an hour ago, 135 now".
    """
    times = [i for i in range(*span) if not sheet.taken[i] and _is_time(sheet, i)]
    here = [t for t in told if span[0] <= t.at < span[1] and "at" not in t.slots]
    here = [t for t in here if isinstance(t, Reading) or t.doubt is None]
    found: dict[int, tuple[dict[str, str], Doubt | None]] = {}
    for thing, i in _pairs(sheet, span, clauses, times, sorted(here, key=lambda t: t.at)):
        when = when_of(sheet.items[i])
        if when is None or when.now:
            continue
        if i not in found:
            hot = context.stage == "smoke" and isinstance(thing, Reading) and thing.slot == "core_c"
            floor = context.stage_since if hot else None  # no core is read before the fish is in
            found[i] = time_slot(sheet, i, "at", "past", context, floor)
        thing.slots.update(found[i][0])
        thing.doubt = thing.doubt or found[i][1]


def _is_time(sheet: Sheet, i: int) -> bool:
    when = when_of(sheet.items[i])
    return when is not None and "since" not in {when.prep, sheet.items[i].prep}


def _pairs(
    sheet: Sheet, span: Span, clauses: list[Span], times: list[int], told: list[Thing]
) -> list[tuple[Thing, int]]:
    """Return what was told with the place of its time."""
    if len(times) == 1 and not _twice(told):
        if sheet.items[times[0]].text.endswith("now"):
            return []
        return [(thing, times[0]) for thing in told]
    pairs: list[tuple[Thing, int]] = []
    for (start, end), own in _by_clause(clauses, times, told):
        pairs += _paired([t for t in told if start <= t.at < end], own)
    return pairs


def _twice(told: list[Thing]) -> bool:
    """True where the same thing was read more than once."""
    read = [(t.slot, t.slots.get("lot"), t.slots.get("rack")) for t in told if isinstance(t, Reading)]
    return len(set(read)) < len(read)


def _by_clause(clauses: list[Span], times: list[int], told: list[Thing]) -> list[tuple[Span, list[int]]]:
    """Return each clause with its times; one that stands alone goes on to the next clause, else back."""
    own = [[i for i in times if a <= i < b] for a, b in clauses]
    telling = [any(a <= t.at < b for t in told) for a, b in clauses]
    for n in range(len(clauses)):
        if telling[n] or not own[n]:
            continue
        for other in (n + 1, n - 1):
            if 0 <= other < len(clauses) and telling[other] and not own[other]:
                own[other], own[n] = own[n], []
                break
    return list(zip(clauses, own, strict=True))


def _paired(told: list[Thing], times: list[int]) -> list[tuple[Thing, int]]:
    """Pair in order where there are as many times as things told, else each with its nearest time."""
    if not times:
        return []
    if len(times) == len(told):
        return list(zip(told, times, strict=True))
    return [(thing, min(times, key=lambda i: abs(i - thing.at))) for thing in told]
