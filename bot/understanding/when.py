"""A time as it was said."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class When:
    """A time as said: any of a day, a part of the day, an hour; or a span before or after now.

    ``meridiem`` is ``am``, ``pm``, ``24`` or empty; ``day`` an offset in days from today, ``weekday`` 0 for Monday
    with ``week`` -1 for "last", 1 for "next"; ``span_s`` is negative for "ago".
    """

    hour: int | None = None
    minute: int = 0
    meridiem: str = ""
    day: int | None = None
    weekday: int | None = None
    week: int = 0
    date: tuple[int, int] | None = None  #: month, day of month
    part: str = ""
    span_s: float | None = None
    now: bool = False
    prep: str = ""
    words: str = ""
    bare: bool = False  #: nothing but an hour without a colon was said
