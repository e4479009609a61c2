"""Something was started, done, turned, topped up or pulled: recorded, and what comes next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from bot import facts
from bot.replies.describe import plan_part
from bot.replies.part import Labelled, Part, pen_of
from bot.replies.reading import clock_facts
from bot.say.event import event_words
from bot.say.verdict import verdict_words
from bot.say.words import lot as lot_words
from bot.say.words import of_lot
from bot.work import Work
from planner.batch import WHOLE
from planner.entries import Kind
from planner.gates import shut
from planner.judge import pack_verdict
from planner.plan import LotCook, Plan
from planner.stages import Stage
from planner.verdict import Call, Reason, Verdict
from scheduler.turn import BatchFile

AFTER_PACKING: tuple[Labelled, ...] = (
    ("Labels", {"say": "labels"}),
    ("Card", {"say": "card"}),
    ("Show the log", {"say": "show the log"}),
)


def take_event(work: Work, slots: Mapping[str, Any], words: str, *, batch: BatchFile | None = None) -> Part:
    """Record an event and say what follows; what would pass a shut gate is asked about first."""
    file = batch or work.focus
    if file is None:
        return _opened_by_event(work, slots, words)
    if slots.get("override"):
        return _went_on(work, file, slots, words)
    at = min(datetime.fromisoformat(slots["at"]), work.now) if "at" in slots else work.now
    if slots.get("stage") == Stage.PACK and (slots.get("done") or slots.get("started")):
        return _pack(work, file, at, words)
    if slots.get("anyway"):
        return _stays_out(work, file, slots, words)
    early = _too_early(work, file, slots)
    part = _record(work, file, slots, at, words)
    return part if early is None else replace(early, facts=(*early.facts, *part.facts))


def _opened_by_event(work: Work, slots: Mapping[str, Any], words: str) -> Part:
    if slots.get("stage") in (Stage.SOAK, Stage.SALT, Stage.THAW, Stage.DRY, Stage.SMOKE) and not slots.get("override"):
        file = work.open("fish")
        at = min(datetime.fromisoformat(slots["at"]), work.now) if "at" in slots else work.now
        part = _record(work, file, slots, at, words)
        plan = plan_part(work, file, first=True)
        return Part(plan.text, (*part.facts, *plan.facts), plan.buttons)
    return Part('I have no batch running. Tell me what you are making, like "4 lb coho fillets, 1 inch".')


def _record(work: Work, file: BatchFile, slots: Mapping[str, Any], at: datetime, words: str) -> Part:
    pen = pen_of(work)
    data = {k: v for k, v in slots.items() if k != "at"}
    entry = work.add(file, Kind.EVENT, data, at=at, words=words)
    work.remember(rung=None, asked=None, focus=file.number)
    work.mix_as_planned(file)
    plan = work.plan(file)
    text = event_words(data, at, plan, pen)
    said: list[Mapping[str, Any]] = [facts.logged(file.number, entry.number, at, pen)]
    if "stage" in data or data.get("what") == "pulled":
        said.append(facts.plan(plan, file.number, pen))
    said += clock_facts(plan)
    return Part(text, tuple(said), _likely(plan, file, data), about=(file.number, data, at))


def retell(work: Work, part: Part) -> Part:
    """The words about an event once more, with the plan as it is by now."""
    if part.about is None:
        return part
    number, data, at = part.about
    return replace(part, text=event_words(data, at, work.plan(work.files[number]), pen_of(work)))


def _too_early(work: Work, file: BatchFile, slots: Mapping[str, Any]) -> Part | None:
    """Taking a lot from the smoke before its hold is shown: said at once, and asked about."""
    over = slots.get("stage") == Stage.SMOKE and slots.get("done")
    cooling = slots.get("stage") == Stage.COOL and slots.get("started")
    if not (slots.get("what") == "pulled" or over or cooling):
        return None
    plan = work.plan(file)
    if plan.making.cold_smoke or not plan.cooks:
        return None
    lots = [slots["lot"]] if slots.get("lot") else list(plan.cooks)
    unmet = [plan.cooks[n] for n in lots if n in plan.cooks and not plan.cooks[n].aim_hold.met]
    if not unmet:
        return None
    pen = pen_of(work)
    verdict = _not_hot(unmet[0])
    said = facts.verdict(verdict, pen)
    lot = {"lot": slots["lot"]} if slots.get("lot") else {}
    in_again = {"stage": str(Stage.SMOKE), "started": True, **lot}
    back = {"intent": "event", "slots": in_again, "batch": file.number, "back": True}
    anyway = {"intent": "event", "slots": {"what": "pulled", **lot, "anyway": True}, "batch": file.number}
    which = lot_words(unmet[0].lot if len(unmet) == 1 else None)
    held = round(unmet[0].floor_hold.best_min)
    text = (
        f"Not hot long enough on record: {which} back into the heat.\n"
        f"{pen.limit(unmet[0].aim_hold.mark.core_c)} for 30 min is the mark{of_lot(unmet[0].lot)}; "
        f"{held} min at {pen.limit(unmet[0].floor_hold.mark.core_c)} are shown.\n"
        "A core that you read and did not tell still counts: tell me now, with its time."
    )
    work.remember(why={"batch": file.number, "facts": [said]})
    return Part(text, (said,), (("Back in", back), ("Out anyway", anyway), ("Why?", {"say": "why"})), urgent=True)


def _stays_out(work: Work, file: BatchFile, slots: Mapping[str, Any], words: str) -> Part:
    """A lot stays out of the smoke though its heat was not shown: the choice is recorded with it."""
    lot = slots.get("lot")
    work.add(file, Kind.CHOICE, {"override": True, "stage": str(Stage.SMOKE), "lot": lot}, words=words)
    data = {k: v for k, v in slots.items() if k != "anyway"}
    out = work.batch(file).done_at(Stage.SMOKE, lot)
    if out is None:
        return _record(work, file, data, work.now, words)
    plan = work.plan(file)
    said = (facts.plan(plan, file.number, pen_of(work)), *clock_facts(plan))
    text = event_words(data, out, plan, pen_of(work))
    text += "\nIt was not hot long enough: label and record will keep saying so."
    return Part(text, said, _likely(plan, file, data))


def _not_hot(cook: LotCook) -> Verdict:
    hold, mark = cook.aim_hold, cook.aim_hold.mark
    rule = "aim_not_held" if cook.floor_hold.met else "floor_not_held"
    values: dict[str, float | str] = {"core_c": mark.core_c, "held_min": round(hold.best_min)}
    if cook.lot != WHOLE:
        values["lot"] = cook.lot
    reason = Reason(rule, mark.citation.text(), values)
    lot = None if cook.lot == WHOLE else cook.lot
    return Verdict("pulled", None, Call.ACT, Stage.SMOKE, lot, (reason,), cook.next_look)


def _pack(work: Work, file: BatchFile, at: datetime, words: str) -> Part:
    """Packing: recorded where every gate is open; else what is missing, and the choice."""
    pen = pen_of(work)
    plan = work.plan(file)
    verdict = pack_verdict(plan)
    said = facts.verdict(verdict, pen)
    work.remember(why={"batch": file.number, "facts": [said]})
    if shut(plan.gates):
        anyway = {"intent": "event", "slots": {"override": True, "stage": "pack"}, "batch": file.number}
        lost = verdict.call is Call.STOP
        text = verdict_words(verdict, plan, pen)
        buttons: tuple[Labelled, ...] = (("Why?", {"say": "why"}),)
        if not lost:
            buttons = (("Pack anyway", anyway), *buttons)
        return Part(text, (said, *clock_facts(plan)), buttons, urgent=lost)
    entry = work.add(file, Kind.EVENT, {"stage": "pack", "done": True}, at=at, words=words)
    work.add(file, Kind.VERDICT, {"text": "Go: pack it.", "facts": [said]}, who="bell")
    work.remember(rung=None)
    after = work.plan(file)
    return Part(
        event_words({"stage": "pack", "done": True}, at, after, pen),
        (said, facts.logged(file.number, entry.number, at, pen), facts.plan(after, file.number, pen)),
        AFTER_PACKING,
    )


def _went_on(work: Work, file: BatchFile, slots: Mapping[str, Any], words: str) -> Part:
    """A person goes on against the advice: recorded, never opening a gate, repeated ever after."""
    pen = pen_of(work)
    plan = work.plan(file)
    stage = str(slots.get("stage") or plan.now.stage)
    missing = [gate.missing or gate.name for gate in shut(plan.gates)]
    work.add(file, Kind.CHOICE, {"override": True, "stage": stage, "missing": missing}, words=words)
    if slots.get("stage") == Stage.PACK:
        work.add(file, Kind.EVENT, {"stage": "pack", "done": True}, words=words)
    after = work.plan(file)
    notices = [n for n in after.warnings if n.rule == "went_on_anyway"]
    said = tuple(facts.warning(n, pen) for n in notices)
    return Part(
        "Noted: you went on against the advice. The gate stays shut, and label and record will keep saying so.",
        (*said, facts.plan(after, file.number, pen)),
        (*(AFTER_PACKING if after.batch.packed else ()), ("Why?", {"say": "why"})),
    )


def _likely(plan: Plan, file: BatchFile, data: Mapping[str, Any]) -> tuple[Labelled, ...]:
    means: dict[str, Any] = {}
    label = ""
    stage = data.get("stage")
    rest = plan.stage(Stage.REST)
    if stage in (Stage.SOAK, Stage.SALT, Stage.RINSE) and data.get("done") and rest is not None and not rest.begun:
        label, means = "In the fridge", {"what": "fridge"}
    elif stage in (Stage.SOAK, Stage.SALT) and data.get("done"):
        label, means = "On the racks", {"stage": "dry", "started": True}
    elif stage == Stage.DRY and data.get("done"):
        label, means = "In the smoke", {"stage": "smoke", "started": True}
    elif data.get("what") == "pulled":
        label, means = "In the fridge", {"what": "fridge"}
    if not label:
        return (("What's next?", {"say": "what's next"}),)
    return (
        (label, {"intent": "event", "slots": means, "batch": file.number}),
        ("What's next?", {"say": "what's next"}),
    )
