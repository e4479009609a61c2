"""Time in the warm: the clocks that heat, smoke and freezing do not turn back.

Each clock sums the hours of a lot against what was published for the warmest moment so far. Figures
are looked up, never interpolated (FDA Fish and Fishery Products Hazards and Controls Guidance, 4th
ed., Appendix 4).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cache
from itertools import pairwise

from planner.limits import Limit, citation, limit, rule
from planner.ranges import require_between
from planner.readings import Reading, warmest_by_moment
from planner.sources import Citation, cite, table


@dataclass(frozen=True)
class Spell:
    """A stretch of time and the warmest and coldest the fish was in it [°C].

    ``what`` is the stage. Where no core was read, the air stands in for the fish. Spells of one lot
    that overlap count twice.
    """

    start: datetime
    end: datetime
    warmest_c: float
    coldest_c: float
    what: str = ""

    def __post_init__(self) -> None:
        if self.end < self.start:
            raise ValueError("a spell must not end before it starts")
        require_between("warmest_c", self.warmest_c, self.coldest_c, 300.0, "°C")

    @property
    def hours(self) -> float:
        """Length [h]."""
        return (self.end - self.start).total_seconds() / 3600.0


@dataclass(frozen=True)
class Exposure:
    """One clock: hours used of the hours allowed for the warmest moment so far.

    ``share`` is the used part of what is allowed (1 is all); with time only it never falls. The
    clock is ``spent`` when more than the limit is used. ``spent_at`` is when the given spells, those
    still planned included, spend it; None if they do not.
    """

    rule: str
    used_h: float
    limit_h: float
    citation: Citation
    warmest_c: float | None = None
    spent_at: datetime | None = None

    @property
    def share(self) -> float:
        """Used part of what is allowed."""
        return self.used_h / self.limit_h

    @property
    def left_h(self) -> float:
        """Hours left at the warmest so far; 0 when spent."""
        return max(0.0, self.limit_h - self.used_h)

    @property
    def spent(self) -> bool:
        """True if more than the limit is used."""
        return self.share > 1.0 + 1e-9


Clock = Callable[[Sequence[Spell]], Exposure]


def spells_between(readings: Sequence[Reading], now: datetime, what: str = "") -> list[Spell]:
    """Spells from one reading to the next, each as warm as the warmer and as cold as the colder of two."""
    return [
        Spell(a.at, b.at, max(a.value_c, b.value_c), min(a.value_c, b.value_c), what)
        for a, b in pairwise(warmest_by_moment(readings, now))
    ]


def spells_until(spells: Sequence[Spell], now: datetime) -> list[Spell]:
    """Spells as far as they lie before ``now``."""
    return [s if s.end <= now else replace(s, end=now) for s in spells if s.start <= now]


def warm_before(warm_h: float, first: datetime, warm_c: float | None = None) -> Spell:
    """The ``warm_h`` (0..1000) hours that the fish was out of the cold before ``first``.

    Without ``warm_c`` it is taken as at room temperature, 25 °C (our own rule).
    """
    require_between("warm_h", warm_h, 0.0, 1000.0, "h")
    temp_c = float(rule("unknown_warmth")["assumed_c"]) if warm_c is None else warm_c
    return Spell(first - timedelta(hours=warm_h), first, temp_c, temp_c, "before")


def exposures(
    spells: Sequence[Spell], *, histamine: bool, previously_frozen: bool, cold_smoked: bool
) -> list[Exposure]:
    """All clocks of a lot, the one nearest its end first.

    ``spells`` run from the catch, where told, to the end of cooling for fish that forms histamine;
    for others they are the raw stages. For cold-smoked fish leave out the smoke itself: its own
    window (AFDO) stands for it.
    """
    clocks: list[Clock] = [growth_exposure(eaten_as_is=cold_smoked)]
    if histamine:
        clocks.append(histamine_exposure(previously_frozen=previously_frozen))
    if cold_smoked:
        clocks.append(raw_rte_exposure)
    found = [replace(clock(spells), spent_at=_spent_at(clock, spells)) for clock in clocks]
    return sorted(found, key=lambda exposure: -exposure.share)


def histamine_exposure(*, previously_frozen: bool) -> Clock:
    """Clock of fish that forms histamine: cumulative hours above 4.4 °C (40 °F).

    Never frozen 4 h, or 8 h where no moment was above 21.1 °C (70 °F); previously frozen 12 and 24 h
    (FDA Hazards Guide 4th ed., ch. 7, from memory). Hours wholly at or above 60 °C do not count.
    """
    key = "histamine.previously_frozen" if previously_frozen else "histamine.never_frozen"

    def clock(spells: Sequence[Spell]) -> Exposure:
        counted = [
            s
            for s in spells
            if not limit("histamine.counts_above").kept(s.warmest_c)
            and not limit("histamine.hot_from").reached(s.coldest_c)
        ]
        warmest_c = max((s.warmest_c for s in counted), default=None)
        warm = warmest_c is not None and not limit("histamine.warm_above").kept(warmest_c)
        limit_h = float(rule(key)["warm_h" if warm else "cool_h"])
        return Exposure(key, sum(s.hours for s in counted), limit_h, citation(key), warmest_c)

    return clock


def raw_rte_exposure(spells: Sequence[Spell]) -> Exposure:
    """Clock of fish that is eaten raw or cold-smoked: hours between 10 and 57.2 °C (50 and 135 °F).

    Ever above 21.1 °C (70 °F): 4 h, of which no more than 2 h above it; never: 5 h (FDA Hazards Guide
    4th ed., Appendix 4, March 2020).
    """
    counted = [
        s
        for s in spells
        if not limit("raw_rte.counts_above").kept(s.warmest_c)
        and not limit("raw_rte.counts_below").reached(s.coldest_c)
    ]
    warm = [s for s in counted if not limit("raw_rte.warm_above").kept(s.warmest_c)]
    warmest_c = max((s.warmest_c for s in counted), default=None)
    total_h = sum(s.hours for s in counted)
    key = "raw_rte.ever_warm" if warm else "raw_rte.never_warm"
    whole = Exposure(key, total_h, float(rule(key)["total_h"]), citation(key), warmest_c)
    if not warm:
        return whole
    above = Exposure(key, sum(s.hours for s in warm), float(rule(key)["warm_h"]), citation(key), warmest_c)
    return max(whole, above, key=lambda exposure: exposure.share)


@dataclass(frozen=True)
class _Row:
    to_c: float
    max_h: float
    citation: Citation


def growth_exposure(*, eaten_as_is: bool) -> Clock:
    """Clock by the rows of table A-2 for what a later cook does not undo.

    C. botulinum type E and non-proteolytic, S. aureus; with ``eaten_as_is`` Listeria too. Every hour
    uses up its part of the limit of the row it falls in, and the parts add up: no sum of hours that
    the rows allow one by one can pass more. The hazard nearest its end counts, told in hours at its
    warmest row so far.
    """
    hazards = ("botulinum_e", "s_aureus", *(("listeria",) if eaten_as_is else ()))

    def clock(spells: Sequence[Spell]) -> Exposure:
        return max((_by_rows(hazard, spells) for hazard in hazards), key=lambda exposure: exposure.share)

    return clock


def _by_rows(hazard: str, spells: Sequence[Spell]) -> Exposure:
    lowest_c, highest_c, rows = _rows(hazard)
    share, warmest, warmest_c = 0.0, rows[0], None
    for spell in spells:
        if spell.warmest_c < lowest_c or spell.coldest_c > highest_c:
            continue
        row = next(row for row in rows if spell.warmest_c <= row.to_c)
        share += spell.hours / row.max_h
        warmest = max(warmest, row, key=lambda r: r.to_c)
        warmest_c = max(spell.warmest_c, spell.warmest_c if warmest_c is None else warmest_c)
    return Exposure(f"growth.{hazard}", share * warmest.max_h, warmest.max_h, warmest.citation, warmest_c)


@cache
def _rows(hazard: str) -> tuple[float, float, tuple[_Row, ...]]:
    """Coldest and warmest growth [°C] and the rows of a hazard, coldest first."""
    found = [row for row in table("growth_limits") if row["hazard"] == hazard]
    ends = next(row for row in table("growth_ranges") if row["hazard"] == hazard)
    coldest = Limit(hazard, float(found[0]["from_c"]), float(found[0]["from_f"]))
    warmest = Limit(hazard, float(ends["max_c"]), float(ends["max_f"]))
    return coldest.least_c, warmest.most_c, tuple(_row(row) for row in found)


def _row(row: dict[str, str]) -> _Row:
    top = Limit(row["hazard"], float(row["to_c"]), float(row["to_f"])).most_c if row["to_c"] else math.inf
    where = cite(row["source"], row["place"], row["status"])
    return _Row(top, float(row["max_h"]), where)


def _spent_at(clock: Clock, spells: Sequence[Spell]) -> datetime | None:
    """Moment at which ``spells`` in order of time spend ``clock``, to the second; None if never."""
    if not clock(spells).spent:
        return None
    early = min(spell.start for spell in spells)
    late = max(spell.end for spell in spells)
    while late - early > timedelta(seconds=1):
        middle = early + (late - early) / 2
        if clock(spells_until(spells, middle)).spent:
            late = middle
        else:
            early = middle
    return early
