"""Facts of the contract (section 5) from the planner's values: JSON, SI, instants in the chat's zone."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from bot.say.format import Pen
from bot.say.notice import notice_words
from bot.say.why import reason_words
from planner.batch import WHOLE
from planner.exposure import Exposure
from planner.plan import BrinePlan, LotCook, Notice, Plan, SaltInFish, StagePlan
from planner.rig.experience import Experience
from planner.ring import Ring
from planner.verdict import Eta, Reason, Verdict

Fact = dict[str, Any]


def question(slot: str) -> Fact:
    """What is being asked for."""
    return {"kind": "question", "slot": slot}


def plan(p: Plan, number: int, pen: Pen) -> Fact:
    """The whole plan of a batch."""
    return {
        "kind": "plan",
        "batch": number,
        "stages": [_stage(row, pen) for row in p.stages],
        "brine": _brine(p.brine) if p.brine else None,
        "wps_pct": _salt(p.wps) if p.wps else None,
        "yield_pct": p.yield_pct,
        "assumed": list(p.assumed),
        "warnings": [warning(notice, pen) for notice in p.warnings],
        "learned": _learned(p.making.known),
    }


def verdict(v: Verdict, pen: Pen) -> Fact:
    """A verdict with its reasons and what is expected."""
    return {
        "kind": "verdict",
        "about": v.about,
        "value": v.value,
        "call": str(v.call),
        "stage": str(v.stage),
        "lot": v.lot,
        "reasons": [reason(r, pen) for r in v.reasons],
        "next_look": stamp(v.next_look, pen),
        "eta": _eta(v.eta, pen) if v.eta else None,
        "etas": [_eta(e, pen) for e in v.etas],
    }


def reason(r: Reason, pen: Pen) -> Fact:
    """One rule that bore on a verdict."""
    return {"rule": str(r.rule), "says": reason_words(r, pen), "source": r.source}


def warning(notice: Notice, pen: Pen) -> Fact:
    """A notice of a plan."""
    return {"kind": "warning", "rule": notice.rule, "says": notice_words(notice, pen), "source": notice.source}


def lethality(cook: LotCook) -> Fact:
    """What heat the lot has had by its readings."""
    held = max(cook.floor_hold.best_min, cook.floor_hold.held_min)
    return {
        "kind": "lethality",
        "lot": None if cook.lot == WHOLE else cook.lot,
        "ref_c": cook.lethality.ref_c,
        "z_c": cook.lethality.z_c,
        "minutes": round(cook.lethality.minutes, 3),
        "hold_min": round(held, 1),
    }


def exposure(clock: Exposure) -> Fact:
    """The growth clock nearest its end."""
    return {
        "kind": "exposure",
        "rule": clock.rule,
        "used_h": round(clock.used_h, 2),
        "limit_h": clock.limit_h,
        "left_h": round(clock.left_h, 2),
        "source": clock.citation.text(),
    }


def reminder(ring: Ring, batch: int | None, late_s: float, again: int, pen: Pen) -> Fact:
    """A reminder as it is rung."""
    return {
        "kind": "reminder",
        "batch": batch,
        "stage": str(ring.stage),
        "what": ring.what,
        "lot": None if ring.lot == WHOLE else ring.lot,
        "due": stamp(ring.due, pen),
        "late_s": round(late_s),
        "again": again,
    }


def answer(topic: str, values: Mapping[str, Any], source: str = "") -> Fact:
    """A question's answer as data."""
    return {"kind": "answer", "topic": topic, "values": dict(values), "source": source}


def logged(batch: int, entry: int, at: datetime, pen: Pen) -> Fact:
    """That an entry was written."""
    return {"kind": "logged", "batch": batch, "entry": entry, "at": stamp(at, pen)}


def stamp(moment: datetime | None, pen: Pen) -> str | None:
    """ISO 8601 with the offset of the chat's zone, to the second."""
    if moment is None:
        return None
    return moment.astimezone(ZoneInfo(pen.zone)).isoformat(timespec="seconds")


def _learned(known: Experience) -> Fact:
    """How many batches of this rig the times rest on."""
    drying, smoking = known.tack, known.smoke
    return {
        "rig": known.rig,
        "drying": drying.batches if drying else 0,
        "smoking": smoking.batches if smoking else 0,
    }


def _stage(row: StagePlan, pen: Pen) -> Fact:
    return {
        "stage": str(row.stage),
        "lot": row.lot,
        "start": stamp(row.start, pen),
        "end": stamp(row.end, pen),
        "earliest": stamp(row.earliest, pen),
        "latest": stamp(row.latest, pen),
    }


def _brine(b: BrinePlan) -> Fact:
    return {
        "salt_g": round(b.salt_g, 1),
        "sugar_g": round(b.sugar_g, 1),
        "water_ml": round(b.water_ml),
        "salt_pct": None if b.salt_pct is None else round(b.salt_pct, 2),
        "salometer_deg": None if b.salometer_deg is None else round(b.salometer_deg, 1),
        **({} if b.salt_per_fish_pct is None else {"salt_per_fish_pct": b.salt_per_fish_pct}),
    }


def _salt(s: SaltInFish) -> Fact:
    return {
        "mean": round(s.mean, 2),
        "core": round(s.core, 2),
        "low": round(s.low, 2),
        "high": round(s.high, 2),
        "at_pull": {"mean": round(s.pull_mean, 2), "core": round(s.pull_core, 2)},
    }


def _eta(e: Eta, pen: Pen) -> Fact:
    return {"of": e.of, "p10": stamp(e.p10, pen), "p50": stamp(e.p50, pen), "p90": stamp(e.p90, pen)}
