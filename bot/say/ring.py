"""What a reminder says when its time has come, with the facts of now."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from bot.say.format import Pen, join, span
from bot.say.plan import brine_line
from bot.say.words import fish, lot
from planner.batch import WHOLE
from planner.plan import Plan
from planner.ring import Ring
from planner.stages import Stage

Words = tuple[str, list[tuple[str, Mapping[str, Any]]]]

_LATE = timedelta(minutes=5)


def ring_words(ring: Ring, plan: Plan, pen: Pen, *, names: Sequence[str], late: timedelta, again: int) -> Words:
    """Text and buttons of a due reminder; ``names`` are whom it is for and which batch, where that has to be said."""
    text, buttons = _SAY[ring.what](ring, plan, pen)
    opening = ", ".join([*names, *(["again"] if again and late <= _LATE else [])])
    opening = f"{opening[:1].upper()}{opening[1:]}: " if opening else ""
    if late > _LATE:
        opening += f"Late by {span(late)}. "
    return opening + text, buttons


def asked_for(ring: Ring) -> str:
    """What a person wanted to be called for."""
    about = str(ring.data.get("about", ""))
    return f"You asked me to call: {about}." if about else "You asked me to call you now."


def asked_line(ring: Ring, pen: Pen) -> str:
    """A call that somebody asked for and that is still to come."""
    about = str(ring.data.get("about", ""))
    return f"I'll call you {pen.clock(ring.due)}{f': {about}' if about else ''}."


def again_words(until: datetime, pen: Pen, *, protects: bool = False) -> str:
    """When somebody is called again who put it off."""
    why = " This one protects the fish." if protects else ""
    return f"I'll call again {pen.clock(until)}.{why}"


#: Under a reminder that somebody asked for.
ASKED_FOR_BUTTONS: list[tuple[str, Mapping[str, Any]]] = [("Done", {"say": "done"}), ("In 10 min", {"snooze_min": 10})]


def to_take(buttons: list[tuple[str, Mapping[str, Any]]], most: int) -> list[tuple[str, Mapping[str, Any]]]:
    """The buttons in a chat of several: one says that somebody has it, where there is room for it."""
    others = [button for button in buttons if button != _ON_IT]
    place = next((i for i, (_, means) in enumerate(others) if "snooze_min" in means), len(others))
    return [*others[:place], ("I've got it", {"on_it": True}), *others[place:]] if len(others) < most else buttons


def _event(label: str, **slots: Any) -> tuple[str, Mapping[str, Any]]:
    return label, {"intent": "event", "slots": slots}


def _reading(label: str, **slots: Any) -> tuple[str, Mapping[str, Any]]:
    return label, {"intent": "reading", "slots": slots}


def _later(minutes: int) -> tuple[str, Mapping[str, Any]]:
    return f"In {minutes} min", {"snooze_min": minutes}


_ON_IT: tuple[str, Mapping[str, Any]] = ("On it", {"on_it": True})


def _start(ring: Ring, plan: Plan, pen: Pen) -> Words:
    recipe = brine_line(plan.brine, pen) if plan.brine else "Salt as planned."
    stage = Stage(ring.stage)
    return (
        f"Time to get the fish into the {'salt' if stage is Stage.SALT else 'brine'}.\n{recipe}",
        [_event("It's in", stage=str(stage), started=True), _later(30)],
    )


def _thawed(ring: Ring, plan: Plan, pen: Pen) -> Words:
    return (
        "The fish should be thawed. Press the thickest piece: is there a hard middle?",
        [_event("Thawed", stage="thaw", done=True), _later(60)],
    )


def _pull(ring: Ring, plan: Plan, pen: Pen) -> Words:
    medium = "salt" if ring.stage == Stage.SALT else "brine"
    text = f"Pull the fish from the {medium}, rinse it, pat it dry."
    if plan.wps:
        text += f"\nSalt in its water: about {plan.wps.pull_mean:.1f} %, deepest part {plan.wps.pull_core:.1f} %."
    dry = plan.stage(Stage.DRY)
    if dry and dry.start - pen.now > timedelta(hours=1):
        text += f"\nThen back in the cold, uncovered, until {pen.clock(dry.start)}."
    else:
        text += "\nThen onto the racks, fan on."
    return text, [_event("It's out", stage=ring.stage, done=True), _later(20)]


def _rack(ring: Ring, plan: Plan, pen: Pen) -> Words:
    dry = plan.stage(Stage.DRY)
    text = "Fish onto the racks, skin down, fan on, nothing touching."
    if dry:
        text += f"\nTacky skin expected {pen.between(dry.earliest, dry.latest)}."
    return text, [_event("On the racks", stage="dry", started=True), _later(30)]


def _rest(ring: Ring, plan: Plan, pen: Pen) -> Words:
    dry = plan.stage(Stage.DRY)
    until = f" until {pen.clock(dry.start)}" if dry else ""
    return (
        f"Is the fish back in the cold? It waits there{until}; in the warm its clock runs.",
        [_event("In the fridge", what="fridge"), _ON_IT],
    )


def _turn(ring: Ring, plan: Plan, pen: Pen) -> Words:
    return (
        "Turn the racks so that both sides dry alike.",
        [_event("Turned", what="rotated"), _later(20)],
    )


def _surface(ring: Ring, plan: Plan, pen: Pen) -> Words:
    return (
        "Touch the thickest piece with a dry finger. What is the skin like?",
        [
            _reading("Wet", surface="wet"),
            _reading("Damp", surface="damp"),
            _reading("Tacky", surface="tacky"),
            _reading("Dry", surface="dry"),
        ],
    )


def _heat(ring: Ring, plan: Plan, pen: Pen) -> Words:
    dry = plan.stage(Stage.DRY)
    by = f" The skin should be ready about {pen.clock(dry.end)}." if dry else ""
    return f"Light the smoker so that it is steady in time.{by}", [_ON_IT, _later(20)]


def _light(ring: Ring, plan: Plan, pen: Pen) -> Words:
    return (
        "The skin is there: fish into the smoke now, small pieces where you can reach them first.",
        [_event("In the smoke", stage="smoke", started=True), _later(15)],
    )


def _fuel(ring: Ring, plan: Plan, pen: Pen) -> Words:
    return (
        "Top up wood and water. What does the chamber read?",
        [_event("Topped up", what="fuel"), _later(15)],
    )


def _rotate(ring: Ring, plan: Plan, pen: Pen) -> Words:
    return "Rotate the racks: bottom to top, back to front.", [_event("Rotated", what="rotated"), _later(15)]


def _core(ring: Ring, plan: Plan, pen: Pen) -> Words:
    lots = _lots(ring, plan)
    if len(lots) > 1:
        which = f"cores of {join([lot(name) for name in lots])}, the thickest of each"
    else:
        which = "core of the thickest piece" if lots == [WHOLE] else f"core of the thickest of {lot(lots[0])}"
    return "\n".join([f"Read the {which}.", *_each(lots, [_core_due(n, plan, pen) for n in lots])]), [_ON_IT]


def _core_due(name: str, plan: Plan, pen: Pen) -> str:
    """What the reading is for: the hold that counts, or when the floor is expected."""
    cook = plan.cooks.get(name)
    if cook and cook.counting_since:
        return f"the hold counts since {pen.clock(cook.counting_since)}; a gap over 35 min starts it again."
    if cook and cook.floor:
        return f"expected to reach {pen.limit(62.8)} {pen.between(cook.floor.p10, cook.floor.p90)}."
    return ""


def _lots(ring: Ring, plan: Plan) -> list[str]:
    """The lots that a call is for, thinnest first: they are done first."""
    return [lot.name for lot in plan.making.lots if lot.name in ring.data["lots"]]


def _each(lots: Sequence[str], said: Sequence[str]) -> list[str]:
    """A line for each lot, or one for all where the same is said of them."""
    if len(set(said)) == 1:
        lines = list(said[:1])
    else:
        lines = [f"{lot(name)}: {words}" for name, words in zip(lots, said, strict=True) if words]
    return [f"{line[:1].upper()}{line[1:]}" for line in lines if line]


def _out(ring: Ring, plan: Plan, pen: Pen) -> Words:
    slots = {"what": "pulled"} | ({} if ring.lot in (None, WHOLE) else {"lot": ring.lot})
    return (
        f"Take {lot(ring.lot)} out and let the heat off: hot long enough.",
        [_event("They're out", **slots), _later(10)],
    )


def _cool(ring: Ring, plan: Plan, pen: Pen) -> Words:
    lots = _lots(ring, plan)
    of = f" of {join([lot(name) for name in lots])}" if lots != [WHOLE] else ""
    over = any(c.cooling.ran_out_at for name in lots if (c := plan.coolings.get(name)))
    text = f"Read the core{of} now, or tell me one taken in time." if over else f"Read the core{of}."
    return "\n".join([text, *_each(lots, [_cool_due(name, plan, pen) for name in lots])]), [_ON_IT]


def _cool_due(name: str, plan: Plan, pen: Pen) -> str:
    """By when it must be how cold, or that this time ran out."""
    cooling = plan.coolings.get(name)
    if cooling is None or cooling.target_c is None:
        return ""
    if cooling.cooling.ran_out_at:
        return f"the time for {pen.limit(cooling.target_c)} ran out {pen.at(cooling.cooling.ran_out_at)} with no reading."
    return f"it must be at {pen.limit(cooling.target_c)} by {pen.clock(cooling.deadline)}." if cooling.deadline else ""


def _fridge(ring: Ring, plan: Plan, pen: Pen) -> Words:
    return f"What does the fridge read? It should be {pen.limit(3.3)} or colder.", [_ON_IT]


def _pack(ring: Ring, plan: Plan, pen: Pen) -> Words:
    shut = [gate for gate in plan.gates if not gate.open]
    if shut:
        return (
            'Packing time by the plan, but not everything is shown yet. Ask "can I pack?" for what is missing.',
            [("Can I pack?", {"say": "can I pack?"}), _later(60)],
        )
    return (
        "Cold and proven: pack it now, date and name on every bag.",
        [_event("Packed", stage="pack", done=True), _later(60)],
    )


def _use_by(ring: Ring, plan: Plan, pen: Pen) -> Words:
    keep = plan.stage(Stage.KEEP)
    by = f" by {pen.day(keep.end)}" if keep else " soon"
    return f"Eat or freeze the rest{by}. That date does not move later.", []


def _taste(ring: Ring, plan: Plan, pen: Pen) -> Words:
    def said(label: str, word: str) -> tuple[str, Mapping[str, Any]]:
        return _event(label, what="tasted", tasted=[word])

    return (
        f"How was the {fish(plan.batch.told.get('species'))}? The next batch moves with what you say.",
        [
            said("Too salty", "too_salty"),
            said("A bit dry", "bit_dry"),
            said("Just right", "just_right"),
            said("Not salty enough", "too_bland"),
        ],
    )


def _exposure(ring: Ring, plan: Plan, pen: Pen) -> Words:
    clock = plan.exposure
    if clock is None:
        return "The warm clock is running: get the fish into heat or cold.", [_ON_IT]
    if clock.left_h <= 0:
        return "The warm clock is spent: do not eat or pack this fish. Heat and freezing do not undo it.", []
    return (
        f"{span(timedelta(hours=clock.left_h))} left on the warm clock. Get the fish into the smoke or back in the cold.",
        [_ON_IT],
    )


_SAY: Mapping[str, Callable[[Ring, Plan, Pen], Words]] = {
    "start": _start,
    "thawed": _thawed,
    "pull": _pull,
    "rack": _rack,
    "rest": _rest,
    "turn": _turn,
    "surface": _surface,
    "heat": _heat,
    "light": _light,
    "fuel": _fuel,
    "rotate": _rotate,
    "core": _core,
    "out": _out,
    "cool": _cool,
    "fridge": _fridge,
    "pack": _pack,
    "use_by": _use_by,
    "taste": _taste,
    "exposure": _exposure,
}
