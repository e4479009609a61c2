"""How a batch was made, in figures that can be held against another's, and the slots that make it again."""

from __future__ import annotations

from datetime import datetime, timedelta
from statistics import median
from typing import Any

from planner.batch import Batch
from planner.plan import Plan, StagePlan
from planner.stages import Stage

#: What is said of a batch that holds for the next one as well; its weight, its days and its fridge do not.
_RECIPE = (
    "species",
    "form",
    "thickness_mm",
    "skin",
    "cure",
    "salt_kind",
    "salt_ml_per_l",
    "salt_g_per_l",
    "salt_pct",
    "salometer_deg",
    "sugar_ml_per_l",
    "sugar_g_per_l",
    "sugar_per_salt",
    "salt_per_fish_pct",
    "smoke_kind",
    "wood",
    "pack",
    "rig",
)


def recipe_of(plan: Plan) -> dict[str, Any]:
    """The slots of the recipe as they were told."""
    return {key: plan.batch.told[key] for key in _RECIPE if key in plan.batch.told}


def made_in(plan: Plan) -> dict[str, Any]:
    """What was done, as far as it was told or read: temperatures in °C, lengths in h, salt and loss in percent."""
    batch, making = plan.batch, plan.making
    found: dict[str, float | None] = {
        "thickness_mm": None if "thickness_mm" in making.assumed else making.thickest.thickness_mm,
        "salt_pct": plan.brine.salt_pct if plan.brine else None,
        "soak_h": _length(_row(plan, Stage.SOAK) or _row(plan, Stage.SALT)),
        "wps_pct": plan.wps.mean if plan.wps else None,
        "taste_wps_pct": making.taste_wps,
        "air_c": _mean(batch, "air_c"),
        "rh_pct": _mean(batch, "rh_pct"),
        "dry_h": _length(_row(plan, Stage.DRY)),
        "chamber_c": _mean(batch, "chamber_c", batch_start(batch, Stage.SMOKE)),
        "chamber_aim_c": None if making.cold_smoke else _kept_at(plan),
        "smoke_h": _length(_row(plan, Stage.SMOKE)),
        "hottest_c": max((float(r.slots["core_c"]) for r in batch.values("core_c")), default=None),
        "cool_h": _length(_row(plan, Stage.COOL)),
        "fridge_c": _mean(batch, "fridge_c", until=batch.last_done(Stage.PACK)),
        "loss_pct": weighed_loss_pct(plan),
    }
    kept: dict[str, Any] = {key: round(value, 2) for key, value in found.items() if value is not None}
    kept["species"] = making.species_key
    return kept


def batch_start(batch: Batch, stage: Stage) -> datetime | None:
    """When the first lot began a stage."""
    return min((at for (s, _), at in batch.started.items() if s is stage), default=None)


def weighed_loss_pct(plan: Plan) -> float | None:
    """Loss from raw to out of the smoke [%]; None where one of the two weights was not told."""
    batch, making = plan.batch, plan.making
    out = [at for (stage, _), at in batch.started.items() if stage is Stage.COOL]
    if not out or "mass_g" in making.assumed or len(making.lots) > 1:
        return None
    after = batch.values("mass_g", since=max(out))
    return 100.0 * (1.0 - float(after[-1].slots["mass_g"]) / making.mass_g) if after else None


def _row(plan: Plan, stage: Stage) -> StagePlan | None:
    """The longest row of a stage that is over, with a start that was told."""
    rows = [row for row in plan.rows(stage) if row.done and batch_start(plan.batch, stage) is not None]
    return max(rows, key=lambda r: r.end - r.start, default=None)


def _length(row: StagePlan | None) -> float | None:
    return None if row is None else (row.end - row.start) / timedelta(hours=1)


def _kept_at(plan: Plan) -> float:
    """What the chamber was kept at: the middle of its readings, else what was planned with."""
    since = batch_start(plan.batch, Stage.SMOKE)
    read = [float(r.slots["chamber_c"]) for r in plan.batch.values("chamber_c", since=since)]
    return median(read) if read else plan.making.chamber_c


def _mean(
    batch: Batch, key: str, since: datetime | None = None, until: datetime | None = None
) -> float | None:
    read = [float(r.slots[key]) for r in batch.values(key, since=since) if until is None or r.at <= until]
    if read:
        return sum(read) / len(read)
    told = batch.told.get(key)
    return float(told) if isinstance(told, int | float) else None
