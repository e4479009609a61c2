"""Questions: the answer first, from the plan as it is or from the sums alone."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from typing import Any

from bot import facts
from bot.replies import small
from bot.replies.asked_to_show import paper_named, wish_of
from bot.replies.general import REFUSALS, general_answer
from bot.replies.how_long import how_long
from bot.replies.learned import compare, know
from bot.replies.loose import put
from bot.replies.on import whats_on
from bot.replies.part import Part, pen_of
from bot.replies.rings import put_off
from bot.replies.show import grant, show
from bot.say import answer as words
from bot.say.general import short_words
from bot.say.help import HELP, PRIVACY
from bot.say.notice import notice_words
from bot.say.refuse import refusal_words
from bot.say.ring import asked_line
from bot.say.verdict import lost_words, verdict_words
from bot.say.why import unsourced
from bot.work import Work
from planner.gates import airless_gate_of
from planner.hold import marks
from planner.judge import pack_verdict
from planner.limits import rule
from planner.ring import Ring
from planner.rings import wanted
from planner.stages import Stage
from planner.whatif import longer_soak, salt_outlook, with_slots
from scheduler.turn import BatchFile

Slots = Mapping[str, Any]
_ASK_WHY = (("Why?", {"say": "why"}),)
#: Entries that "show the log" lists; the whole record is an export.
_LOG_LINES = 12


def answer(work: Work, topic: str, slots: Slots, text: str, *, batch: BatchFile | None = None) -> Part:
    """Answer a question about the batch in focus, or one that stands alone."""
    if topic == "show":
        return show(work, slots, batch=batch)
    if topic == "record":
        return grant(work, wish_of(text) or paper_named(text), batch=batch)
    file = batch or work.focus
    topic = _refine(topic, text)
    if topic == "privacy" and small.wants_deletion(text):
        return small.forget_ask(work)
    if topic == "remind" and _puts_off(work, text) and (until := _time_in(slots)) is not None:
        rung = work.chat.memory["rung"]
        return put_off(work, rung.get("key") if rung["batch"] else None, rung["batch"], until, rung)
    if topic == "compare":
        return compare(work, file)
    if topic in _ANYWHERE:
        return _ANYWHERE[topic](work, slots)
    if topic in _ALONE or file is None:
        found = general_answer(work, topic, slots, text)
        if found is not None or file is None:
            return found or Part(HELP)
    assert file is not None
    if topic == "how_long":
        return how_long(work, file, text)
    return _ABOUT.get(topic, _status)(work, file, slots)


def _refine(topic: str, text: str) -> str:
    """Packing and labels are asked for in words that name no other topic."""
    lowered = text.lower()
    if topic in ("other", "next", "enough", "status") and "pack" in lowered and "when" not in lowered:
        return "pack"
    if topic == "how_long" and ("clock" in lowered or "out of the cold" in lowered):
        return "exposure"
    return topic


def _next(work: Work, file: BatchFile, slots: Slots) -> Part:
    pen, plan = pen_of(work), work.plan(file)
    rings = wanted(plan, work.habits)
    text = lost_words(plan, pen) if plan.lost else words.next_words(plan, rings, pen, _named(work, file))
    said = [facts.answer("next", words.next_values(plan, rings, pen))]
    return Part(text, (*said, facts.plan(plan, file.number, pen)), _ASK_WHY)


def _when_up(work: Work, file: BatchFile, slots: Slots) -> Part:
    pen, plan = pen_of(work), work.plan(file)
    calls = words.calls_of(plan, wanted(plan, work.habits), work.now)
    night = [c for c in calls if work.habits.is_quiet(c.at)]
    morning = next((c for c in calls if not work.habits.is_quiet(c.at) and _after_night(work, c.at)), None)
    text = words.when_up_words(night, morning, pen)
    first = night[0] if night else morning
    values = {"at": facts.stamp(first.at, pen) if first else None}
    return Part(text, (facts.answer("when_up", values),), _ASK_WHY)


def _after_night(work: Work, moment: datetime) -> bool:
    """True past the next end of quiet hours."""
    probe = work.now
    while not work.habits.is_quiet(probe) and probe < work.now + timedelta(days=1):
        probe += timedelta(minutes=15)
    return moment >= work.habits.quiet_end(probe)


def _stay(work: Work, file: BatchFile, slots: Slots) -> Part:
    pen, plan = pen_of(work), work.plan(file)
    until = _time_in(slots) or words.stage_end(plan)
    longer = longer_soak(plan, work.habits, until) if until else None
    if longer is not None:
        values = words.stay_values(longer, pen)
        source = longer.cold.citation.text()
        text = words.stay_words(longer, plan, pen)
        return Part(text, (facts.answer("stay", values, source),), _ASK_WHY)
    verdict = words.stay_elsewhere(plan, until, pen)
    said: list[Mapping[str, Any]] = [facts.answer("stay", {"at": facts.stamp(until, pen)})]
    if plan.exposure:
        said.append(facts.exposure(plan.exposure))
    return Part(verdict, tuple(said), _ASK_WHY)


def _time_in(slots: Slots) -> datetime | None:
    for key in ("soak_end", "at", "ready_by", "start_at"):
        if key in slots:
            return datetime.fromisoformat(slots[key])
    return None


def _what_if(work: Work, file: BatchFile, slots: Slots) -> Part:
    pen, plan = pen_of(work), work.plan(file)
    if "soak_end" in slots or ("at" in slots and len(slots) == 1):
        return _stay(work, file, slots)
    changed = dict(slots)
    if "start_at" in changed:
        changed["soak_start"] = changed.pop("start_at")
    salt = plan.stage(Stage.SOAK) or plan.stage(Stage.SALT)
    if "soak_start" in changed and salt is not None and salt.begun:
        text = words.begun_words(salt.start, pen)
        return Part(text, (facts.answer("what_if", {"soak_start": facts.stamp(salt.start, pen)}),), _ASK_WHY)
    if not changed:
        return Part('What if what? Try "what if I start at 10 tonight" or "what if it\'s 2 inches".')
    try:
        known = work.known(file)
        then = with_slots(work.entries(file), file.opened_at, changed, work.habits, work.now, known)
    except REFUSALS as problem:
        return Part(refusal_words(problem, pen))
    text = words.what_if_words(plan, then, pen)
    fact = facts.plan(then, file.number, pen)
    values = {"ready": facts.stamp(then.ready, pen)}
    take = {"intent": "describe", "slots": changed, "batch": file.number}
    return Part(text, (facts.answer("what_if", values), fact), (("Do that", take), ("Why?", {"say": "why"})))


def _enough(work: Work, file: BatchFile, slots: Slots) -> Part:
    pen, plan = pen_of(work), work.plan(file)
    if "core_c" not in slots:
        salting = plan.now.stage in (Stage.THAW, Stage.TRIM, Stage.SOAK, Stage.SALT)
        return _salt(work, file, slots) if salting else _pack(work, file, slots)
    floor, aim = marks(plan.making.work_to_c)
    value = float(slots["core_c"])
    source = floor.citation.text() if value < aim.core_c else aim.citation.text()
    values = {"core_c": value, "floor_c": floor.core_c, "aim_c": aim.core_c, "hold_min": aim.hold_min}
    said = facts.answer("enough", values, source)
    hot = plan.now.stage in (Stage.SMOKE, Stage.COOL) and plan.now.begun
    # A figure that is asked about proves nothing; one press makes it a reading.
    reading = {"intent": "reading", "slots": {"core_c": value}, "batch": file.number}
    buttons = (((f"Core is {pen.temp(value)} now", reading),) if hot else ()) + _ASK_WHY
    return Part(words.enough_words(value, floor, aim, pen), (said,), buttons)


def _why(work: Work, file: BatchFile, slots: Slots) -> Part:
    pen, plan = pen_of(work), work.plan(file)
    kept = work.chat.memory.get("why") or {}
    lines = [unsourced(r) for fact in kept.get("facts", ()) for r in fact.get("reasons", ())]
    if not lines or kept.get("batch") != file.number:
        lines = words.sums_lines(plan, pen)
    lines += [f"{notice_words(n, pen)} [{n.source}]" for n in plan.warnings if n.lasting]
    return Part("\n".join(dict.fromkeys(lines)), (facts.answer("why", {}),))


def _log(work: Work, file: BatchFile, slots: Slots) -> Part:
    pen = pen_of(work)
    lines = words.log_lines(work.entries(file), pen)[-_LOG_LINES:]
    more = '\nFor all of it say "record".'
    values = {"batch": file.number, "entries": len(work.entries(file))}
    return Part("\n".join([f"{_title(file)}, lately:", *lines]) + more, (facts.answer("log", values),))


def _keep(work: Work, file: BatchFile, slots: Slots) -> Part:
    pen, plan = pen_of(work), work.plan(file)
    text, values, source = words.keep_words(plan, pen)
    if slots.get("pack") == "airless":
        gate = airless_gate_of(plan.batch, work.now)
        text, source = words.airless_words(gate, pen), gate.citation.text()
        values = {"open": gate.open}
    return Part(text, (facts.answer("keep", values, source),))


def _status(work: Work, file: BatchFile, slots: Slots) -> Part:
    if len(work.running) > 1:
        return whats_on(work, slots)
    return _next(work, file, slots)


def _exposure(work: Work, file: BatchFile, slots: Slots) -> Part:
    pen, plan = pen_of(work), work.plan(file)
    if plan.exposure is None:
        return Part("No warm clock runs.")
    return Part(words.exposure_words(plan, pen), (facts.exposure(plan.exposure),))


def _salt(work: Work, file: BatchFile, slots: Slots) -> Part:
    plan = work.plan(file)
    said = facts.plan(plan, file.number, pen_of(work))
    values = said["wps_pct"] or {}
    lines = [words.salt_words(plan)]
    ahead = salt_outlook(plan, work.habits, float(rule("airless")["wps_pct"]))
    salted = plan.stage(Stage.SOAK)
    if ahead is not None and salted is not None and not salted.done and (ahead.mean_short or ahead.core_short):
        lines += short_words(ahead, pen_of(work))
    return Part("\n".join(lines), (facts.answer("wps", values),), _ASK_WHY)


def _pack(work: Work, file: BatchFile, slots: Slots) -> Part:
    pen, plan = pen_of(work), work.plan(file)
    verdict = pack_verdict(plan)
    said = facts.verdict(verdict, pen)
    work.remember(why={"batch": file.number, "facts": [said]})
    packed = {"intent": "event", "slots": {"stage": "pack", "done": True}, "batch": file.number}
    buttons = (("Packed", packed),) if verdict.call == "go" else _ASK_WHY
    return Part(verdict_words(verdict, plan, pen), (said,), buttons)


def _temperature(work: Work, file: BatchFile, slots: Slots) -> Part:
    pen, plan = pen_of(work), work.plan(file)
    return Part(words.temperature_words(plan, pen), (facts.answer("temperature", {}),))


def _remind(work: Work, slots: Slots) -> Part:
    pen = pen_of(work)
    at = _time_in(slots)
    if at is None or at <= work.now:
        return Part('When? Try "remind me in 20" or "remind me at 6:10 am".', (facts.question("at"),))
    about = str(slots.get("about", ""))
    ring = Ring(f"remind:{at.isoformat()}:{about}", at, "remind", "", data={"about": about} if about else {})
    put(work, ring)
    said = facts.answer("remind", {"at": facts.stamp(at, pen), **({"about": about} if about else {})})
    return Part(asked_line(ring, pen), (said,))


def _puts_off(work: Work, text: str) -> bool:
    """True for "in 10 min", "snooze 15" after a call; who asks to be reminded wants one more call."""
    return bool(work.chat.memory.get("rung")) and _NEW_CALL.search(text) is None


_NEW_CALL = re.compile(r"\b(remind|timer|alarm|wake|set)\b", re.I)


def _help(work: Work, slots: Slots) -> Part:
    return Part(HELP, (facts.answer("help", {}),))


def _privacy(work: Work, slots: Slots) -> Part:
    return Part(PRIVACY, (facts.answer("privacy", {}),), (("Delete everything", {"do": "forget_ask"}),))


def _named(work: Work, file: BatchFile) -> str:
    return f"{_title(file)}: " if len(work.running) > 1 else ""


def _title(file: BatchFile) -> str:
    return file.name[:1].upper() + file.name[1:]


_ANYWHERE: Mapping[str, Callable[[Work, Slots], Part]] = {
    "remind": _remind,
    "help": _help,
    "privacy": _privacy,
    "on": whats_on,
    "rig": know,
}

#: Topics that may be asked with no batch, and mean the sums alone where their slots say enough.
_ALONE = frozenset({"strength", "other", "how_long", "keep", "enough", "temperature", "wps"})

_ABOUT: Mapping[str, Callable[[Work, BatchFile, Slots], Part]] = {
    "next": _next,
    "when_up": _when_up,
    "stay": _stay,
    "what_if": _what_if,
    "enough": _enough,
    "why": _why,
    "log": _log,
    "keep": _keep,
    "status": _status,
    "exposure": _exposure,
    "wps": _salt,
    "temperature": _temperature,
    "pack": _pack,
}
