"""Bring time expressions in a message to slots: which item is a time, and which moment it means."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from bot.understanding.items import Item, Sheet
from bot.understanding.model import Context, Doubt
from bot.understanding.moments import Found, Frame, iso, resolve
from bot.understanding.when import When
from bot.understanding.wordlists import words

#: How far off a bare hour may sensibly lie, in hours, by slot; *ours*.
_REACH_H = {
    "soak_end": 16.0,
    "ready_by": 96.0,
    "start_at": 40.0,
    "smoke_at": 40.0,
    "soak_start": 20.0,
    "caught_at": 30.0,
    "at": 18.0,
}
#: The least time from now to a finished product, in hours, by the stage that the batch is in; *ours*, short on purpose.
_LEAST_H = {None: 6.0, "soak": 5.0, "salt": 5.0, "rinse": 4.0, "rest": 4.0, "dry": 3.0, "smoke": 1.0}
_HOUR_PREPS = words("timing", "hour_preps")


def when_of(item: Item, any_prep: bool = False) -> When | None:
    """Return the time that an item is, or a bare hour after a preposition of time."""
    if item.when is not None:
        return item.when
    amount = item.quantity
    if amount is None or amount.kind != "bare" or not (any_prep or item.prep in _HOUR_PREPS):
        return None
    hour = amount.value
    if amount.number.fraction or hour != int(hour) or not 0 <= hour <= 24 or amount.low != amount.high:
        return None
    meridiem = "24" if hour > 12 or hour == 0 else ""
    return When(hour=int(hour) % 24, meridiem=meridiem, prep=item.prep, words=item.text, bare=True)


def find_when(sheet: Sheet, span: tuple[int, int], any_prep: bool = False) -> int | None:
    """Return the index of the first free time in a stretch; a bare hour counts behind a preposition, or anyhow."""
    return next((i for i in range(*span) if not sheet.taken[i] and when_of(sheet.items[i], any_prep) is not None), None)


def frame(context: Context, slot: str, direction: str, floor: datetime | None = None) -> Frame:
    """Return where a moment for ``slot`` may lie; not before ``floor``, or the batch's beginning."""
    if direction == "past" and slot == "at":
        floor = floor or context.batch_since
    least = _LEAST_H.get(context.stage, 0.0) if slot == "ready_by" else 0.0
    reach = 12.0 if slot == "at" and direction == "future" else _REACH_H.get(slot, 24.0)
    return Frame(
        context.now,
        ZoneInfo(context.zone),
        direction,
        floor,
        reach,
        least,
        slot in {"ready_by", "start_at", "smoke_at"},
    )


def moment(
    when: When, slot: str, direction: str, context: Context, floor: datetime | None = None
) -> tuple[datetime | None, Doubt | None]:
    """Return the moment meant, or the doubt: two that make sense, or none that can be true."""
    found = resolve(when, frame(context, slot, direction, floor))
    return _chosen(found, slot)


def _chosen(found: Found, slot: str) -> tuple[datetime | None, Doubt | None]:
    if not found.moments:
        return None, Doubt(slot, (), "implausible")
    if found.sure:
        return found.moments[0], None
    options = tuple((label(m), {slot: iso(m)}) for m in found.moments)
    return None, Doubt(slot, options, "am or pm")


def label(at: datetime) -> str:
    """Return a short label for a moment: ``Sat 8:00 am``."""
    hour = at.hour % 12 or 12
    return f"{at:%a} {hour}:{at:%M} {'am' if at.hour < 12 else 'pm'}"


def time_slot(
    sheet: Sheet, i: int, slot: str, direction: str, context: Context, floor: datetime | None = None
) -> tuple[dict[str, str], Doubt | None]:
    """Read the time at ``i`` into ``slot``; mark it."""
    when = when_of(sheet.items[i], any_prep=True)
    assert when is not None
    at, doubt = moment(when, slot, direction, context, floor)
    sheet.take(i, i, f"time, looking {'back' if direction == 'past' else 'ahead'}", iso(at) if at else "open")
    return ({slot: iso(at)} if at else {}), doubt
