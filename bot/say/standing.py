"""How a batch stands, in a few lines: on its pinned card, and where somebody asks what's on."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta

from bot.crew import Duty, taker
from bot.say.answer import CALL, calls_of
from bot.say.crew import on_till, sentence
from bot.say.format import Pen
from bot.say.words import DOING, STAGE, of_lot
from planner.plan import Plan
from planner.ring import Ring
from planner.rings import same_call
from planner.stages import Stage

When = Callable[[datetime], str]

DELETED = "This batch was deleted."


def card_words(title: str, plan: Plan, rings: Sequence[Ring], duty: Duty | None, pen: Pen) -> str:
    """The pinned card. It stays for hours: times stand with their weekday, and nothing counts down."""
    lines = list(standing_lines(title, plan, rings, pen, pen.day_time))
    if duty is not None and not plan.batch.packed:
        lines.append(on_till(duty, pen.day_time(duty.until)))
    return "\n".join(lines)


def taken_back_words(title: str) -> str:
    """The card of a batch of which nothing is left."""
    return f"{title}: taken back."


def standing_lines(title: str, plan: Plan, rings: Sequence[Ring], pen: Pen, when: When) -> Iterator[str]:
    """Stage, next thing and when, and the clocks that run; ``when`` writes the moments."""
    if plan.lost:
        yield f"{title}: do not eat or pack this batch."
        return
    if plan.batch.packed:
        yield f"{title}: packed {when(plan.now.since)}."
        keep = plan.stage(Stage.KEEP)
        if keep is not None:
            yield f"Eat or freeze it by {pen.day(keep.end)}."
        return
    yield f"{title}: {_stage(plan)}{_since(plan, when)}."
    called = called_for(plan, rings)
    if called is not None:
        who = taker(plan.batch, called.key)
        has_it = f" {sentence(who.name)} has it." if who is not None else ""
        yield f"Now: {CALL[called.what]}{of_lot(called.lot)}.{has_it}"
    soon = pen.now + timedelta(minutes=1)  # what is due by now is what it waits for
    coming = [m for m in calls_of(plan, [r for r in rings if r is not called], pen.now) if m.at > soon]
    if coming:
        yield f"Next: {coming[0].what}, {when(coming[0].at)}."
    yield from _clocks(plan, rings, pen, when)
    if plan.ready is not None and plan.now.stage is not Stage.PACK and plan.ready > pen.now:
        yield f"Ready to pack {when(plan.ready)}."


def nothing_on() -> str:
    """Where nothing runs."""
    return 'Nothing is on. Tell me what you are making, like "4 lb coho fillets, 1 inch, brining tonight".'


def called_for(plan: Plan, rings: Sequence[Ring]) -> Ring | None:
    """The newest reminder that was rung and is still wanted: nobody has done yet what it asked for."""
    put_off = [(str(a.slots["key"]), a.at) for a in plan.batch.answered if "until" in a.slots]
    for rung in sorted(plan.batch.rung, key=lambda r: r.at, reverse=True):
        wanted = next((ring for ring in rings if same_call(ring.key, rung.key)), None)
        if wanted is not None and not any(same_call(key, rung.key) and at >= rung.at for key, at in put_off):
            return wanted
    return None


def _stage(plan: Plan) -> str:
    stage = plan.now.stage
    return DOING[stage] if plan.now.begun else f"waiting to {_TO.get(stage, STAGE[stage].lower())}"


_TO = {Stage.SOAK: "go into the brine", Stage.SALT: "go into the salt", Stage.CHILL: "go into the cold"} | {
    Stage.REST: "rest in the cold"
}


def _since(plan: Plan, when: When) -> str:
    return f" since {when(plan.now.since)}" if plan.now.begun else ""


def _clocks(plan: Plan, rings: Sequence[Ring], pen: Pen, when: When) -> Iterator[str]:
    """Clocks that somebody has to beat: time in the warm, the hold, the cooling."""
    clock = plan.exposure
    if clock is not None and clock.used_h > 0 and any(ring.what == "exposure" for ring in rings):
        yield f"Warm clock: spent {when(plan.at + timedelta(hours=clock.left_h))} if it stays out."
    for name, cook in plan.cooks.items():
        if plan.now.stage is Stage.SMOKE and cook.counting_since is not None:
            yield f"The hold{of_lot(name)} counts since {when(cook.counting_since)}."
    for name, cooling in plan.coolings.items():
        if cooling.deadline is not None and cooling.target_c is not None:
            yield f"Cooling{of_lot(name)}: {pen.limit(cooling.target_c)} by {when(cooling.deadline)}."
