"""What the pictures show: frozen values, SI with the unit in the name, instants aware UTC.

Limits come in with the record; a picture knows no rule of its own. Texts are drawn as they come,
shortened where they do not fit.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from bot.pictures.habits import Habit
from planner.spread import Spread
from planner.stages import Stage
from planner.verdict import Eta


@dataclass(frozen=True)
class Point:
    """One value at one moment."""

    at: datetime
    value: float


@dataclass(frozen=True)
class BandPoint:
    """A forecast at one moment: 10 %, 50 % and 90 %."""

    at: datetime
    low: float
    mid: float
    high: float


@dataclass(frozen=True)
class PlannedStage:
    """One stage of one lot (``None``: every lot), its end with an 80 % range."""

    stage: Stage
    start: datetime
    end: datetime
    earliest: datetime
    latest: datetime
    lot: str | None = None


@dataclass(frozen=True)
class PlanLimit:
    """A moment by which something must be so; drawn in its stage's row."""

    stage: Stage
    at: datetime
    says: str


@dataclass(frozen=True)
class PlanPicture:
    """A plan. ``lots`` are names in the order in which they should stand."""

    habit: Habit
    now: datetime
    title: str
    stages: tuple[PlannedStage, ...]
    lots: tuple[str, ...] = ()
    limits: tuple[PlanLimit, ...] = ()


@dataclass(frozen=True)
class CookLot:
    """Core of one lot: readings [°C], forecast [°C], minutes held so far at each mark.

    ``floor`` and ``done`` say when the core is expected at the floor and at the end of the hold.
    """

    name: str
    core_c: tuple[Point, ...] = ()
    forecast_c: tuple[BandPoint, ...] = ()
    floor_held_min: float = 0.0
    aim_held_min: float = 0.0
    floor: Eta | None = None
    done: Eta | None = None


@dataclass(frozen=True)
class CookPicture:
    """The smoke: every lot's core, the chamber, the two marks and the hold each asks for."""

    habit: Habit
    now: datetime
    title: str
    lots: tuple[CookLot, ...]
    floor_c: float
    aim_c: float
    hold_min: float
    chamber_c: tuple[Point, ...] = ()


@dataclass(frozen=True)
class SaltAt:
    """Water-phase salt [%] at a depth below the first face [mm]."""

    depth_mm: float
    wps_pct: float


@dataclass(frozen=True)
class SaltMark:
    """A level of water-phase salt that means something, e.g. a taste or a limit."""

    wps_pct: float
    says: str


@dataclass(frozen=True)
class SoakPicture:
    """Salt across the piece now and at the pull, and over the night.

    ``faces`` name what lies at depth 0 and at the far side, e.g. ``("skin", "flesh")``.
    ``mean_pct`` is the band of the mean, ``core_pct`` the middle's best guess.
    """

    habit: Habit
    now: datetime
    title: str
    faces: tuple[str, str]
    now_profile: tuple[SaltAt, ...]
    pull_profile: tuple[SaltAt, ...]
    pull_at: datetime | None
    mean_pct: tuple[BandPoint, ...] = ()
    core_pct: tuple[Point, ...] = ()
    mark: SaltMark | None = None


@dataclass(frozen=True)
class Clock:
    """A limit that runs: hours used of hours allowed, and the moment it is spent at this pace."""

    says: str
    used_h: float
    limit_h: float
    spent_at: datetime | None = None


@dataclass(frozen=True)
class Touch:
    """How the surface felt at one moment."""

    at: datetime
    surface: str


@dataclass(frozen=True)
class DryPicture:
    """The drying: mass of the pieces [g] as weighed and as expected, touch, air, running limits."""

    habit: Habit
    now: datetime
    title: str
    started_at: datetime
    mass_g: tuple[Point, ...] = ()
    forecast_g: tuple[BandPoint, ...] = ()
    touches: tuple[Touch, ...] = ()
    pellicle: Eta | None = None
    air_c: float | None = None
    rh_pct: float | None = None
    clocks: tuple[Clock, ...] = ()


@dataclass(frozen=True)
class Deadline:
    """The core must be at or below ``core_c`` by ``at``; ``met_at`` once a reading has shown it."""

    at: datetime
    core_c: float
    met_at: datetime | None = None


@dataclass(frozen=True)
class CoolLot:
    """Core of one lot on its way down."""

    name: str
    core_c: tuple[Point, ...] = ()
    forecast_c: tuple[BandPoint, ...] = ()


@dataclass(frozen=True)
class CoolPicture:
    """The cooling with the steps of the limit, in order of time, counted from ``started_at``."""

    habit: Habit
    now: datetime
    title: str
    started_at: datetime
    lots: tuple[CoolLot, ...]
    deadlines: tuple[Deadline, ...]


@dataclass(frozen=True)
class StageSpan:
    """One stage as it was, all lots together."""

    stage: Stage
    start: datetime
    end: datetime


@dataclass(frozen=True)
class CardPicture:
    """A finished batch in a nutshell. What is ``None`` or empty is left out.

    ``photo`` is an encoded image (JPEG or PNG). ``cautions`` (open gates, overrides) are always shown.
    """

    habit: Habit
    name: str
    species: str
    made_on: date
    stages: tuple[StageSpan, ...] = ()
    raw_g: float | None = None
    done_g: float | None = None
    wps_pct: Spread | None = None
    hottest_core_c: float | None = None
    held_min: float | None = None
    core_c: tuple[Point, ...] = ()
    chamber_c: tuple[Point, ...] = ()
    wood: str = ""
    keep_by: date | None = None
    keep_how: str = ""
    note: str = ""
    cautions: tuple[str, ...] = ()
    photo: bytes | None = None
