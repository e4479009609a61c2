"""Answers to questions, in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from bot.say.format import Pen, percent, span
from bot.say.notice import notice_words
from bot.say.why import reason_words
from bot.say.words import DOING, STAGE, lot, of_lot
from planner.airless import AirlessGate
from planner.batch import WHOLE
from planner.entries import Entry, Kind
from planner.hold import Mark
from planner.plan import Plan
from planner.ring import Ring
from planner.stages import Stage
from planner.verdict import Reason
from planner.whatif import LongerSoak

#: What each reminder asks for, in three words.
CALL = {
    "start": "fish into the brine",
    "thawed": "check that it is thawed",
    "pull": "pull it from the brine",
    "rack": "onto the racks",
    "rest": "back in the cold",
    "turn": "turn the racks",
    "surface": "touch the skin",
    "heat": "light the smoker",
    "light": "fish into the smoke",
    "fuel": "wood and water",
    "rotate": "rotate the racks",
    "core": "read the core",
    "out": "take it out",
    "cool": "read the core while it cools",
    "fridge": "read the fridge",
    "pack": "pack it",
    "use_by": "eat or freeze the rest",
    "taste": "say how it was",
    "exposure": "the warm clock",
    "remind": "what you asked for",
}


@dataclass(frozen=True)
class Moment:
    """Something that wants a person at a time."""

    at: datetime
    what: str


def calls_of(plan: Plan, rings: Iterable[Ring], now: datetime) -> list[Moment]:
    """Everything that wants somebody from now on: reminders, and the starts of stages still ahead."""
    # How it was is a question, no work.
    due = [r for r in rings if r.due >= now and r.what != "taste"]
    found = [Moment(r.due, CALL[r.what] + of_lot(r.lot)) for r in due]
    starts = {
        Stage.SOAK: "fish into the brine",
        Stage.SALT: "fish into the salt",
        Stage.RINSE: "pull it and rinse",
        Stage.DRY: "onto the racks",
        Stage.SMOKE: "into the smoke",
        Stage.COOL: "out of the smoke",
        Stage.CHILL: "into the fridge",
        Stage.PACK: "pack it",
    }
    for row in plan.stages:
        if row.stage in starts and not row.begun and row.start >= now:
            # Sizes come out one by one; before that they go together.
            which = _which(row.lot) if row.stage is Stage.COOL else ""
            found.append(Moment(row.start, f"{which}{starts[row.stage]}"))
    return sorted(found, key=lambda m: m.at)


def _which(name: str | None) -> str:
    return "" if name in (None, WHOLE) else f"{lot(name).removeprefix('the ')} "


def next_words(plan: Plan, rings: Sequence[Ring], pen: Pen, name: str) -> str:
    """Where the batch is, and the next thing with its time."""
    here = f"{name}{_here(plan, pen)}"
    coming = [m for m in calls_of(plan, rings, pen.now) if m.at >= pen.now]
    if not coming:
        return f"{here}\nNothing more to do."
    first, *later = coming
    lines = [f"Next: {first.what}, {pen.clock(first.at)}.", here]
    follow = [m for m in later if m.what != first.what][:2]
    if follow:
        lines.append("Then " + ", ".join(f"{m.what} {pen.clock(m.at)}" for m in follow) + ".")
    return "\n".join(lines)


def next_values(plan: Plan, rings: Sequence[Ring], pen: Pen) -> dict[str, Any]:
    """The next thing as data."""
    coming = calls_of(plan, rings, pen.now)
    return {"what": coming[0].what, "at": _iso(coming[0].at, pen)} if coming else {}


def _here(plan: Plan, pen: Pen) -> str:
    now = plan.now
    if now.begun:
        return f"Now {DOING[now.stage]}, since {pen.clock(now.since)}."
    return f"Now waiting to start: {STAGE[now.stage].lower()}."


def one_line(plan: Plan, title: str, pen: Pen) -> str:
    """A batch in one line."""
    ready = f"; ready {pen.clock(plan.ready)}" if plan.ready and not plan.batch.packed else ""
    return f"{title}: {_here(plan, pen).removeprefix('Now ').rstrip('.')}{ready}."


def when_up_words(night: Sequence[Moment], morning: Moment | None, pen: Pen) -> str:
    """When somebody must get up, and what for."""
    if night:
        first = night[0]
        text = f"{pen.clock(first.at)}, in your quiet hours: {first.what}. It protects the fish, so it can't wait."
        text = _start(text)
        return text + (f"\nThen {pen.clock(morning.at)}: {morning.what}." if morning else "")
    if morning:
        return _start(f"{pen.clock(morning.at)}: {morning.what}.\nNothing needs you before.")
    return "Nothing needs you tonight or in the morning."


def _start(text: str) -> str:
    return text[:1].upper() + text[1:]


def stage_end(plan: Plan) -> datetime | None:
    """When the stage that runs is expected to end."""
    row = plan.stage(plan.now.stage)
    return row.end if row else None


def stay_words(longer: LongerSoak, plan: Plan, pen: Pen) -> str:
    """Whether it can stay in the brine, and what that costs in salt."""
    change = longer.then.mean - longer.planned.mean
    taste = plan.making.taste_wps
    lines = [_stay_call(longer, taste, pen)]
    lines.append(
        f"Salt in its water at packing about {percent(longer.then.mean)} "
        f"({longer.then.low:.1f}–{longer.then.high:.1f}); as planned ({pen.clock(_planned_end(plan))}) {percent(longer.planned.mean)}."
    )
    if abs(change) < 0.15:
        lines.append("You will hardly taste the difference.")
    elif longer.then.mean > 4.5:
        lines.append("That is salty: pull it earlier, or soak it in fresh cold water after.")
    if longer.cold.kept and longer.fridge_read:
        lines.append(f"Safe in the cold: the fridge reads {pen.limit(longer.cold.limit_c)} or colder.")
    elif not longer.cold.kept:
        lines.append(f"Only at {pen.limit(longer.cold.limit_c)} or colder: yours is too warm for a long soak.")
    else:
        lines.append(f"Safe only at {pen.limit(longer.cold.limit_c)} or colder. What does the fridge read?")
    return "\n".join(lines)


def _stay_call(longer: LongerSoak, taste: float, pen: Pen) -> str:
    when = pen.clock(longer.until)
    if not longer.cold.kept and longer.fridge_read:
        return f"No: too warm to stay till {when}."
    if longer.then.mean > taste + 1.5:
        return f"It can, till {when}, but it will be salty."
    return f"Yes, it can stay till {when}."


def _planned_end(plan: Plan) -> datetime:
    row = plan.stage(Stage.SOAK) or plan.stage(Stage.SALT)
    return row.end if row else plan.at


def stay_values(longer: LongerSoak, pen: Pen) -> dict[str, Any]:
    """The same as data."""
    return {
        "soak_end": _iso(longer.until, pen),
        "soak_h": round(longer.hours, 2),
        "wps_pct": {
            "mean": round(longer.then.mean, 2),
            "core": round(longer.then.core, 2),
            "low": round(longer.then.low, 2),
            "high": round(longer.then.high, 2),
            "at_pull": {"mean": round(longer.then.pull_mean, 2), "core": round(longer.then.pull_core, 2)},
        },
        "planned_mean_pct": round(longer.planned.mean, 2),
        "cold_ok": longer.cold.kept,
        "limit_c": longer.cold.limit_c,
    }


def stay_elsewhere(plan: Plan, until: datetime | None, pen: Pen) -> str:
    """Whether it can wait where it is, in stages other than the soak."""
    when = f" till {pen.clock(until)}" if until else ""
    stage = plan.now.stage
    if stage in (Stage.CHILL, Stage.KEEP, Stage.REST, Stage.THAW, Stage.PACK):
        keep = plan.stage(Stage.KEEP)
        if keep and until and until > keep.end:
            return f"No: not past {pen.clock(keep.end)}."
        return f"Yes{when}, in the cold at {pen.limit(3.3)} or colder, uncovered."
    if stage is Stage.DRY:
        return _stay_drying(plan, until, when, pen)
    if stage is Stage.SMOKE:
        end = max((row.end for row in plan.rows(Stage.SMOKE)), default=plan.at)
        if until and until < end:
            return f"It has to: hot long enough about {pen.clock(end)}."
        return f"It can{when}, but it only dries out: it should be done about {pen.clock(end)}."
    if stage is Stage.COOL:
        deadlines = [(c.deadline, c.target_c) for c in plan.coolings.values() if c.deadline and c.target_c]
        if deadlines:
            by, target = min(deadlines)
            return (
                f"Not out in the warm: {pen.limit(target or 21.1)} by {pen.clock(by)}. In the fridge it can stay{when}."
            )
    return f"Tell me where it is, and I can say if it can stay{when}."


def _stay_drying(plan: Plan, until: datetime | None, when: str, pen: Pen) -> str:
    dry = plan.stage(Stage.DRY)
    clock = plan.exposure
    end = dry.end if dry else plan.at
    left = clock.left_h if clock else 0.0
    hours = (until - plan.at) / timedelta(hours=1) if until else 0.0
    if clock and hours > left:
        return f"No: {span(timedelta(hours=left))} are left on the warm clock. Into the smoke, or back in the fridge."
    if until and until > end + timedelta(hours=2):
        return f"Better not{when}: tacky about {pen.clock(end)}, after that the skin hardens. The fridge holds it."
    return f"Yes{when}: tacky about {pen.clock(end)}, and {span(timedelta(hours=left))} are left on the warm clock."


def what_if_words(plan: Plan, then: Plan, pen: Pen) -> str:
    """How the plan would move."""
    salt = then.stage(Stage.SOAK) or then.stage(Stage.SALT)
    parts = [f"Then it is ready {pen.clock(then.ready)}." if then.ready else "Then this:"]
    if salt and not salt.done:
        parts.append(f"Into the brine {pen.clock(salt.start)}, out {pen.clock(salt.end)}.")
    smoke = then.stage(Stage.SMOKE)
    if smoke and not smoke.done:
        parts.append(f"Into the smoke {pen.clock(smoke.start)}.")
    if plan.ready and then.ready:
        shift = then.ready - plan.ready
        if abs(shift) >= timedelta(minutes=10):
            parts.append(f"That is {span(abs(shift))} {'later' if shift > timedelta(0) else 'earlier'} than now.")
    parts += [notice_words(n, pen) for n in then.warnings[:2] if n not in plan.warnings]
    return "\n".join(parts)


def begun_words(start: datetime, pen: Pen) -> str:
    """That another start comes too late."""
    return f'It went in {pen.at(start)}: that start is past.\nAsk how long it may stay: "can it stay till 8".'


def enough_words(value: float, floor: Mark, aim: Mark, pen: Pen) -> str:
    """Whether a core temperature is enough."""
    shown = pen.limit(value)
    if not floor.reached(value):
        return (
            f"No: {shown} is under the floor, {pen.limit(floor.core_c)} held for 30 min in the coldest piece.\n"
            f"Aim for {pen.limit(aim.core_c)}; nothing under the floor opens the gate."
        )
    if not aim.reached(value):
        return (
            f"Just: {shown} for 30 min meets the floor ({pen.limit(floor.core_c)}), not the aim {pen.limit(aim.core_c)}.\n"
            'Say "I work to 145" if the floor is your mark; I record that.'
        )
    return f"Yes: {shown} held for 30 min in the coldest piece is hot enough. It does not kill spores: salt and cold do the rest."


def sums_lines(plan: Plan, pen: Pen) -> list[str]:
    """How the plan came about: the sums with their inputs and sources."""
    lines: list[str] = []
    making = plan.making
    piece = making.thickest
    if plan.wps and plan.brine and plan.brine.salt_pct is not None:
        faces = "skin seals one side" if piece.open_faces == 1 else "salt comes in from both sides"
        lines.append(
            f"Soak: {pen.length(piece.thickness_mm)} thick, {faces}, {percent(plan.brine.salt_pct)} brine at "
            f"{pen.temp(making.fridge_c)}: diffusion into a slab from a limited bath [Crank, The Mathematics of Diffusion, 1975]"
        )
    if plan.lengths and plan.lengths.pellicle.hours:
        lines.append(
            f"Dry: {pen.temp(making.air.air_c)}, {making.air.rh_pct:.0f} %, fan {'on' if making.air.fan else 'off'}: "
            "evaporation until the skin is tacky [Geankoplis, ch. 9; the touch decides]"
        )
    aim = marks_line(plan, pen)
    if aim:
        lines.append(aim)
    lines += [f"{notice_words(n, pen)} [{n.source}]" for n in plan.warnings if not n.lasting]
    return lines


def marks_line(plan: Plan, pen: Pen) -> str:
    """The mark that the smoke works to."""
    cook = next(iter(plan.cooks.values()), None)
    if cook is None:
        return (
            f"Smoke: chamber {pen.temp(plan.making.chamber_c)}, to {pen.limit(71.1)} for 30 min in the coldest piece, "
            f"never under {pen.limit(62.8)} [home guidance PNW 238; Michigan R 285.569.7]"
        )
    mark = cook.aim_hold.mark
    return f"Smoke: to {pen.limit(mark.core_c)} for {mark.hold_min:.0f} min [{mark.citation.text()}]"


def log_lines(entries: Sequence[Entry], pen: Pen) -> list[str]:
    """One line an entry: when it happened, who, what; the tool's own answers are left out."""
    void = {e.voids for e in entries if e.voids is not None}
    lines = []
    for e in entries:
        if e.kind in (Kind.PLAN, Kind.VERDICT, Kind.ANSWERED, Kind.LESSON) or (e.kind is Kind.MESSAGE and e.who == "bell"):
            continue
        struck = " (taken back)" if e.number in void else ""
        lines.append(f"{pen.day_time(e.happened_at)} {e.who}: {_entry(e, pen)}{struck}")
    return lines


def _entry(e: Entry, pen: Pen) -> str:
    if e.kind is Kind.RING:
        return f"rang: {CALL.get(str(e.data.get('what')), str(e.data.get('what')))}"
    if e.kind is Kind.VOID:
        return f"took back entry {e.voids}"
    if e.kind is Kind.READING:
        return ", ".join(_slot(k, v, pen) for k, v in e.data.items())
    if e.words:
        return e.words[:80]
    if e.kind is Kind.CHOICE:
        return "went on against the advice" if e.data.get("override") else "chose a mark"
    return ", ".join(f"{v}" if v is not True else k for k, v in e.data.items() if k != "implied")


def _slot(key: str, value: Any, pen: Pen) -> str:
    if key.endswith("_c"):
        return f"{key.removesuffix('_c')} {pen.temp(float(value))}"
    if key == "mass_g":
        return pen.mass(float(value))
    if key == "lot":
        return lot(str(value)).removeprefix("the ")
    return f"{key.removesuffix('_pct').replace('_', ' ')} {value}"


def keep_words(plan: Plan, pen: Pen) -> tuple[str, dict[str, Any], str]:
    """Until when it keeps, with the cold that this needs."""
    keep = plan.stage(Stage.KEEP)
    if keep is None:
        return (
            "No date: an airless bag whose salt was not measured must be frozen.\n"
            "Freeze it, or pack in paper or open film.",
            {"days": 0},
            "",
        )
    smoked = max(row.end for row in plan.rows(Stage.SMOKE))
    days = (keep.end - smoked) / timedelta(days=1)
    text = (
        f"Eat or freeze by {pen.day(keep.end)}: {days:.0f} days, at {pen.limit(3.3)} or colder.\n"
        "A warmer fridge moves it earlier, never later. Frozen: 2 to 3 months for quality."
    )
    source = "home guidance stops at two weeks (PNW 450, MSU Extension); shorter caps are our own rule"
    return text, {"days": round(days, 1), "until": _iso(keep.end, pen)}, source


def airless_words(gate: AirlessGate, pen: Pen) -> str:
    """Whether an airless bag may be kept chilled, and else what is missing."""
    if gate.open:
        return (
            "Yes, airless and chilled: the salt was measured, the fridge is cold enough. Only once all else is shown."
        )
    lacking = [f"{reason_words(Reason(key, gate.citation.text()), pen)}." for key in gate.missing]
    otherwise = [] if "wps_not_measured" in gate.missing else ["Until then freeze it, or pack in paper or open film."]
    return "\n".join(["No, not to keep it chilled.", *lacking, *otherwise])


def exposure_words(plan: Plan, pen: Pen) -> str:
    """The growth clock in words."""
    clock = plan.exposure
    assert clock is not None
    used, limit = span(timedelta(hours=clock.used_h)), span(timedelta(hours=clock.limit_h))
    if clock.spent:
        return f"Spent: {used} out of the cold, the limit is {limit}. Do not eat or pack it."
    text = f"{span(timedelta(hours=clock.left_h))} left: {used} of {limit} out of the cold are used."
    return f"{text}\n{clock.citation.text()}"


def salt_words(plan: Plan) -> str:
    """Salt in the fish and what an airless pack would need."""
    s = plan.wps
    if s is None:
        return "I can't say the salt without a brine."
    return (
        f"About {percent(s.mean)} in its water at packing ({s.low:.1f}–{s.high:.1f}), the deepest part {percent(s.core)}.\n"
        f"At the pull: {percent(s.pull_mean)}, deepest {percent(s.pull_core)}."
    )


def temperature_words(plan: Plan, pen: Pen) -> str:
    """The temperatures that matter at this stage."""
    match plan.now.stage:
        case Stage.DRY:
            return f"Moving air at about {pen.temp(15.0)}; warmer runs the clock, colder dries slower."
        case Stage.SMOKE:
            return f"Chamber {pen.temp(82.2)} to {pen.temp(93.3)}, not over {pen.limit(98.9)}. Core {pen.limit(71.1)} for 30 min."
        case Stage.COOL:
            return f"Down to {pen.limit(21.1)} within 2 h and {pen.limit(4.4)} within 6 h of leaving {pen.limit(60.0)}."
    return f"In the cold: {pen.limit(3.3)} or colder. Smoke: chamber {pen.temp(82.2)} to {pen.temp(93.3)}."


def _iso(moment: datetime, pen: Pen) -> str:
    return moment.astimezone(ZoneInfo(pen.zone)).isoformat(timespec="seconds")
