"""Every word that the pictures say of themselves, in one place."""

from __future__ import annotations

from datetime import datetime

from bot.pictures.habits import Habit, clock, duration, moment, temperature
from bot.say.words import STAGE
from planner.stages import Stage
from planner.verdict import Eta

NO_STAGES = "No stages yet: say what fish there is and when it should be ready."
NO_READING = "no reading"
NO_SALT = "No salt figures yet: say what the brine is and how thick the fish."
NO_COOLING = "No core reading yet. One as it leaves the smoke starts the clock."
NO_MASS = "No weighing yet. A weight, or how the surface feels, sharpens the time."
NOW = "now"
CHAMBER = "chamber"
FLOOR = "floor"
AIM = "aim"
AT_FLOOR = "at the floor"
HOLD_OVER = "hold over"
THROUGH_THE_SOAK = "Salt over the soak"
MEAN = "whole piece"
MIDDLE = "middle"
PELLICLE = "▨ tacky skin"
WEIGHT = "weight"
RAW, FINISHED = "raw", "finished"
CORE, HELD, WOOD, KEEP_BY = "hottest core", "held hot", "wood", "Keep by"
NO_PHOTO = "The photo could not be opened."
PLAN_KEY = "Pale: in the cold.  Tip: earliest to latest end."


def now_line(moment: str) -> str:
    """The moment that the picture shows, under a title."""
    return f"As of {moment}"


def held(floor_min: float, aim_min: float, hold_min: float, two_marks: bool) -> str:
    """How much of the hold is done, for each mark."""
    if not two_marks:
        return f"held {floor_min:.0f} of {hold_min:.0f} min"
    return f"floor {floor_min:.0f}, aim {aim_min:.0f} of {hold_min:.0f} min"


def expected(name: str, eta: Eta, habit: Habit) -> str:
    """A best guess and its range."""
    return f"{name} {clock(eta.p50, habit)} ({clock(eta.p10, habit)} – {clock(eta.p90, habit)})"


def across(thickness: str) -> str:
    """Title of the salt profile."""
    return f"Salt across the piece, {thickness} thick"


def at_pull(at: datetime | None, habit: Habit) -> str:
    """Name of the profile at the end of the soak."""
    return f"at the pull, {moment(at, habit)}" if at else "at the pull"


def from_to_pct(low: float, high: float) -> str:
    """A range in percent."""
    return f"{low:.1f} – {high:.1f} %"


def ends_at(pct: float) -> str:
    """The last value of a curve."""
    return f"{pct:.1f} % at the end"


def air(air_c: float | None, rh_pct: float | None, habit: Habit) -> str:
    """The drying air, as far as it is known."""
    parts = [temperature(air_c, habit)] if air_c is not None else []
    parts += [f"{rh_pct:.0f} % humidity"] if rh_pct is not None else []
    return "Air " + ", ".join(parts) if parts else ""


def touch(at: datetime, surface: str, habit: Habit) -> str:
    """How the surface felt."""
    return f"▲ {clock(at, habit)} felt {surface}"


def used(used_h: float, limit_h: float) -> str:
    """How much of a limit is spent."""
    return f"{used_h:.1f} of {limit_h:g} h used"


def spent(at: datetime, habit: Habit) -> str:
    """When a limit will be spent at this pace."""
    return f"spent {moment(at, habit)}"


def deadline(core_c: float, at: datetime, habit: Habit) -> str:
    """One step of the cooling limit."""
    return f"{temperature(core_c, habit)} by {clock(at, habit)}"


def deadline_state(at: datetime, met_at: datetime | None, now: datetime, habit: Habit) -> str:
    """Whether the step is shown, still to come, or went by without a reading that shows it."""
    if met_at is not None and met_at <= at:
        return f"met {clock(met_at, habit)}"
    if now >= at:
        return "not shown in time"
    return f"{duration((at - now).total_seconds() / 60)} left"


def salt_range(low: float, mid: float, high: float) -> tuple[str, str]:
    """Water-phase salt: the best guess, and what it is with its range."""
    return f"{mid:.1f} %", f"salt ({low:.1f} – {high:.1f})"


def stage_lengths(spans: list[tuple[Stage, float]]) -> str:
    """Each stage and how many minutes it took."""
    each = (f"{STAGE[stage].lower()} {duration(minutes)}" for stage, minutes in spans)
    return ", ".join(one.replace(" ", "\u00a0") for one in each)


def raw_to_finished(left_pct: float) -> str:
    """How much of the raw weight is left."""
    return f"raw to finished, {left_pct:.0f} % left"


def curve_key(core_sign: str, chamber_sign: str) -> str:
    """Which sign is which on the card's curve."""
    return f"{core_sign} core" + (f"   {chamber_sign} {CHAMBER}" if chamber_sign else "")


def keep_line(day: str, how: str) -> str:
    """Until when and how to keep it, as far as either is known."""
    return ". ".join(part for part in (f"{KEEP_BY} {day}" if day else "", how) if part)
