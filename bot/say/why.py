"""Reasons in words: what each rule says, with its figures and its source."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from typing import Any

from bot.say.format import Pen, span
from bot.say.words import lot, of_lot
from planner.verdict import Reason

Values = Mapping[str, Any]


def reason_words(reason: Reason, pen: Pen) -> str:
    """One sentence for a reason."""
    return _SAYS[reason.rule](dict(reason.values), pen)


def sourced(reason: Reason, pen: Pen) -> str:
    """The same with where it stands, for "why?"."""
    return f"{reason_words(reason, pen)} [{reason.source}]"


def unsourced(fact: Values) -> str:
    """A reason that was said before, from its fact: what it said and where that stands."""
    return f"{fact['says']} [{fact['source']}]"


def knows(rule: str) -> bool:
    """True if there are words for this rule."""
    return rule in _SAYS


def _marks(v: Values, pen: Pen) -> str:
    floor, aim = pen.limit(v["floor_c"]), pen.limit(v["aim_c"])
    minutes = f"{v['hold_min']:.0f} min"
    if abs(v["aim_c"] - v["floor_c"]) < 0.2:
        return f"The mark is {floor} for {minutes}"
    return f"Floor {floor}, aim {aim}, {minutes} each"


def _counting(mark: str) -> Callable[[Values, Pen], str]:
    def words(v: Values, pen: Pen) -> str:
        left = max(0.0, v["hold_min"] - v["held_min"])
        return f"{pen.limit(v[f'{mark}_c'])} held {v['held_min']:.0f} min, {left:.0f} to go"

    return words


def _by(v: Values, pen: Pen) -> str:
    return pen.clock(datetime.fromisoformat(v["by"])) if v.get("by") else "its time"


def _gate(text: str) -> Callable[[Values, Pen], str]:
    def words(v: Values, pen: Pen) -> str:
        return text.format(
            of=of_lot(v.get("lot")),
            core=pen.limit(v["core_c"]) if "core_c" in v else "the mark",
            held=f"{v.get('held_min', 0):.0f}",
            read=pen.temp(v["read_c"]) if "read_c" in v else "",
            limit=pen.limit(v["limit_c"]) if "limit_c" in v else "",
        )

    return words


def _plain(text: str) -> Callable[[Values, Pen], str]:
    return lambda v, pen: text


def _exposure(v: Values, pen: Pen) -> str:
    used, limit = timedelta(hours=v["used_h"]), timedelta(hours=v["limit_h"])
    return f"Out of the cold {span(used)}, the limit is {span(limit)}; heat, smoke and freezing do not undo it"


def _cool(text: str) -> Callable[[Values, Pen], str]:
    def words(v: Values, pen: Pen) -> str:
        target = pen.limit(v["target_c"]) if "target_c" in v else pen.limit(v["middle_c"])
        said = text.format(target=target, by=_by(v, pen), end=pen.limit(v["end_c"]))
        return f"{lot(v['lot'], start=True)}: {said[:1].lower()}{said[1:]}" if v.get("lot") else said

    return words


def _weighed(v: Values, pen: Pen) -> str:
    if "loss_pct" not in v:
        return "Noted; no earlier weight to compare"
    return f"{abs(v['loss_pct']):.1f} % {'heavier' if v['loss_pct'] < 0 else 'lighter'} than {_weighed_first(v, pen)}"


def _weighed_first(v: Values, pen: Pen) -> str:
    return pen.at(datetime.fromisoformat(v["since"])) if v.get("since") else "the raw fish"


def _salometer(v: Values, pen: Pen) -> str:
    text = f"That is {v['salt_pct']:.1f} % salt"
    return text + (f"; by what was weighed it is {v['weighed_deg']:.0f}°" if "weighed_deg" in v else "")


_SAYS: Mapping[str, Callable[[Values, Pen], str]] = {
    "aim_held": lambda v, pen: f"{pen.limit(v['aim_c'])} held for {v['hold_min']:.0f} min",
    "aim_counting": _counting("aim"),
    "floor_counting": _counting("floor"),
    "floor_held": lambda v, pen: (
        f"The floor {pen.limit(v['floor_c'])} is held; the aim {pen.limit(v['aim_c'])} for "
        f"{v['hold_min']:.0f} min is not"
    ),
    "floor_not_reached": _marks,
    "reading_odd": _plain("That fits nothing read so far: check the probe sits in the thickest middle and read again"),
    "core_fallen": lambda v, pen: (
        f"{pen.degrees(v['fell_k'])} less than {pen.at(datetime.fromisoformat(v['since']))}: "
        'if it is out, say when, like "out at 2:45"; else look at the fire and the probe'
    ),
    "hold_broken_core_below": _plain("The core fell below the mark, so the count starts again"),
    "hold_broken_chamber_below": _plain("The chamber fell below the mark, so the count starts again"),
    "hold_broken_gap": _plain("More than 35 min between readings, so the count starts again"),
    "chamber_too_hot": lambda v, pen: f"Above {pen.limit(98.9)} fat and curd come out and the surface seals",
    "chamber_too_cold_long": lambda v, pen: (
        f"Below {pen.limit(71.1)} for an hour with a cold core: the fish lies in the warm"
    ),
    "chamber_in_band": lambda v, pen: f"The usual band is {pen.temp(v['low_c'])} to {pen.temp(v['high_c'])}",
    "chamber_below_band": lambda v, pen: f"A bit under the usual {pen.temp(v['low_c'])} to {pen.temp(v['high_c'])}",
    "chamber_above_band": lambda v, pen: f"A bit over the usual {pen.temp(v['low_c'])} to {pen.temp(v['high_c'])}",
    "chamber_not_read": _plain("The chamber was not read"),
    "cold_smoke_window": lambda v, pen: f"{span(timedelta(hours=v['left_h']))} left of {v['limit_h']:.0f} h",
    "cold_smoke_too_warm": lambda v, pen: f"Cold smoke stays at or under {pen.limit(32.2)}",
    "cold_smoke_spent": lambda v, pen: (
        f"In the cold smoke for {span(timedelta(hours=v['used_h']))}, it may be {v['limit_h']:.0f} h with the drying before it"
    ),
    "not_cold_smoked": _plain("No cold smoke is on record"),
    "window": _plain("Within the hours and the warmth of a cold smoke"),
    "will_not_get_there": lambda v, pen: f"At this heat the core does not reach {pen.limit(v['aim_c'])}",
    "cooling_not_started": lambda v, pen: (
        f"No reading at {pen.limit(60.0)} or above is on record, so the cooling clock has no start"
    ),
    "cooling_on_course": _cool("{target} is due by {by}"),
    "cooling_too_slow": _cool("{target} is due by {by} and it will not make it like this"),
    "cooling_done": _cool("Down to {end} in time"),
    "cooling_missed": _cool("Too slow: a reading shows that {target} was not reached in time"),
    "cooling_unknown": _cool("The time for {target} ran out with no reading"),
    "cooling_unproven": _cool(
        'Nothing read in time shows {target}. If you did read it then, tell me: "core 68 at 4:10"'
    ),
    "fridge": lambda v, pen: f"Storage is {pen.limit(v['limit_c'])} or colder",
    "thaw": lambda v, pen: f"Thaw at {pen.limit(v['limit_c'])} or colder",
    "skin_wet": _plain("Still wet: smoke will not take"),
    "skin_damp": _plain("Damp is nearly there: it should stick to the finger and leave no wet mark"),
    "skin_tacky": _plain("Tacky, no wet mark: that is the pellicle"),
    "skin_dry": _plain("Past tacky: do not let it dry further before the smoke"),
    "weighed": _weighed,
    "sugar_on_the_salometer": lambda v, pen: (
        f"Sugar lifts a salometer too, so this is not its salt; by what was weighed it is {v['weighed_deg']:.0f}°"
    ),
    "salometer": _salometer,
    "wps_enough": _plain("Measured salt is 3.5 % of the water or more"),
    "wps_too_low": _plain("An airless chilled pack needs 3.5 % salt in the water of the fish, measured"),
    "wps_not_measured": _plain(
        "An airless chilled pack needs its salt measured, 3.5 % or more: freeze the bags, or pack in paper"
    ),
    "too_humid": _plain("This air is too damp to dry fish: warm it, move it or wait"),
    "condensation": _plain("Dew forms on the cold fish in this air: no drying until it is warmer or drier"),
    "air": _plain("Noted, the drying time moves with it"),
    "felt": _plain("Noted"),
    # Gates before packing.
    "spent": _exposure,
    "exposure_spent": _exposure,
    "exposure": _plain("The warm clock is not spent"),
    "hot": _gate("Hot long enough{of}"),
    "cooled": _gate("Cooled in time{of}"),
    "cold": _gate("Cold enough"),
    "parasites": _plain("Frozen long enough for parasites"),
    "airless": _plain("Salt measured and fridge cold enough for an airless pack"),
    "not_smoked": _gate("No hold of the core{of} is on record"),
    "floor_not_held": _gate("No 30 min at {core} on record for the core{of}"),
    "aim_not_held": _gate('The core{of} held the floor, not {core}: say "I work to 145" if that is your mark'),
    "not_cooled": _gate("No cooling{of} is on record"),
    "cooling_gate": _gate("The cooling{of} is not shown"),
    "cold_not_read": _gate("No reading shows it cold yet: read the fridge or the core"),
    "too_warm": _gate("Read at {read}: it must be {limit} or colder"),
    "fridge_not_read": _gate("The fridge was not read"),
    "fridge_not_read_lately": _gate("The fridge was not read within a day"),
    "fridge_too_warm": _gate("The fridge was read too warm for an airless pack"),
    "parasites_not_frozen": _plain("Not frozen for parasites on record: 7 days at -20 °C / -4 °F, before cold smoke"),
}
