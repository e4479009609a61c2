"""A verdict in words: the call, why, what next and when."""

from __future__ import annotations

from bot.say.format import Pen
from bot.say.why import reason_words
from bot.say.words import lot
from planner.batch import WHOLE
from planner.judge import pack_verdict
from planner.plan import Plan
from planner.verdict import Call, Eta, Verdict


def verdict_words(v: Verdict, plan: Plan, pen: Pen) -> str:
    """First line the call, second why, third what next and when."""
    lines = [_first(v, plan, pen)]
    reasons = [r for r in v.reasons if r.rule not in _SAID_BY_FIRST]
    if v.call is Call.STOP:
        lines += [f"{reason_words(r, pen)}." for r in reasons if r.rule in LOST]
        return "\n".join([*lines, *_untold(plan, pen)])
    lines += [f"{reason_words(r, pen)}." for r in reasons]
    after = _next(v, plan, pen)
    if after:
        lines.append(after)
    return "\n".join(dict.fromkeys(lines))


#: Reasons that nothing mends.
LOST = frozenset({"exposure_spent", "spent", "cooling_missed", "cold_smoke_spent"})

def lost_words(plan: Plan, pen: Pen) -> str:
    """That a batch is lost, and to what."""
    why = [reason_words(r, pen) for r in pack_verdict(plan).reasons if r.rule in LOST]
    lines = ["Stop: do not eat or pack this batch.", *(f"{line}." for line in dict.fromkeys(why))]
    return "\n".join([*lines, *_untold(plan, pen)])


def _untold(plan: Plan, pen: Pen) -> list[str]:
    """A clock that ran on because nobody said that the fish was in the cold is put right by saying so."""
    since = plan.untold_rest
    return [f'Was it in the cold all the time? Then say "in the fridge since {pen.time(since)}".'] if since else []


#: Reasons whose whole content is in the first line already.
_SAID_BY_FIRST = frozenset({"felt", "air"})


def _first(v: Verdict, plan: Plan, pen: Pen) -> str:
    said = _value(v, pen)
    who = f" ({lot(v.lot).removeprefix('the ')})" if v.lot and v.lot != WHOLE else ""
    match v.call, v.about:
        case Call.STOP, _:
            return f"Stop: {said}{who}. Do not eat or pack this batch."
        case Call.GO, "core_c":
            return f"{_GO_CORE.get(v.stage, 'Good')}: {said}{who}."
        case Call.GO, "surface":
            return "Ready: into the smoke."
        case Call.GO, "fridge_c":
            return f"Good: {said}."
        case Call.GO, "pack":
            return "Go: pack it."
        case Call.GO, _:
            return f"Good: {said}{who}."
        case Call.WAIT, "pack":
            return "Not yet: not everything is shown."
        case Call.ACT, "pack":
            return "Don't pack yet: this is missing."
        case Call.WAIT, _:
            return f"Not yet: {said}{who}."
        case Call.ACT, _:
            return f"Act now: {said}{who}."
    return f"Noted: {said}{who}."


_GO_CORE = {"smoke": "Done, take it out", "cool": "Cold in time", "chill": "Cold enough"}


def _value(v: Verdict, pen: Pen) -> str:
    if v.value is None:
        return v.about
    match v.about:
        case "core_c":
            return f"core {pen.temp(float(v.value))}"
        case "chamber_c":
            return f"chamber {pen.temp(float(v.value))}"
        case "fridge_c":
            return f"fridge {pen.temp(float(v.value))}"
        case "air_c":
            return f"air {pen.temp(float(v.value))}"
        case "rh_pct":
            return f"humidity {float(v.value):.0f} %"
        case "wind_m_s":
            return f"air moving at {float(v.value):.1f} m/s"
        case "mass_g":
            return pen.mass(float(v.value))
        case "salometer_deg":
            return f"{float(v.value):.0f}° on the salometer"
        case "wps_pct":
            return f"measured salt {float(v.value):.1f} %"
        case "surface":
            return f"skin {v.value}"
    return str(v.value)


def _next(v: Verdict, plan: Plan, pen: Pen) -> str:
    parts: list[str] = []
    if v.eta:
        parts.append(eta_words(v.eta, plan, pen))
    remedy = _REMEDY.get(str(v.reasons[-1].rule)) if v.reasons else None
    if v.call is Call.ACT and remedy:
        parts.append(remedy)
    if v.call is Call.GO:
        parts.append(_AFTER_GO.get((v.about, v.stage), ""))
    if v.next_look and v.call is not Call.STOP:
        parts.append("Read it now." if v.next_look <= pen.now else f"Look again {pen.clock(v.next_look)}.")
    return " ".join(p for p in parts if p)


_REMEDY = {
    "chamber_too_hot": "Open the damper or pull fuel until it is under.",
    "chamber_too_cold_long": "More heat now, or finish in an oven.",
    "will_not_get_there": "Raise the chamber, or finish in an oven.",
    "cooling_too_slow": "Spread the pieces out, fan on, into the fridge uncovered, or on ice.",
    "cooling_unknown": "Read the core now.",
    "cooling_not_started": "Read the core as it comes out of the smoke.",
    "fridge": "Turn it colder and read again in an hour.",
    "too_humid": "Warm the air a little and keep it moving, or dry in the fridge.",
    "condensation": "Let the fish stay cold until the air is drier.",
}

_AFTER_GO = {
    ("core_c", "smoke"): "Out of the heat and cool it in moving air: the clock runs from here.",
    ("core_c", "cool"): "Into the fridge, uncovered.",
    ("core_c", "chill"): "You can pack.",
    ("surface", "dry"): "Tell me when the fish is in.",
}

_ETA = {
    "floor": "At {floor} {when}.",
    "aim": "At {aim} {when}.",
    "hold_end": "Hot long enough {when}.",
    "pellicle": "Tacky {when}.",
    "first_leg": "Through the first leg {when}.",
    "cold": "Cold {when}.",
}


def eta_words(eta: Eta, plan: Plan, pen: Pen) -> str:
    """When something is expected: best guess and range."""
    when = f"about {pen.clock(eta.p50)}"
    if eta.p90 > eta.p10:
        when += f" {pen.spread(eta.p10, eta.p90, eta.p50)}"
    cook = next(iter(plan.cooks.values()), None)
    floor = pen.temp(cook.floor_hold.mark.core_c) if cook else pen.temp(62.8)
    aim = pen.temp(cook.aim_hold.mark.core_c) if cook else pen.temp(71.1)
    return _ETA[eta.of].format(floor=floor, aim=aim, when=when)
