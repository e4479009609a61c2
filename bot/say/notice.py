"""Notices of a plan in words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from typing import Any

from bot.say.cautions import raw_fish
from bot.say.format import Pen, span
from bot.say.words import DOING
from planner.plan import Notice
from planner.stages import Stage

Values = Mapping[str, Any]


def notice_words(notice: Notice, pen: Pen) -> str:
    """One or two short sentences."""
    return _SAYS[notice.rule](dict(notice.values), pen)


def knows(rule: str) -> bool:
    """True if there are words for this rule."""
    return rule in _SAYS


def _moment(v: Values, pen: Pen, key: str) -> str:
    return pen.clock(datetime.fromisoformat(v[key]))


def _hours(value: float) -> str:
    return span(timedelta(hours=value))


def _anyway(v: Values, pen: Pen) -> str:
    stage = v.get("stage")
    while_ = f" while {DOING[Stage(stage)]}" if stage else ""
    return f"You went on against the advice{while_}, {_moment(v, pen, 'at')}: that stays on label and record."


_SAYS: Mapping[str, Callable[[Values, Pen], str]] = {
    "went_on_anyway": _anyway,
    "works_to": lambda v, pen: (
        f"You work to {pen.limit(v['core_c'])} instead of {pen.limit(71.1)}: noted as your choice."
    ),
    "exposure_spent": lambda v, pen: (
        f"Do not eat or pack it: {_hours(v['used_h'])} out of the cold, the limit is {_hours(v['limit_h'])}. "
        "Heat, smoke and freezing do not undo it."
    ),
    "exposure_ahead": lambda v, pen: (
        f"Like this the warm clock ({_hours(v['limit_h'])} in all) runs out {_moment(v, pen, 'at')}: "
        "dry it in the fridge, or shorten the drying."
    ),
    "histamine": lambda v, pen: (
        f"This fish forms histamine: out of the cold {_hours(v['left_h'])} are left of {_hours(v['limit_h'])}, catch to cold."
    ),
    "unknown_fish": lambda v, pen: (
        "I don't know that fish: I treat it as one that forms histamine and carries parasites."
    ),
    "ciguatera": lambda v, pen: "Reef fish like this can carry a toxin that no process removes.",
    "ciguatera_some": lambda v, pen: f"Some {v['fish']} live on reefs and can carry a toxin that no process removes: which is it?",
    "soak_too_warm": lambda v, pen: (
        f"Too warm for a long soak: {pen.temp(v['read_c'])}, it must be {pen.limit(v['limit_c'])} or colder."
    ),
    "airless_frozen": lambda v, pen: (
        f"Airless bags: freeze them. Chilled needs {v['limit_pct']:.1f} % salt in the fish's water, measured, and the cold read."
    ),
    "cold_smoke_raw": lambda v, pen: raw_fish(),
    "freeze_first": lambda v, pen: (
        f"Freeze first for parasites: {pen.limit(-20.0)} for 7 days. A home freezer at {pen.limit(-17.8)} is not cold enough."
    ),
    "brine_too_weak": lambda v, pen: (
        f"Weak for this piece: in {_hours(v['hours'])} it brings the fish to about {v['reach_pct']:.1f} % "
        f"(you want {v['wanted_pct']:.0f} %). More salt, or a thinner piece."
    ),
    "brine_too_strong": lambda v, pen: (
        f"Strong for pieces this thin: right after about {_hours(v['hours'])}, and salty at the edge. Watch the clock or weaken it."
    ),
    "salt_by_volume": lambda v, pen: (
        f"By the cup that is anything from {v['low_pct']:.1f} to {v['high_pct']:.1f} %: weigh it."
    ),
    "mild_product": lambda v, pen: (
        f"About {v['mean_pct']:.1f} % salt in its water: a mild product that lives by cold alone."
    ),
    "air_too_humid": lambda v, pen: (
        f"Air at {pen.temp(v['air_c'])} and {v['rh_pct']:.0f} % will not dry fish. Warm it, or dry in the fridge with a fan."
    ),
    "air_condensation": lambda v, pen: (
        f"At {pen.temp(v['air_c'])} and {v['rh_pct']:.0f} % dew forms on cold fish: it will not dry there."
    ),
    "chamber_too_low": lambda v, pen: (
        f"At {pen.temp(v['chamber_c'])} the core may never reach {pen.limit(71.1)}: plan on {pen.temp(93.0)}, or finish in the oven."
    ),
    "long_smoke": lambda v, pen: (
        f"A long smoke: guidance wants {pen.limit(71.1)} within {v['hours']:.0f} h. Run it hotter or cut thinner."
    ),
    "not_ready_in_time": lambda v, pen: (
        f"Not ready by {_moment(v, pen, 'by')}: the nearest that works is {_hours(v['late_h'])} later."
    ),
    "warm_at_night": lambda v, pen: (
        f"{_hours(v['hours'])} of the drying and smoking fall in your quiet hours; warm stages can't wait."
    ),
}
