"""Answers that need no batch, in words."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from bot.say.format import Pen, percent, span
from bot.say.notice import notice_words
from bot.say.plan import assumed_line, brine_line
from bot.say.words import salt
from planner.brine import Brine
from planner.levers import Change, Outlook
from planner.plan import Plan


def strength(mixed: Brine, kind: str | None, kind_open: bool, water_ml: float, pen: Pen) -> str:
    """Percent and degrees of a brine, its spread where salt was measured by the cup, and the mass instead."""
    pct, deg = mixed.salt_pct, mixed.salometer_deg
    lines = [f"About {percent(pct.mid)} salt, {deg.mid:.0f}° salometer."]
    per_l = mixed.salt_g_per_l_water.mid
    if kind is not None and pct.high - pct.low > 0.05 * pct.mid:
        lines.append(f"By the cup it may be {pct.low:.1f} to {pct.high:.1f} %: {salt(kind)} packs differently.")
    if kind_open:
        lines.append("I took table salt; flaky kosher gives about half to two thirds of that.")
    weigh = f"{per_l:.0f} g to a litre of water" + (f" ({per_l * 3.785412:.0f} g a gallon)" if pen.us else "")
    if water_ml > 0:
        weigh = f"{pen.weigh(mixed.salt_g.mid)} for {pen.volume(water_ml)}"
    lines.append(f"Weigh it instead: {weigh}.")
    return "\n".join(lines)


def strength_values(mixed: Brine) -> dict[str, Any]:
    """The same as data."""
    return {
        "salt_pct": round(mixed.salt_pct.mid, 2),
        "salt_pct_low": round(mixed.salt_pct.low, 2),
        "salt_pct_high": round(mixed.salt_pct.high, 2),
        "salometer_deg": round(mixed.salometer_deg.mid, 1),
        "salt_g_per_l": round(mixed.salt_g_per_l_water.mid, 1),
        "salt_g": round(mixed.salt_g.mid, 1),
        "sugar_g": round(mixed.sugar_g.mid, 1),
        "water_ml": round(mixed.water_g / 0.9982),
    }


def soak(plan: Plan, hours: float, ahead: Outlook | None, pen: Pen) -> str:
    """How long such a fish lies in the brine, and what salt it comes to."""
    lines = [f"About {span(_quarter(hours))} in the brine."]
    if plan.brine:
        lines.append(brine_line(plan.brine, pen))
    if plan.wps:
        lines.append(
            f"Salt in its water at packing about {percent(plan.wps.mean)} ({plan.wps.low:.1f}–{plan.wps.high:.1f}), "
            f"deepest part {percent(plan.wps.core)}."
        )
    if ahead is not None and (ahead.mean_short or ahead.core_short):
        lines += short_words(ahead, pen)
    lines += [notice_words(n, pen) for n in plan.warnings[:2] if n.rule != "mild_product"]
    assumed = assumed_line(plan, pen)
    return "\n".join([*lines, assumed] if assumed else lines)


def short_words(ahead: Outlook, pen: Pen) -> list[str]:
    """That it is short of what an airless chilled pack needs, and what each change alone would give."""
    lines = [
        f"Short of the {ahead.aim_wps_pct:.1f} % that airless chilled packing needs: freeze those bags, or pack in paper."
    ]
    ways = [_lever(x.change, x.value, x.packed.mean.mid, pen) for x in ahead.levers]
    if ways:
        lines.append(f"One change alone: {'; '.join(ways)}. Only a measured figure counts.")
    return lines


def _lever(change: Change, value: float, mean: float, pen: Pen) -> str:
    match change:
        case Change.THINNER:
            return f"{pen.length(value)} thick gives {percent(mean)}"
        case Change.SKIN_OFF:
            return f"skin off {percent(mean)}"
        case Change.STRONGER:
            return f"a {percent(value)} brine {percent(mean)}"
    return f"{span(timedelta(hours=round(value)))} in it {percent(mean)}"


def _quarter(hours: float) -> timedelta:
    step = 0.25 if hours > 1 else 1 / 12
    return timedelta(hours=max(step, round(hours / step) * step))


def keep(pen: Pen) -> str:
    """Keeping in general."""
    return (
        f"Hot-smoked, wrapped in air, at {pen.limit(3.3)} or colder: 14 days at most, best within 7.\n"
        "Fish that forms histamine (mackerel, tuna, herring) and cold-smoked: 7. Frozen: 2 to 3 months.\n"
        "Airless and chilled only with 3.5 % salt measured in the fish's water; else freeze it."
    )


def temperatures(pen: Pen) -> str:
    """The temperatures of hot smoking in general."""
    return (
        f"Core {pen.limit(71.1)} for 30 min in the coldest piece; never under {pen.limit(62.8)} for 30 min.\n"
        f"Chamber {pen.temp(82.2)} to {pen.temp(93.3)}. Cool to {pen.limit(21.1)} in 2 h, {pen.limit(4.4)} in 6 h."
    )
