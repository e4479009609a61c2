"""A batch described, or a change to it: a plan with what was assumed, and at most one question."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from bot import facts
from bot.replies.ask_one import ask_for
from bot.replies.general import FISH_SLOTS, REFUSALS, general_answer
from bot.replies.part import Labelled, Part, pen_of
from bot.say.plan import plan_words
from bot.say.refuse import refusal_words
from bot.say.rig import rig_words, times_line
from bot.say.words import fish
from bot.work import Work
from planner.batch import read_batch
from planner.entries import Entry, Kind
from planner.plan import Plan
from planner.planning import plan_batch
from planner.ranges import OutOfRange
from planner.rig.experience import NOTHING
from planner.stages import Stage, comes_after
from scheduler.turn import BatchFile


def describe(
    work: Work,
    slots: Mapping[str, Any],
    words: str,
    *,
    batch: BatchFile | None = None,
    may_ask: bool = True,
    anew: bool = False,
) -> Part:
    """Take a description: into a new batch where it tells of another fish or is ``anew``, else the one in focus."""
    if set(slots) == {"rig"}:
        return _in_rig(work, batch or work.focus, str(slots["rig"]), words)
    if set(slots) <= {"aim_c"}:
        return choose_mark(work, float(slots["aim_c"]), words) if slots else Part("")
    if "aim_c" in slots:
        rest = describe(work, {k: v for k, v in slots.items() if k != "aim_c"}, words, batch=batch, may_ask=may_ask)
        mark = choose_mark(work, float(slots["aim_c"]), words)
        return replace(rest, text=f"{rest.text}\n\n{mark.text}", facts=(*rest.facts, *mark.facts))
    if work.focus is None and batch is None and not (FISH_SLOTS & slots.keys()):
        alone = general_answer(work, "strength", slots, words)
        if alone is not None:
            return alone
    file = batch or (None if anew else _file_for(work, slots, words))
    entries = work.entries(file) if file else ()
    problem = refusal(work, file, slots)
    if problem is not None:
        return Part(refusal_words(problem, pen_of(work)), (facts.question(_slot_of(problem, slots)),))
    first = file is None
    before = work.plan(file) if file is not None and any(e.kind is Kind.PLAN for e in entries) else None
    if file is None:
        file = work.open(_name(work, slots))
    elif not any(e.kind is Kind.DESCRIBE and "species" in e.data for e in entries) and "species" in slots:
        work.rename(file, _name(work, slots))
    work.add(file, Kind.DESCRIBE, slots, words=words)
    work.remember(focus=file.number)
    return plan_part(work, file, first=first, may_ask=may_ask, before=before)


def refusal(work: Work, file: BatchFile | None, slots: Mapping[str, Any]) -> Exception | None:
    """Why the planner will not have this description; None where it makes a plan."""
    entries = work.entries(file) if file else ()
    opened = file.opened_at if file else work.now
    tried = Entry(len(entries) + 1, Kind.DESCRIBE, work.now, work.now, work.who, dict(slots))
    try:
        plan_batch(read_batch((*entries, tried), opened), work.habits, work.now, work.known(file) if file else NOTHING)
    except REFUSALS as problem:
        return problem
    return None


def plan_part(
    work: Work,
    file: BatchFile,
    *,
    first: bool = False,
    lead: str = "",
    may_ask: bool = True,
    before: Plan | None = None,
) -> Part:
    """The plan as it is now, or how it differs from ``before``, and the one question that would move it most."""
    pen = pen_of(work)
    work.mix_as_planned(file)
    plan = work.plan(file)
    text = plan_words(plan, pen, first=first, before=before)
    said = [facts.plan(plan, file.number, pen)]
    if plan.exposure and plan.exposure.limit_h and plan.making.species.histamine:
        said.append(facts.exposure(plan.exposure))
    buttons: tuple[Labelled, ...] = _likely(work, file)
    if plan.ask and may_ask and not plan.lost:
        question = ask_for(work, file, plan.ask)
        text = f"{text}\n\n{question.text}"
        said += [dict(f) for f in question.facts]
        buttons = question.buttons
    else:
        work.remember(asked=None)
    entry = work.add(file, Kind.PLAN, {"text": text, "facts": said}, who="bell")
    said.append(facts.logged(file.number, entry.number, work.now, pen))
    return Part(f"{lead}\n{text}" if lead else text, tuple(said), buttons, is_plan=True)


def call_it(work: Work, name: str) -> Part:
    """A batch gets the name that people have for it."""
    file = work.focus
    if file is None:
        return Part("I have no batch to give that name to.")
    if any(other.name.casefold() == name.casefold() for other in work.files.values() if other is not file):
        return Part(f"Another batch is called {name} already.")
    work.rename(file, name)
    work.add(file, Kind.MESSAGE, {"name": name})
    return Part(f"I'll call it {name}.", (facts.answer("name", {"batch": file.number, "name": name}),))


def _in_rig(work: Work, file: BatchFile | None, name: str, words: str) -> Part:
    """Which smoker the batch is in; a word only where that is new."""
    if file is None:
        said = f"4 lb coho fillets in {rig_words(name)}"
        return Part(f'Say it with a batch, like "{said}", and I keep what it teaches apart.')
    if work.batch(file).told.get("rig") == name:
        return Part("")
    work.add(file, Kind.DESCRIBE, {"rig": name}, words=words)
    plan = work.plan(file)
    said = " ".join([f"This batch is in {rig_words(name)}.", times_line(plan)]).rstrip()
    return Part(said, (facts.plan(plan, file.number, pen_of(work)),))


def choose_mark(work: Work, core_c: float, words: str) -> Part:
    """A person's own mark: recorded as a choice, never below the floor."""
    pen = pen_of(work)
    if core_c < 62.7:
        return Part(f"Not below {pen.limit(62.8)}: that is the floor, and no gate opens under it.")
    file = work.focus
    if file is None:
        return Part("Noted when you have a batch: tell me what you are making first.")
    work.add(file, Kind.CHOICE, {"work_to_c": round(core_c, 2)}, words=words)
    plan = work.plan(file)
    notice = next((n for n in plan.warnings if n.rule == "works_to"), None)
    said = (facts.warning(notice, pen),) if notice else ()
    return Part(
        f"You work to {pen.limit(core_c)} for 30 min on this batch: recorded as your choice.\n"
        f"Home guidance is {pen.limit(71.1)}.",
        said,
    )


def _file_for(work: Work, slots: Mapping[str, Any], words: str) -> BatchFile | None:
    """The batch that a description is about; None where it opens a new one."""
    focus = work.focus
    if focus is None:
        return None
    lowered = words.lower()
    if "species" in slots and any(w in lowered for w in ("another", "second batch", "new batch", "next batch")):
        return None
    if "species" not in slots:
        return focus
    batch = work.batch(focus)
    known = batch.told.get("species")
    begun = batch.furthest is not None and comes_after(batch.furthest, Stage.SALT)
    if known is None:
        return focus
    if known != slots["species"] and ("mass_g" in slots or begun):
        return None
    return None if begun and "mass_g" in slots else focus


def _name(work: Work, slots: Mapping[str, Any]) -> str:
    """The fish's name, with a number where that name is taken."""
    name = fish(slots.get("species"))
    taken = {f.name for f in work.files.values()}
    if name not in taken:
        return name
    return next(f"{name} {n}" for n in range(2, 10_002) if f"{name} {n}" not in taken)


def _likely(work: Work, file: BatchFile) -> tuple[Labelled, ...]:
    plan = work.plan(file)
    salt = plan.stage(Stage.SOAK) or plan.stage(Stage.SALT)
    buttons: list[Labelled] = []
    if salt and not salt.begun and not salt.done:
        means = {"intent": "event", "slots": {"stage": str(salt.stage), "started": True}, "batch": file.number}
        buttons.append(("It's in", means))
    buttons += [
        ("Show it", {"say": "show the plan"}),
        ("Why?", {"say": "why"}),
        ("What's next?", {"say": "what's next"}),
    ]
    return tuple(buttons)


def _slot_of(problem: Exception, slots: Mapping[str, Any]) -> str:
    if isinstance(problem, OutOfRange):
        name = problem.name.split()[0]
        return name if name in slots else next(iter(slots), name)
    salt = [s for s in slots if s.startswith("salt")]
    return salt[0] if salt else "salt_pct"
