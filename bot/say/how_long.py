"""How long a stage takes, and till when."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from bot.say.format import Pen, span
from bot.say.words import DOING, lot
from planner.plan import Plan, StagePlan


def how_long_words(rows: Sequence[StagePlan], plan: Plan, pen: Pen) -> str:
    """A line for each row of a stage, then when all is ready."""
    lines = [_line(row, pen) for row in rows]
    if plan.ready is not None and not plan.batch.packed:
        lines.append(f"Ready to pack {pen.clock(plan.ready)}.")
    return "\n".join(lines)


def _line(row: StagePlan, pen: Pen) -> str:
    which = f"{lot(row.lot, start=True)}: " if row.lot else ""
    doing = DOING[row.stage]
    if row.begun:
        spread = f" {pen.spread(row.earliest, row.latest, row.end)}" if row.latest > row.earliest else ""
        text = f"{doing} till about {pen.clock(row.end)}{spread}: {span(max(row.end - pen.now, timedelta(0)))} to go."
    else:
        text = f"about {span(row.end - row.start)} {doing}, {pen.clock(row.start)} to {pen.clock(row.end)}."
    return which + (text if which else f"{text[:1].upper()}{text[1:]}")
