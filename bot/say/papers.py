"""Words on labels and records: absolute dates, since they are read on another day."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta

from bot.say.cautions import raw_fish
from bot.say.format import Pen, percent, span
from bot.say.plan import brine_line
from bot.say.why import knows, reason_words
from bot.say.words import DOING, STAGE, fish, lot, of_lot
from planner.batch import WHOLE
from planner.gates import shut
from planner.making import Making
from planner.plan import Gate, LotCook, LotCooling, Notice, Plan
from planner.stages import Stage
from planner.verdict import Reason

_GATE = {
    "exposure": "Time in the warm",
    "hot": "Hot enough",
    "cooled": "Cooled in time",
    "cold": "Cold",
    "window": "Cold smoke, hours and warmth",
    "parasites": "Frozen for parasites",
    "airless": "Airless and chilled",
}

_NOT_PROVEN = {
    "hot": "not proven hot enough on record",
    "cooled": "not proven cooled in time on record",
    "cold": "not proven cold on record",
    "window": "not proven within the hours and warmth of a cold smoke on record",
    "parasites": "not proven frozen for parasites on record",
    "airless": "not proven safe airless and chilled: keep it frozen",
    "exposure": "too long in the warm",
}


LAST_DAY = "the last day to eat or freeze it"


def when(moment: datetime, pen: Pen) -> str:
    """Day, date and time."""
    return f"{pen.day(moment)} {pen.time(moment)}"


# --- labels ---------------------------------------------------------------------------------------


def label_title(making: Making, fish_name: str, lot_name: str | None) -> str:
    """What it is."""
    how = "Cold-smoked" if making.cold_smoke else "Hot-smoked"
    return f"{how} {fish_name}" + ("" if lot_name in (None, WHOLE) else f", {lot(lot_name).removeprefix('the ')}")


def species_name(making: Making) -> str:
    """The kind of fish in full."""
    name = making.species.english if making.known_fish else fish(making.species_key)
    return name[:1].upper() + name[1:]


def smoke_of(wood: str) -> str:
    """Smoke as an ingredient."""
    return f"{wood} smoke" if wood else "smoke"


def keep_how(plan: Plan, dated: bool, pen: Pen) -> str:
    """How to keep it; ``dated`` is False where the record gives no date."""
    making, cold = plan.making, f"Keep at {_whole(pen.limit(3.3))} or colder."
    if making.pack == "frozen":
        return f"Keep frozen, {_whole(pen.limit(-17.8))} or colder. Thaw in the fridge."
    if making.pack == "airless" and not dated:
        return "Keep frozen. Thaw it opened, in the fridge."
    if dated:
        return f"{cold} Eat or freeze by the date."
    # Where something is not proven no word here may sound as if it were mended by a freezer.
    return cold if shut(plan.gates) else f"{cold} Eat now or freeze."


def _whole(text: str) -> str:
    """Text that no line break may divide."""
    return text.replace(" ", "\u00a0")


def unproven(gate: Gate) -> str:
    """A gate that no record opens, as a caution: ``Not proven hot enough on record (the small ones)``."""
    words = _NOT_PROVEN.get(gate.name, f"not proven on record: {gate.name.replace('_', ' ')}")
    return words[:1].upper() + words[1:] + (f" ({lot(gate.lot)})" if gate.lot not in (None, WHOLE) else "")


def lasting(notice: Notice, pen: Pen) -> str | None:
    """A notice that stays with the fish, briefly; None where another line says it."""
    v = notice.values
    match notice.rule:
        case "went_on_anyway":
            stage = str(v.get("stage") or "")
            doing = f" while {DOING[Stage(stage)]}" if stage else ""
            return f"Went on against the advice{doing}, {pen.day(datetime.fromisoformat(str(v['at'])))}"
        case "works_to":
            return f"Made to {pen.limit(float(v['core_c']))} for 30 min; home guidance is {pen.limit(71.1)}"
        case "ciguatera":
            return "Reef fish: can carry a toxin that no process removes"
        case "cold_smoke_raw":
            return raw_fish()
        case "airless_frozen":
            return "Airless pack: thaw it opened, in the fridge"
    return None


def cautions(plan: Plan, pen: Pen, lot_name: str | None = None) -> tuple[str, ...]:
    """What label and card must say: each gate that is not open, each lasting notice."""
    gates = [g for g in plan.gates if not g.open and (lot_name is None or g.lot in (None, lot_name))]
    said = [unproven(gate) for gate in gates]
    said += [words for n in plan.warnings if n.lasting and (words := lasting(n, pen))]
    return tuple(dict.fromkeys(said))


def card_cautions(plan: Plan, pen: Pen) -> tuple[str, ...]:
    """The card's cautions; a lost batch says so first."""
    lost = ("A safety limit was broken: do not eat or pack it",) if plan.lost else ()
    return (*lost, *cautions(plan, pen))


# --- the record -------------------------------------------------------------------------------------


def gate_name(gate: Gate) -> str:
    """A gate as a row's name."""
    return _GATE.get(gate.name, gate.name.capitalize()) + ("" if gate.lot in (None, WHOLE) else f", {lot(gate.lot)}")


def gate_how(gate: Gate, plan: Plan, pen: Pen) -> str:
    """How it was opened, or what is missing."""
    name = gate.lot or WHOLE
    if not gate.open:
        return _missing(gate, pen)
    if gate.name == "hot" and name in plan.cooks:
        return _held(plan.cooks[name], pen)
    if gate.name == "cooled" and name in plan.coolings:
        return _cooled(plan.coolings[name], pen)
    if gate.name == "cold":
        return f"Last read at {pen.temp(float(gate.values['read_c']))}; {pen.limit(float(gate.values['limit_c']))} is the limit."
    if gate.name in ("exposure", "window"):
        used, most = (span(timedelta(hours=float(gate.values[key]))) for key in ("used_h", "limit_h"))
        return f"{used} of {most} used."
    return f"{_missing(gate, pen)}"


def _missing(gate: Gate, pen: Pen) -> str:
    values = dict(gate.values) | ({"lot": gate.lot} if gate.lot not in (None, WHOLE) else {})
    rule = gate.missing or gate.name
    reason = Reason(rule, gate.source, values)
    return f"{reason_words(reason, pen) if knows(rule) else unproven(gate)}."


def _held(cook: LotCook, pen: Pen) -> str:
    hold = cook.aim_hold
    shown = f", shown {when(hold.met_at, pen)}" if hold.met_at else ""
    return f"{pen.limit(hold.mark.core_c)} held for {hold.best_min:.0f} min{shown}."


def _cooled(lot_cooling: LotCooling, pen: Pen) -> str:
    found = lot_cooling.cooling
    if found.start is None or found.done_at is None or found.cold_by is None:
        return "Down in time."
    return (
        f"From {pen.limit(found.rule.start.c)} {when(found.start, pen)} to {pen.limit(found.rule.end.c)} "
        f"{when(found.done_at, pen)}; due by {when(found.cold_by, pen)}."
    )


def override(notice: Notice, pen: Pen) -> str:
    """A step taken against the advice."""
    at = when(datetime.fromisoformat(str(notice.values["at"])), pen)
    stage = str(notice.values.get("stage") or "")
    return f"Went on against the advice{f' while {DOING[Stage(stage)]}' if stage else ''}, {at}."


def summary(plan: Plan, by: date | None, finished_g: float | None, pen: Pen) -> Iterator[tuple[str, str]]:
    """The batch in short: pairs of a name and a value."""
    making = plan.making
    yield "Fish", _fish_line(making, pen)
    if plan.brine is not None:
        yield "Salt and water", brine_line(plan.brine, pen).removeprefix("Weigh ")
    measured = plan.batch.values("wps_pct")
    if measured:
        yield "Salt, measured", f"{percent(float(measured[-1].slots['wps_pct']))} of the fish's water"
    elif plan.wps is not None:
        yield "Salt, reckoned", (
            f"about {percent(plan.wps.mean)} of the fish's water when packed "
            f"({plan.wps.low:.1f}–{plan.wps.high:.1f}), deepest part {percent(plan.wps.core)}"
        )
    yield "Weight", _weight_line(plan, finished_g, pen)
    for row in plan.stages:
        if (row.begun or row.done) and row.stage is not Stage.KEEP:
            end = when(row.end, pen) if row.done else "packed" if plan.batch.packed else "under way"
            yield f"{STAGE[row.stage]}{of_lot(row.lot)}", f"{when(row.start, pen)} → {end}"
    if not plan.lost:
        day = f"{by:%a} {by.day} {by:%b} {by.year}" if by else "no date can be given"
        yield "Keep by", f"{day}. {keep_how(plan, by is not None, pen)}"
    else:
        yield "Keep by", "do not eat or pack it"
    for words in cautions(plan, pen):
        yield "Caution", f"{words}."


def _weight_line(plan: Plan, finished_g: float | None, pen: Pen) -> str:
    if finished_g is None:
        return f"about {plan.yield_pct:.0f} % of the raw weight is left (reckoned)"
    if "mass_g" in plan.making.assumed:
        return f"{pen.mass(finished_g)} finished"
    raw_g = plan.making.mass_g
    return f"{pen.mass(raw_g)} raw, {pen.mass(finished_g)} finished: {100 * finished_g / raw_g:.0f} % left"


def _fish_line(making: Making, pen: Pen) -> str:
    guessed = "" if "mass_g" not in making.assumed else "about "
    sizes = [f"{pen.length(lot.thickness_mm or 0.0)}" for lot in making.lots]
    skin = "skin on" if making.thickest.open_faces == 1 else "no skin"
    return f"{guessed}{pen.mass(making.mass_g)} {making.form}, {' and '.join(sizes)} at the thickest, {skin}"
