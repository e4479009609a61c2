"""What a finished batch taught, from its plan and journal: sums without what was known before it.

Each batch is read afresh against what is believed of a rig that nothing is known of, so that its lesson
stands alone: any batch can be taken out again, in any order.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from statistics import NormalDist
from typing import Any

import numpy as np

from planner.batch import Batch, Told
from planner.cooks import core_forecast
from planner.drying import LONGEST_H, tack_shown
from planner.forecast.core import CoreForecast
from planner.hold import marks
from planner.making import Making
from planner.plan import Plan
from planner.rig.belief import Lesson, Normal
from planner.rig.experience import NOTHING
from planner.rig.finished import Finished
from planner.rig.groups import PLACES, usual_normal
from planner.rig.making_of import made_in, recipe_of, weighed_loss_pct
from planner.sources import rules
from planner.stages import Stage
from planner.weather import weather

#: Fewer core readings than these tell nothing of a rig.
_FEWEST_CORES = 2
#: A touch tells the moment of the tack no closer than this, in the logarithm of the water gone.
_TOUCH_SD = 0.05
#: Losses that a scale can show of fish; others are slips.
_LOSS_PCT = (3.0, 70.0)
_BELL = NormalDist()


def close(plan: Plan, name: str, number: int) -> Finished:
    """What is kept of batch ``number``, whose packing was told."""
    batch, making = plan.batch, replace(plan.making, known=NOTHING)
    lessons = {
        "drying": _drying(batch, making),
        "smoke": _smoke(plan, making),
        "fridge": _fridge(batch),
        "loss": _loss(plan),
    }
    return Finished(
        batch=number,
        name=name,
        packed_at=batch.last_done(Stage.PACK) or plan.at,
        rig=rig_of(batch),
        taught={group: lesson for group, lesson in lessons.items() if lesson is not None and lesson.tells},
        made=made_in(plan),
        recipe=recipe_of(plan),
        tasted=tasted(batch),
    )


def rig_of(batch: Batch) -> str | None:
    """The name of the rig, where one was said."""
    name = batch.told.get("rig")
    return str(name) if name else None


def tasted(batch: Batch) -> tuple[str, ...]:
    """What was said of it when it was eaten: the last word counts."""
    said = [h for h in batch.happenings if h.slots["what"] == "tasted"]
    return tuple(said[-1].slots.get("tasted", ())) if said else ()


def _smoke(plan: Plan, making: Making) -> Lesson | None:
    """What the cores told of heat, humidity and chamber, of all lots together."""
    if making.cold_smoke:
        return None
    aim, wps = marks(making.work_to_c)[1], plan.wps.pull_mean if plan.wps else making.taste_wps
    found = [core_forecast(plan.batch, making, lot.name, aim, wps, plan.at) for lot in making.lots]
    lessons = [cook_lesson(f) for f, count in (x for x in found if x is not None) if count >= _FEWEST_CORES]
    return Lesson.together(lessons) if lessons else None


def cook_lesson(forecast: CoreForecast) -> Lesson:
    """What the weighted family of one lot says of the rig's unknowns, the fish's left open."""
    root = np.diag(forecast.prior.sd) if forecast.prior.root is None else np.array(forecast.prior.root)
    count = len(root)
    mean = np.array(forecast.prior.mean) + root @ forecast.belief.mean[:count]
    covariance = root @ forecast.belief.covariance[:count, :count] @ root.T
    after = Normal.of(mean[list(PLACES)], covariance[np.ix_(PLACES, PLACES)])
    before = root @ root.T
    prior = Normal.of(np.array(forecast.prior.mean)[list(PLACES)], before[np.ix_(PLACES, PLACES)])
    return Lesson.between(prior, after)


def _drying(batch: Batch, making: Making) -> Lesson | None:
    """When the skin was first found tacky, and last found not to be."""
    start = batch.started_at(Stage.DRY)
    if start is None or making.cold_smoke:
        return None
    touches = [t for t in batch.values("surface", since=start) if t.at <= (batch.started_at(Stage.SMOKE) or t.at)]
    there = next((t for t in touches if t.slots["surface"] in ("tacky", "dry")), None)
    if there is None:
        return None
    wet = [t for t in touches if t.at < there.at and t.slots["surface"] in ("wet", "damp")]

    def shown(at: datetime) -> tuple[float, float]:
        hours = min(max((at - start) / timedelta(hours=1), 0.05), LONGEST_H)
        found = tack_shown(making.thickest, weather(batch, making), round(making.taste_wps, 1), hours)
        return found.mean, found.sd

    latest, sd = shown(there.at)
    return tack_lesson(shown(wet[-1].at)[0] if wet else -math.inf, latest, math.hypot(sd, _TOUCH_SD))


def tack_lesson(after: float, before: float, sd: float) -> Lesson | None:
    """What is learned of a rig's tack that lies between two logarithms, each seen with deviation ``sd``.

    The exact posterior of one value, on a grid, with its first two moments.
    """
    prior = usual_normal("drying")
    x = np.linspace(prior.mean[0] - 5.0 * prior.sd[0], prior.mean[0] + 5.0 * prior.sd[0], 801)
    density = np.exp(-0.5 * ((x - prior.mean[0]) / prior.sd[0]) ** 2)
    density = density * np.array([_BELL.cdf((before - at) / sd) - _BELL.cdf((after - at) / sd) for at in x])
    if not density.sum() > 1e-12:
        return None
    weights = density / density.sum()
    mean = float(weights @ x)
    variance = float(weights @ (x - mean) ** 2)
    return Lesson.between(prior, Normal.apart((mean,), (math.sqrt(variance),)))


def _fridge(batch: Batch) -> Lesson | None:
    read = [float(r.slots["fridge_c"]) for r in batch.values("fridge_c") if not _while_packed(batch, r)]
    if not read:
        return None
    return Lesson.reading(float(np.mean(read)), rules("rig")["fridge"]["reading_sd"] / math.sqrt(len(read)))


def _while_packed(batch: Batch, reading: Told) -> bool:
    packed = batch.last_done(Stage.PACK)
    return packed is not None and reading.at > packed


def _loss(plan: Plan) -> Lesson | None:
    """All that was lost from raw to packed, where both were weighed, against what the sums say."""
    lost = weighed_loss_pct(plan)
    expected = (100.0 - plan.yield_pct) / plan.making.known.loss_factor
    if lost is None or expected <= 0.0 or not _LOSS_PCT[0] <= lost <= _LOSS_PCT[1]:
        return None
    return Lesson.reading(math.log(lost / expected), rules("rig")["loss"]["weighing_sd_pct"] / lost)


def again(finished: Finished) -> Mapping[str, Any]:
    """The slots that make the batch again, with the salt it had as the aim."""
    slots = dict(finished.recipe)
    if "wps_pct" in finished.made:
        slots["taste_wps_pct"] = round(float(finished.made["wps_pct"]), 2)
    return slots
