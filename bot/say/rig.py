"""What was learned of a rig and of a taste, how batches differ, in words."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from datetime import timedelta
from typing import Any

from bot.say.format import Pen, join, percent, span
from bot.understanding.rigs import KINDS
from planner.limits import rule
from planner.plan import Plan
from planner.rig.comparing import MOST, Difference
from planner.rig.experience import Experience
from planner.rig.finished import Finished
from planner.rig.groups import PLACES
from planner.rig.taste import Taste
from planner.stages import Stage
from planner.unknowns import Prior

#: What was said of a meal, as it is said back.
TASTED = {
    "too_salty": "too salty",
    "bit_salty": "a bit salty",
    "bit_bland": "a bit bland",
    "too_bland": "not salty enough",
    "bit_dry": "a bit dry",
    "too_dry": "too dry",
    "too_soft": "too soft",
    "just_right": "just right",
}
#: From one end of an 80 % range to the middle, in standard deviations.
_TENTH = 1.2816

NOTHING_LEARNED = "Nothing yet: I learn from each batch that is packed. Touch, core and fridge readings teach most."
NO_LAST = 'I have no finished batch to start from. Tell me what you are making, like "4 lb coho fillets, 1 inch".'
NO_OTHER = "There is no finished batch to compare with yet."
NOT_FOUND = "I have no finished batch like that."


def learned_lines(plan: Plan, pen: Pen) -> list[str]:
    """Why this plan is not the usual one: what earlier batches and meals changed in it."""
    known = plan.making.known
    lines = [times_line(plan)] if times_line(plan) else []
    salted = plan.stage(Stage.SOAK) or plan.stage(Stage.SALT)
    by_taste = known.taste is not None and not {"taste", "taste_wps_pct"} & plan.batch.told.keys()
    if known.taste and by_taste and salted is not None and not salted.done:
        lines += _salt_lines(known.taste, plan)
    smoke = plan.stage(Stage.SMOKE)
    if known.taste and known.taste.chamber_moved and "chamber_c" in plan.making.assumed and smoke and not smoke.begun:
        lines.append(_chamber_line(known.taste, pen))
    return lines


def times_line(plan: Plan) -> str:
    """What the times rest on, while they lie ahead; empty where on nothing of this rig."""
    known = plan.making.known
    dry, smoke = plan.stage(Stage.DRY), plan.rows(Stage.SMOKE)
    drying = known.tack.batches if known.tack and dry and not dry.done else 0
    smoking = known.smoke.batches if known.smoke and any(not row.done for row in smoke) else 0
    if drying and drying == smoking:
        return f"Drying and smoking times from {_last(drying)}{_in(known.rig)}."
    said = [f"{name} time from {_last(n)}" for name, n in (("drying", drying), ("smoking", smoking)) if n]
    return _start(f"{join(said)}{_in(known.rig)}.") if said else ""


def _salt_lines(taste: Taste, plan: Plan) -> list[str]:
    aim = plan.making.taste_wps
    if aim > taste.wps_pct + 0.01:
        return [f"Salt not under {percent(aim)}: an airless pack needs it, whatever it tasted like."]
    if not taste.salt_moved:
        return []
    less = taste.wps_pct < taste.was_pct
    return [
        f"A bit {'less' if less else 'more'} salt than last time ({percent(aim)} for {percent(taste.was_pct)}): "
        f"you said {_said(taste)}."
    ]


def _chamber_line(taste: Taste, pen: Pen) -> str:
    assert taste.chamber_c is not None
    assert taste.was_c is not None
    moved = taste.chamber_c - taste.was_c
    return f"Chamber {pen.degrees(abs(moved))} {'lower' if moved < 0 else 'higher'} than last time: you said {_said(taste)}."


def _said(taste: Taste) -> str:
    return join([TASTED[word] for word in taste.said if word in TASTED])


def tasted_words(said: Sequence[str], taste: Taste | None, pen: Pen) -> str:
    """Noted, and what it does to the next batch."""
    first = f"Noted: {join([TASTED[word] for word in said])}."
    if taste is None:
        return f"{first}\nI take it into account once the batch is packed."
    moves = []
    if taste.salt_moved:
        moves.append(f"salt {percent(taste.wps_pct)} instead of {percent(taste.was_pct)}")
    if taste.chamber_moved and taste.chamber_c is not None and taste.was_c is not None:
        moves.append(f"chamber {pen.temp(taste.chamber_c)} instead of {pen.temp(taste.was_c)}")
    if not moves:
        return f"{first}\nNext time the same: {percent(taste.wps_pct)} salt."
    line = f"{first}\nNext time {join(moves)}, unless you say otherwise."
    floor = float(rule("airless")["wps_pct"])
    return f"{line} An airless pack stays at {percent(floor)} or more." if taste.wps_pct < floor else line


def know_words(known: Experience, batches: int, pen: Pen) -> str:
    """What is known of a rig, with how sure that is and how many batches it rests on."""
    lines = []
    if known.tack:
        lines.append(f"Skin tacky after {_against(known.tack.mean, known.tack.sd, 'less', 'more')} drying than usual.")
    if known.smoke:
        lines += _smoke_lines(known.smoke, pen)
    if known.fridge_c:
        lines.append(f"Fridge about {pen.temp(known.fridge_c.mean)} (± {pen.degrees(_TENTH * known.fridge_c.sd)}).")
    if known.loss:
        lines.append(f"Loses {_against(known.loss.mean, known.loss.sd, 'less', 'more')} weight than the sum says.")
    if not lines:
        return NOTHING_LEARNED
    rested = _rests(known, batches)
    head = f"Learned from {_count(batches)}{_in(known.rig)}, against the usual (in brackets how sure, 80 %):"
    return "\n".join([head, *lines, *rested])


def _smoke_lines(prior: Prior, pen: Pen) -> list[str]:
    mean = [prior.mean[place] for place in PLACES]
    sd = [prior.sd[place] for place in PLACES]
    off = f"{pen.degrees(abs(mean[2]))} {'warmer' if mean[2] > 0 else 'colder'} than" if abs(mean[2]) > 0.5 else "as warm as"
    return [
        f"Heat gets into the fish {_against(mean[0], sd[0], 'slower', 'faster')}.",
        f"The air in it is {_against(mean[1], sd[1], 'drier', 'moister')}.",
        f"At the fish it is {off} its thermometer says (± {pen.degrees(_TENTH * sd[2])}).",
    ]


def _against(log: float, sd: float, less: str, more: str) -> str:
    """A factor as a person would say it, with its 80 % range: "20 % faster (+5 to +35 %)"."""
    low, high = (100.0 * (math.exp(log + x * _TENTH * sd) - 1.0) for x in (-1, 1))
    middle = 100.0 * (math.exp(log) - 1.0)
    return f"{abs(middle):.0f} % {less if middle < 0 else more} ({low:+.0f} to {high:+.0f} %)"


def _rests(known: Experience, batches: int) -> list[str]:
    """Where a figure rests on fewer batches than the whole: which."""
    counts = {
        "drying": known.tack.batches if known.tack else 0,
        "smoking": known.smoke.batches if known.smoke else 0,
        "fridge": known.fridge_c.batches if known.fridge_c else 0,
        "weight": known.loss.batches if known.loss else 0,
    }
    fewer = [f"{name} on {n}" for name, n in counts.items() if 0 < n < batches]
    return [f"Of these rest {join(fewer)}."] if fewer else []


def know_values(known: Experience, batches: int) -> dict[str, Any]:
    """The same as data: factors against the usual, kelvin, °C."""
    found: dict[str, Any] = {"rig": known.rig, "batches": batches}
    if known.tack:
        found["drying"] = _value(math.exp(known.tack.mean), known.tack.sd, known.tack.batches)
    if known.smoke:
        mean, sd, count = known.smoke.mean, known.smoke.sd, known.smoke.batches
        transfer, humidity, chamber = PLACES
        found["transfer"] = _value(math.exp(mean[transfer]), sd[transfer], count)
        found["humidity"] = _value(math.exp(mean[humidity]), sd[humidity], count)
        found["chamber_k"] = _value(mean[chamber], sd[chamber], count)
    if known.fridge_c:
        found["fridge_c"] = _value(known.fridge_c.mean, known.fridge_c.sd, known.fridge_c.batches)
    if known.loss:
        found["loss"] = _value(math.exp(known.loss.mean), known.loss.sd, known.loss.batches)
    return found


def _value(value: float, sd: float, batches: int) -> dict[str, float | int]:
    return {"value": round(value, 3), "sd": round(sd, 3), "batches": batches}


def forgotten_words(finished: Finished, left: int, pen: Pen) -> str:
    """That a batch teaches nothing any more, and what is left."""
    rest = f"What I know rests on {_count(left)} now." if left else "I know nothing of your smoker now."
    return f"Taken out: {named(finished, pen)} teaches me nothing any more.\n{rest}"


def like_words(finished: Finished, wps_pct: float | None, pen: Pen) -> str:
    """Which batch a new one starts from, and how its salt was moved."""
    was = finished.made.get("wps_pct")
    if wps_pct is None or was is None or abs(wps_pct - float(was)) < 0.05:
        return f"Like {named(finished, pen)}."
    return f"Like {named(finished, pen)}, with {percent(wps_pct)} salt for {percent(float(was))}."


def differ_words(found: Sequence[Difference], then: Finished, pen: Pen) -> str:
    """The differences that matter, each on a line."""
    than = named(then, pen)
    if not found:
        return f"Hardly at all from {than}: nothing that you would notice."
    count = {1: "One thing differs", 2: "Two things differ", 3: "Three things differ"}[min(len(found), MOST)]
    lines = [_SAYS[d.key](d, pen) for d in found[:MOST]]
    tasted = [TASTED[word] for word in then.tasted if word in TASTED]
    tail = [f"That one was {join(tasted)}."] if tasted else []
    return "\n".join([f"{count} from {than}:", *lines, *tail])


def named(finished: Finished, pen: Pen) -> str:
    """A finished batch by its name and the day it was packed."""
    return f"{finished.name} of {pen.day(finished.packed_at)}"


def _pair(name: str, write: Callable[[float, Pen], str]) -> Callable[[Difference, Pen], str]:
    return lambda d, pen: f"{name} {write(d.now, pen)}, then {write(d.then, pen)}."


def _hours(value: float, pen: Pen) -> str:
    return span(timedelta(hours=value))


def _temp(value: float, pen: Pen) -> str:
    return pen.temp(value)


def _percent(value: float, pen: Pen) -> str:
    return percent(value)


_SAYS: Mapping[str, Callable[[Difference, Pen], str]] = {
    "thickness_mm": _pair("Pieces", lambda v, pen: f"{pen.length(v)} thick"),
    "wps_pct": _pair("Salt in the fish's water", _percent),
    "salt_pct": _pair("Brine", _percent),
    "soak_h": _pair("In the salt", _hours),
    "air_c": _pair("Drying air", _temp),
    "rh_pct": _pair("Humidity", lambda v, pen: f"{v:.0f} %"),
    "dry_h": _pair("Drying", _hours),
    "chamber_c": _pair("Chamber", _temp),
    "smoke_h": _pair("In the smoke", _hours),
    "hottest_c": _pair("Hottest core", _temp),
    "cool_h": _pair("Cooling", _hours),
    "fridge_c": _pair("Fridge", _temp),
    "loss_pct": _pair("Weight lost", lambda v, pen: f"{v:.0f} %"),
}


def _last(count: int) -> str:
    return "your last batch" if count == 1 else f"your last {count} batches"


def _count(count: int) -> str:
    return "one batch" if count == 1 else f"{count} batches"


def _in(rig: str | None) -> str:
    return f" in {rig_words(rig)}" if rig else ""


def rig_words(name: str) -> str:
    """A smoker by its name: "the drum", but "Bertha"."""
    if name.rsplit(maxsplit=1)[-1] in KINDS:
        return f"the {name}"
    return name if name.startswith("the ") else name.capitalize()


def _start(text: str) -> str:
    return text[:1].upper() + text[1:]
