"""What understanding is told of the chat when a message comes in."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from bot.crew import duty_of, people_of
from bot.understanding import Context, Heard, Rung
from bot.work import Work
from planner.batch import WHOLE
from planner.plan import Plan

#: The reminder's word for a thing, and the word understanding knows it by where they differ.
_RUNG_AS = {"rotate": "racks", "turn": "racks", "cool": "core"}

#: How soon after its start, and how long before its planned end, a stay is asked about: *ours*.
_SHORTEST_STAY, _EARLY_PULL = timedelta(hours=1), timedelta(hours=3)
#: In a chat's memory: its units were not told, they are those that people wrote in.
UNITS_AS_WRITTEN = "units_as_written"


def context_of(work: Work, who: str) -> Context:
    """Habits of the chat, where its batch stands, what was asked and rung."""
    memory = work.chat.memory
    focus = work.focus
    plan = work.plan(focus) if focus else None
    asked = memory.get("asked") or {}
    return Context(
        now=work.now,
        zone=work.chat.zone,
        units=_units(work),
        temperature_scales=frozenset(memory.get("scales", ())),
        stage=str(plan.now.stage) if plan else None,
        stage_since=plan.now.since if plan and plan.now.begun else None,
        stay_from=_stay_from(plan) if plan else None,
        batch_since=_since(plan) if plan else None,
        lots=_lots(plan),
        asked=asked.get("slot"),
        asked_options=tuple((label, slots) for label, slots in asked.get("options", ())),
        rung=_rung(memory.get("rung")),
        last=_last(memory.get("last", {}).get(who)),
        batches=tuple(f.name for f in work.running),
        people=tuple(person.name for person in people_of(memory)),
        on_duty=duty.who.name if (duty := duty_of(memory, work.now)) is not None else None,
    )


def _units(work: Work) -> str | None:
    """The units of a bare figure. Who writes pounds may own a thermometer in °C; who writes kilos has no other."""
    if work.chat.memory.get(UNITS_AS_WRITTEN) and work.chat.units == "us":
        return None
    return work.chat.units


def _since(plan: Plan) -> datetime | None:
    """Return when the first stage began; before one has, what was done earlier may still be told."""
    return min(plan.batch.started.values(), default=None)


def _stay_from(plan: Plan) -> datetime | None:
    """Nobody asks whether it can stay till long before the planned end."""
    row = plan.stage(plan.now.stage)
    return None if row is None or row.done else max(row.start + _SHORTEST_STAY, row.end - _EARLY_PULL)


def _lots(plan: Plan | None) -> tuple[str, ...]:
    if plan is None:
        return ()
    return tuple(lot.name for lot in plan.making.lots if lot.name != WHOLE)


def _rung(rung: Mapping[str, Any] | None) -> Rung | None:
    if not rung:
        return None
    what = str(rung["what"])
    lot = rung.get("lot")
    return Rung(_RUNG_AS.get(what, what), rung.get("stage"), None if lot == WHOLE else lot)


def _last(last: Mapping[str, Any] | None) -> Heard | None:
    if not last:
        return None
    return Heard(str(last["intent"]), dict(last["slots"]))
