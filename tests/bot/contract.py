"""The facts of the contract, section 5, as a check: every kind, its keys, what may stand in them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

STAGES = {"thaw", "trim", "soak", "salt", "rinse", "rest", "dry", "smoke", "cool", "chill", "pack", "keep"}
CALLS = {"go", "wait", "act", "stop", "noted"}
ETAS = {"floor", "aim", "hold_end", "pellicle", "first_leg", "cold"}

KEYS: dict[str, set[str]] = {
    "question": {"slot"},
    "plan": {"batch", "stages", "brine", "wps_pct", "yield_pct", "assumed", "warnings"},
    "verdict": {"about", "value", "call", "stage", "lot", "reasons", "next_look", "eta", "etas"},
    "reminder": {"batch", "stage", "what", "due", "late_s", "again"},
    "answer": {"topic", "values", "source"},
    "warning": {"rule", "says", "source"},
    "lethality": {"lot", "ref_c", "z_c", "minutes", "hold_min"},
    "exposure": {"rule", "used_h", "limit_h", "left_h"},
    "logged": {"batch", "entry", "at"},
}


def instant(value: Any) -> None:
    """ISO 8601 with an offset."""
    assert datetime.fromisoformat(value).tzinfo is not None


def check(fact: Mapping[str, Any]) -> None:
    """Raise AssertionError where a fact is not as the contract has it."""
    kind = fact["kind"]
    assert kind in KEYS, kind
    assert KEYS[kind] <= fact.keys(), (kind, KEYS[kind] - fact.keys())
    if kind == "plan":
        _plan(fact)
    elif kind == "verdict":
        _verdict(fact)
    elif kind in ("reminder", "logged"):
        instant(fact["due" if kind == "reminder" else "at"])
    elif kind == "warning":
        assert fact["says"]


def _plan(fact: Mapping[str, Any]) -> None:
    for row in fact["stages"]:
        assert row.keys() >= {"stage", "lot", "start", "end", "earliest", "latest"}
        assert row["stage"] in STAGES
        for key in ("start", "end", "earliest", "latest"):
            instant(row[key])
    if fact["brine"] is not None:
        assert fact["brine"].keys() >= {"salt_g", "sugar_g", "water_ml", "salt_pct", "salometer_deg"}
    if fact["wps_pct"] is not None:
        assert fact["wps_pct"].keys() >= {"mean", "core", "low", "high", "at_pull"}
        assert fact["wps_pct"]["at_pull"].keys() >= {"mean", "core"}
    for warning in fact["warnings"]:
        check({"kind": "warning", **warning})


def _verdict(fact: Mapping[str, Any]) -> None:
    assert fact["call"] in CALLS
    assert fact["stage"] in STAGES
    for reason in fact["reasons"]:
        assert reason.keys() >= {"rule", "says", "source"}
        assert reason["says"]
    if fact["next_look"] is not None:
        instant(fact["next_look"])
    for eta in [fact["eta"], *fact["etas"]]:
        if eta is not None:
            assert eta["of"] in ETAS
            for key in ("p10", "p50", "p90"):
                instant(eta[key])
