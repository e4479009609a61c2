"""Cold in time: 60 °C to 21.1 °C within 2 h, to 4.4 °C within 6 h of the start.

Only a core reading proves a leg, and only one taken within the leg's time: fish found cold after the
deadline may have got cold too late. Association of Food and Drug Officials, smoked fish practices;
FDA Food Code 3-501.14 starts at 57 °C (135 °F).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from functools import cache

from planner.limits import Limit
from planner.readings import Reading, warmest_by_moment
from planner.sources import Citation, cite, table


class CoolState(StrEnum):
    """Where a cooling stands. Only ``DONE`` opens a gate."""

    NOT_STARTED = "not_started"  #: the core was never read hot
    ON_COURSE = "on_course"  #: the deadline of the leg lies ahead
    DONE = "done"  #: readings prove both legs
    MISSED = "missed"  #: a reading proves that a leg took too long: cannot be mended
    UNKNOWN = "unknown"  #: a deadline passed and nobody has read the core since: read it now
    UNPROVEN = "unproven"  #: cold when read after the deadline: in time or not, no reading says


@dataclass(frozen=True)
class CoolingRule:
    """One published rule: from ``start`` to ``middle`` within ``middle_h``, to ``end`` within ``end_h``."""

    key: str
    start: Limit
    middle: Limit
    middle_h: float
    end: Limit
    end_h: float
    citation: Citation


@dataclass(frozen=True)
class Cooling:
    """How a cooling stands by its readings.

    ``start`` is the last core reading at or above the rule's start. ``leg`` is ``first_leg`` or
    ``cold``, the leg that is running or failed. ``remedy`` is what a person can do: ``read_core``,
    ``tell_earlier_reading`` (one taken in time but not told yet), ``none`` (lost) or None.
    """

    rule: CoolingRule
    state: CoolState
    leg: str | None = None
    start: datetime | None = None
    first_leg_by: datetime | None = None
    cold_by: datetime | None = None
    done_at: datetime | None = None
    last_c: float | None = None

    @property
    def citation(self) -> Citation:
        """Source of the rule."""
        return self.rule.citation

    @property
    def next_reading_by(self) -> datetime | None:
        """Deadline of the running leg: a reading by then is what proves it."""
        if self.state is not CoolState.ON_COURSE:
            return None
        return self.first_leg_by if self.leg == "first_leg" else self.cold_by

    @property
    def ran_out_at(self) -> datetime | None:
        """Deadline that passed with no reading since, if that is where it stands."""
        if self.state is not CoolState.UNKNOWN:
            return None
        return self.first_leg_by if self.leg == "first_leg" else self.cold_by

    @property
    def remedy(self) -> str | None:
        """What a person can still do."""
        return {
            CoolState.MISSED: "none",
            CoolState.UNKNOWN: "read_core",
            CoolState.UNPROVEN: "tell_earlier_reading",
        }.get(self.state)


@dataclass(frozen=True)
class _Course:
    """Core readings after the last hot one; ``again`` is the moment it was hot once more."""

    start: Reading
    after: tuple[Reading, ...]
    again: datetime | None = None


@cache
def cooling_rule(key: str = "smoked") -> CoolingRule:
    """A row of ``data/cooling_rules.csv``: ``smoked`` (in force), ``fda_cooked`` or ``food_code``."""
    row = next(row for row in table("cooling_rules") if row["key"] == key)

    def at(step: str) -> Limit:
        return Limit(f"cooling.{key}.{step}", float(row[f"{step}_c"]), float(row[f"{step}_f"]))

    where = cite(row["source"], row["place"], row["status"])
    hours = float(row["middle_h"]), float(row["end_h"])
    return CoolingRule(key, at("start"), at("middle"), hours[0], at("end"), hours[1], where)


def cooling_status(
    core: Sequence[Reading], now: datetime, rule: CoolingRule | None = None, *, outs: Sequence[datetime] = ()
) -> Cooling:
    """How the cooling of one lot stands at ``now``, by its ``core`` readings alone.

    The clock starts at the last reading at or above the start (60 °C), so heat given again starts it
    afresh - but not where the fish had cooled below all growth's upper end (55 °C, FDA Hazards Guide,
    Appendix 4, Table A-1) and its time had run out before: what was lost stays lost. Of several
    readings at one moment the warmest counts. Ask once the fish is off the heat. ``outs`` are the times at which it
    was said to come off: hot again after longer than the first leg, with no reading between, it may have cooled and
    been heated once more (our own rule), and only a reading told from that time shows otherwise.
    """
    rule = rule or cooling_rule()
    courses = _courses(warmest_by_moment(core, now), rule, outs)
    if not courses:
        return Cooling(rule, CoolState.NOT_STARTED)
    for course in courses[:-1]:
        lost = _lost(course, rule)
        if lost is not None:
            return lost
    return _judged(courses[-1], rule, now)


def _courses(looks: Sequence[Reading], rule: CoolingRule, outs: Sequence[datetime]) -> list[_Course]:
    courses: list[_Course] = []
    for look in looks:
        if rule.start.reached(look.value_c):
            if courses and (courses[-1].after or _untold(courses[-1].start.at, look.at, outs, rule)):
                courses[-1] = _Course(courses[-1].start, courses[-1].after, again=look.at)
                courses.append(_Course(look, ()))
            else:
                courses[-1:] = [_Course(look, ())]
        elif courses:
            courses[-1] = _Course(courses[-1].start, (*courses[-1].after, look))
    return courses


def _untold(hot: datetime, again: datetime, outs: Sequence[datetime], rule: CoolingRule) -> bool:
    """True where fish out of the heat was hot again after a first leg's time that nobody read it in."""
    return any(hot <= out and again - out > timedelta(hours=rule.middle_h) for out in outs)


@cache
def _growth_ends() -> Limit:
    row = next(row for row in table("growth_ranges") if row["hazard"] == "any")
    return Limit("growth_ends", float(row["max_c"]), float(row["max_f"]))


def _lost(course: _Course, rule: CoolingRule) -> Cooling | None:
    """The failed cooling that reheating does not undo, if this is one."""
    assert course.again is not None
    if course.after and all(_growth_ends().reached(look.value_c) for look in course.after):
        return None
    judged = _judged(course, rule, course.again)
    if judged.state is CoolState.UNKNOWN:
        return Cooling(rule, CoolState.UNPROVEN, judged.leg, *_times(course, rule), last_c=judged.last_c)
    return judged if judged.state in (CoolState.MISSED, CoolState.UNPROVEN) else None


def _times(course: _Course, rule: CoolingRule) -> tuple[datetime, datetime, datetime]:
    start = course.start.at
    return start, start + timedelta(hours=rule.middle_h), start + timedelta(hours=rule.end_h)


def _judged(course: _Course, rule: CoolingRule, now: datetime) -> Cooling:
    start, first_leg_by, cold_by = _times(course, rule)
    looks = _until_cold(course.after, rule)
    last_c = (looks or (course.start,))[-1].value_c

    def found(state: CoolState, leg: str, done_at: datetime | None = None) -> Cooling:
        return Cooling(rule, state, leg, start, first_leg_by, cold_by, done_at, last_c)

    if any(look.at >= first_leg_by and not rule.middle.kept(look.value_c) for look in looks):
        return found(CoolState.MISSED, "first_leg")
    if any(look.at >= cold_by and not rule.end.kept(look.value_c) for look in looks):
        return found(CoolState.MISSED, "cold")
    in_time = [look for look in looks if look.at <= first_leg_by]
    if not in_time or not rule.middle.kept(in_time[-1].value_c):
        return found(_open_state(now, first_leg_by, looks), "first_leg")
    if not rule.end.kept(looks[-1].value_c):
        return found(_open_state(now, cold_by, looks), "cold")
    if looks[-1].at > cold_by:
        return found(CoolState.UNPROVEN, "cold")
    return found(CoolState.DONE, "cold", looks[-1].at)


def _until_cold(looks: Sequence[Reading], rule: CoolingRule) -> tuple[Reading, ...]:
    """Readings up to the first at the end temperature: what comes later is keeping, not cooling."""
    first_cold = next((i for i, look in enumerate(looks) if rule.end.kept(look.value_c)), len(looks))
    return tuple(looks[: first_cold + 1])


def _open_state(now: datetime, by: datetime, looks: Sequence[Reading]) -> CoolState:
    """State of a leg that no reading proves and none proves missed."""
    if now <= by:
        return CoolState.ON_COURSE
    return CoolState.UNPROVEN if looks and looks[-1].at > by else CoolState.UNKNOWN
