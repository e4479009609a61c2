"""Readings: recorded, judged, and the plan moved."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from bot import facts
from bot.replies.ask_one import remember_asked
from bot.replies.general import REFUSALS
from bot.replies.part import Labelled, Part, pen_of
from bot.say.question import implausible_words, which_lot
from bot.say.verdict import verdict_words
from bot.say.words import lot as lot_words
from bot.work import Work
from planner.batch import WHOLE, Told
from planner.entries import Entry, Kind
from planner.judge import KEYS, judge
from planner.plan import Plan
from planner.stages import ORDER, Stage
from planner.verdict import Call, Verdict
from scheduler.turn import BatchFile

#: A chamber or core this warm says that the fish is in the smoke, told or not.
_SMOKING_CHAMBER_C = 40.0
_SMOKING_CORE_C = 40.0


def take_readings(
    work: Work,
    readings: Sequence[Mapping[str, Any]],
    words: str,
    *,
    batch: BatchFile | None = None,
    aside: bool = False,
) -> Part:
    """Record all readings of a message, then judge each with the plan that they make together.

    ``aside`` keeps what is merely good to one line, where the message told of an event as well.
    """
    file = batch or work.focus
    if file is None:
        return Part('I have no batch to put that to. Tell me what you are making, like "4 lb coho fillets, 1 inch".')
    taken: list[Entry] = []
    asked: Part | None = None
    for slots in _each_lot(work, file, readings):
        if "core_c" in slots and _lot_open(work, file, slots):
            asked = _which(work, file, slots)
            continue
        entry = _record(work, file, slots, words)
        if entry is None:
            about = next((key for key in KEYS if key in slots), "")
            asked = Part(implausible_words(about, words), (facts.question(about),))
            continue
        taken.append(entry)
    if not taken:
        return asked or Part("")
    part = _judged(work, file, taken, aside=aside)
    return part if asked is None else _both(part, asked)


def _each_lot(
    work: Work, file: BatchFile, readings: Sequence[Mapping[str, Any]]
) -> list[Mapping[str, Any]]:
    """A reading of all of them is one of each lot."""
    names = [lot.name for lot in work.plan(file).making.lots]
    if len(names) == 1:
        return [{k: v for k, v in r.items() if k != "lot" or v != WHOLE} for r in readings]
    return [{**r, "lot": n} if n else r for r in readings for n in (names if r.get("lot") == WHOLE else [r.get("lot")])]


def _record(work: Work, file: BatchFile, slots: Mapping[str, Any], words: str) -> Entry | None:
    """The reading in the journal; None where it cannot be so, and nothing is kept."""
    before = len(work.entries(file))
    at = _moment(slots, work.now)
    data = {k: v for k, v in slots.items() if k != "at"}
    if _too_heavy(work.plan(file), data):
        return None
    _imply_stage(work, file, data, at)
    entry = work.add(file, Kind.READING, data, at=at, words=words)
    try:
        work.plan(file)
    except REFUSALS:
        work.take_back(file, before)
        return None
    return entry


def _too_heavy(plan: Plan, data: Mapping[str, Any]) -> bool:
    """Fish takes up some water in a weak brine, never a third of its weight."""
    if "mass_g" not in data or "mass_g" in plan.making.assumed:
        return False
    return float(data["mass_g"]) > plan.making.mass_g * 4.0 / 3.0


def _moment(slots: Mapping[str, Any], now: datetime) -> datetime:
    return min(datetime.fromisoformat(slots["at"]), now) if "at" in slots else now


def _lot_open(work: Work, file: BatchFile, slots: Mapping[str, Any]) -> bool:
    """True where several lots are cooking or cooling and the reading does not say which it was of."""
    plan = work.plan(file)
    if "lot" in slots or len(plan.making.lots) < 2:
        return False
    return ORDER.index(plan.now.stage) >= ORDER.index(Stage.SMOKE) and len(_still_open(plan)) > 0


def _still_open(plan: Plan) -> list[str]:
    names = [lot.name for lot in plan.making.lots]
    return [n for n in names if n not in plan.coolings or plan.coolings[n].cooling.done_at is None]


def _which(work: Work, file: BatchFile, slots: Mapping[str, Any]) -> Part:
    names = _still_open(work.plan(file))
    if len(names) == 1:
        names = [lot.name for lot in work.plan(file).making.lots]
    options = [(lot_words(n).removeprefix("the ").capitalize(), {**slots, "lot": n}) for n in names]
    options.append(("All of them", {**slots, "lot": WHOLE}))
    remember_asked(work, "lot", options, file.number)
    buttons: tuple[Labelled, ...] = tuple(
        (label, {"intent": "reading", "slots": s, "batch": file.number}) for label, s in options
    )
    return Part(which_lot(names), (facts.question("lot"),), buttons)


def _imply_stage(work: Work, file: BatchFile, data: Mapping[str, Any], at: datetime) -> None:
    """A reading that can only be of a later stage says that this stage has begun."""
    plan = work.plan(file)
    stage = plan.now.stage
    if plan.batch.packed:
        return
    before_smoke = ORDER.index(stage) <= ORDER.index(Stage.SMOKE) and not plan.batch.started_at(Stage.SMOKE)
    cooling = any(s is Stage.COOL for s, _ in plan.batch.started)
    hot = data.get("chamber_c", 0) >= _SMOKING_CHAMBER_C or data.get("core_c", 0) >= _SMOKING_CORE_C
    if before_smoke and hot and not cooling and not plan.making.cold_smoke:
        work.add(file, Kind.EVENT, {"stage": str(Stage.SMOKE), "started": True, "implied": True}, at=at)
        return
    before_dry = ORDER.index(stage) <= ORDER.index(Stage.DRY) and not plan.batch.started_at(Stage.DRY)
    if before_dry and "surface" in data and not plan.batch.started_at(Stage.SMOKE):
        pulled = plan.batch.done_at(Stage.SOAK) or plan.batch.done_at(Stage.SALT)
        start = min(at, pulled + timedelta(minutes=15)) if pulled else at
        work.add(file, Kind.EVENT, {"stage": str(Stage.DRY), "started": True, "implied": True}, at=start)


def rejudge(work: Work, file: BatchFile, entry: Entry) -> Part:
    """The verdict on a reading that was corrected."""
    return _judged(work, file, [entry])


def _judged(work: Work, file: BatchFile, taken: Sequence[Entry], *, aside: bool = False) -> Part:
    plan = work.plan(file)
    pen = pen_of(work)
    verdicts = [(entry, judge(plan, Told(entry.happened_at, entry.data, entry.number, entry.who))) for entry in taken]
    verdicts.sort(key=lambda pair: KEYS.index(pair[1].about))
    lines: list[str] = []
    said: list[Mapping[str, Any]] = []
    for entry, verdict in verdicts:
        text = verdict_words(verdict, plan, pen)
        short = (lines or aside) and verdict.call in (Call.NOTED, Call.GO) and verdict.about in _ASIDE
        if verdict.call is not Call.STOP or not any(line.startswith("Stop") for line in lines):
            first, *rest = text.splitlines()
            lines += [first] if short else [first, *(line for line in rest if line not in lines)]
        fact = facts.verdict(verdict, pen)
        said += [fact, facts.logged(file.number, entry.number, entry.happened_at, pen)]
        work.add(file, Kind.VERDICT, {"text": text, "facts": [fact], "of": entry.number}, who="bell")
    said += _clocks(plan, verdicts)
    work.remember(why={"batch": file.number, "facts": [facts.verdict(v, pen) for _, v in verdicts]})
    _forget_ring(work, taken)
    urgent = any(v.call in (Call.STOP, Call.ACT) for _, v in verdicts)
    return Part("\n".join(lines), tuple(said), _likely(work, file, [v for _, v in verdicts]), urgent)


_ASIDE = frozenset({"chamber_c", "air_c", "rh_pct", "firmness", "fridge_c", "mass_g"})


def _clocks(plan: Plan, verdicts: Sequence[tuple[Entry, Verdict]]) -> list[Mapping[str, Any]]:
    said: list[Mapping[str, Any]] = []
    lots = [v.lot or WHOLE for _, v in verdicts if v.about == "core_c"]
    for lot in dict.fromkeys(lots):
        if lot in plan.cooks:
            said.append(facts.lethality(plan.cooks[lot]))
    return [*said, *clock_facts(plan)]


def clock_facts(plan: Plan) -> list[Mapping[str, Any]]:
    """The growth clock, where it runs or may come to matter."""
    if plan.exposure and (plan.making.species.histamine or plan.exposure.used_h > 0):
        return [facts.exposure(plan.exposure)]
    return []


def _likely(work: Work, file: BatchFile, verdicts: Sequence[Verdict]) -> tuple[Labelled, ...]:
    buttons: list[Labelled] = []

    def event(label: str, **slots: Any) -> None:
        buttons.append((label, {"intent": "event", "slots": slots, "batch": file.number}))

    for v in verdicts:
        if v.call is Call.GO and v.about == "core_c" and v.stage == Stage.SMOKE:
            event("They're out", what="pulled", **({"lot": v.lot} if v.lot else {}))
        elif any(r.rule == "core_fallen" for r in v.reasons):
            event("It's out", what="pulled", **({"lot": v.lot} if v.lot else {}))
        elif v.call is Call.GO and v.about == "surface":
            event("In the smoke", stage="smoke", started=True)
        elif v.call is Call.GO and v.about == "core_c" and v.stage == Stage.COOL:
            event("In the fridge", what="fridge")
        elif v.call is Call.GO and v.about == "core_c" and v.stage == Stage.CHILL:
            event("Packed", stage="pack", done=True)
    return (*buttons[:2], ("Why?", {"say": "why"}))


def _forget_ring(work: Work, taken: Sequence[Entry]) -> None:
    rung = work.chat.memory.get("rung")
    if rung and any(k in e.data for e in taken for k in ("core_c", "surface", "fridge_c")):
        work.remember(rung=None)


def _both(a: Part, b: Part) -> Part:
    return Part(f"{a.text}\n\n{b.text}", (*a.facts, *b.facts), b.buttons, a.urgent or b.urgent)
