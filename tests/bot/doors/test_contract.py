"""What leaves the JSON-lines door has the names on which others rely."""

from __future__ import annotations

import io
import json
from typing import Any

import pytest

from bot.cli import main

#: Keys that each kind of fact carries.
FACTS = {
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
INTENTS = {"describe", "reading", "event", "ask", "correct", "setting", "chat"}
CALLS = {"go", "wait", "act", "stop", "noted"}
STAGES = ["thaw", "trim", "soak", "salt", "rinse", "rest", "dry", "smoke", "cool", "chill", "pack", "keep"]

DAY, NEXT = "2026-09-11", "2026-09-12"
TALK = [
    (f"{DAY}T17:40", "2 kg coho fillets, skin on, 25 mm, 350 g table salt in 3 l water, going in the brine now"),
    (f"{DAY}T17:41", "how strong is that brine"),
    (f"{NEXT}T07:00", "out of the brine"),
    (f"{NEXT}T07:10", "drying since 7:10, air 15 C, 60 % humidity, fan on"),
    (f"{NEXT}T10:30", "tacky, not wet"),
    (f"{NEXT}T10:40", "in the smoker, chamber 90 C"),
    (f"{NEXT}T11:40", "core 55 C, chamber 90 C"),
    (f"{NEXT}T12:40", "core 64 C, chamber 90 C"),
    (f"{NEXT}T12:41", "can I pack?"),
]


@pytest.fixture(scope="module")
def out() -> list[dict[str, Any]]:
    settings = {"settings": {"zone": "America/Vancouver", "units": "metric", "quiet": ["22:30", "06:30"]}}
    lines: list[dict[str, Any]] = [settings]
    lines += [{"at": f"{at}:00-07:00", "chat": "c1", "from": "p1", "text": text} for at, text in TALK]
    lines.append({"at": f"{NEXT}T14:00:00-07:00", "tick": True})
    text = "\n".join(json.dumps(line) for line in lines)
    with pytest.MonkeyPatch.context() as patch:
        printed = io.StringIO()
        patch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(text.encode())))
        patch.setattr("sys.stdout", printed)
        assert main(["replay", "-", "--json"]) == 0
    return [json.loads(line) for line in printed.getvalue().splitlines()]


def facts(out: list[dict[str, Any]], kind: str) -> list[dict[str, Any]]:
    return [fact for line in out for fact in line.get("facts", []) if fact["kind"] == kind]


def test_every_line_is_heard_once(out: list[dict[str, Any]]) -> None:
    heard = [line["heard"] for line in out if "heard" in line]
    assert len(heard) == len(TALK)
    for one in heard:
        for said in (one, *one.get("also", [])):
            assert said["intent"] in INTENTS
            assert isinstance(said["slots"], dict)


def test_every_message_has_its_keys_and_time_never_goes_back(out: list[dict[str, Any]]) -> None:
    for line in out:
        if "heard" not in line:
            assert {"at", "chat", "text", "buttons", "facts", "files"} <= line.keys()
            assert line["text"]
    times = [line["at"] for line in out]
    assert times == sorted(times)
    assert all(at.endswith("-07:00") for at in times)


@pytest.mark.parametrize("kind", sorted(FACTS.keys() - {"question", "warning"}))
def test_each_kind_of_fact_comes_up_with_its_keys(out: list[dict[str, Any]], kind: str) -> None:
    found = facts(out, kind)
    assert found
    for fact in found:
        assert FACTS[kind] <= fact.keys()


def test_no_fact_is_of_an_unknown_kind(out: list[dict[str, Any]]) -> None:
    assert {fact["kind"] for line in out for fact in line.get("facts", [])} <= FACTS.keys()


def test_plans_name_stages_and_their_ranges(out: list[dict[str, Any]]) -> None:
    for plan in facts(out, "plan"):
        assert [row["stage"] for row in plan["stages"]]
        for row in plan["stages"]:
            assert row["stage"] in STAGES
            assert {"lot", "start", "end", "earliest", "latest"} <= row.keys()
            assert row["start"] <= row["end"]
        assert {"mean", "core", "low", "high", "at_pull"} <= plan["wps_pct"].keys()
        assert {"salt_g", "sugar_g", "water_ml", "salt_pct", "salometer_deg"} <= plan["brine"].keys()


def test_verdicts_say_call_reasons_and_when_to_look(out: list[dict[str, Any]]) -> None:
    for verdict in facts(out, "verdict"):
        assert verdict["call"] in CALLS
        assert all({"rule", "says", "source"} <= reason.keys() for reason in verdict["reasons"])
        if verdict["call"] == "wait":
            assert verdict["next_look"]
        for eta in [verdict["eta"], *verdict["etas"]]:
            assert eta is None or eta["p10"] <= eta["p50"] <= eta["p90"]


def test_a_core_reading_in_the_smoke_has_a_forecast(out: list[dict[str, Any]]) -> None:
    first, second = (verdict for verdict in facts(out, "verdict") if verdict["about"] == "core_c")
    assert first["eta"]["of"] == "floor"
    assert second["eta"]["of"] == "hold_end"
    assert {first["call"], second["call"]} == {"wait"}


def test_packing_is_not_let_through_without_hold_and_cooling(out: list[dict[str, Any]]) -> None:
    last = [line for line in out if line.get("at") == f"{NEXT}T12:41:00-07:00" and "facts" in line]
    calls = {fact["call"] for line in last for fact in line["facts"] if fact["kind"] == "verdict"}
    assert calls
    assert "go" not in calls
