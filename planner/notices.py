"""What a person must know of a plan without asking: each with its rule, its source and its figures."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from planner import cold_rules
from planner.batch import Batch
from planner.exposure import Exposure
from planner.lengths import LONG_SMOKE_H, Lengths
from planner.limits import citation, rule
from planner.making import Making
from planner.parasites import parasite_need
from planner.plan import Notice
from planner.recipe import Salting
from planner.schedule import Layout
from planner.stages import Stage

_COMMON = "common practice, no source"
_OURS = "our own rule, no source"


def notices(
    batch: Batch,
    making: Making,
    salt: Salting,
    length: Lengths,
    layout: Layout,
    exposure: Exposure,
    ready: datetime,
    now: datetime,
) -> tuple[Notice, ...]:
    """All notices of a plan that is ``ready`` then, what bears on safety first."""
    return (
        *_overridden(batch),
        *_warm_clock(making, exposure, now),
        *_fish(making),
        *_cold(batch, making, layout),
        *_airless(making),
        *_cold_smoke(making),
        *_salt(making, salt),
        *_air_and_heat(batch, making, length),
        *_clock(batch, layout, ready),
    )


def _overridden(batch: Batch) -> Iterator[Notice]:
    for choice in batch.choices:
        if choice.slots.get("override"):
            said = {"stage": str(choice.slots.get("stage", "")), "at": choice.at.isoformat()}
            yield Notice("went_on_anyway", "the person's own choice", said, lasting=True)
        elif "work_to_c" in choice.slots:
            values = {"core_c": float(choice.slots["work_to_c"])}
            yield Notice("works_to", citation("floor").text(), values, lasting=True)


def _warm_clock(making: Making, exposure: Exposure, now: datetime) -> Iterator[Notice]:
    values: dict[str, float | str] = {
        "used_h": round(exposure.used_h, 1),
        "limit_h": exposure.limit_h,
        "left_h": round(exposure.left_h, 1),
    }
    source = exposure.citation.text()
    if exposure.spent:
        yield Notice("exposure_spent", source, values, lasting=True)
    elif exposure.spent_at is not None and exposure.spent_at > now:
        values["at"] = exposure.spent_at.isoformat()
        yield Notice("exposure_ahead", source, values)
    elif making.species.histamine:
        yield Notice("histamine", source, values)


def _fish(making: Making) -> Iterator[Notice]:
    if not making.known_fish:
        yield Notice("unknown_fish", _OURS, {"fish": making.species_key})
    some = making.species.key in making.species.families
    if making.species.ciguatera and some:
        yield Notice("ciguatera_some", making.species.citations[-1].text(), {"fish": making.species.english})
    elif making.species.ciguatera:
        yield Notice("ciguatera", making.species.citations[-1].text(), {}, lasting=True)


def _cold(batch: Batch, making: Making, layout: Layout) -> Iterator[Notice]:
    if batch.done_at(Stage.SOAK) or "fridge_c" in making.assumed:
        return
    hours = min(max((layout.pull - layout.start) / timedelta(hours=1), 0.0), 240.0)
    check = cold_rules.soak(hours, min(max(making.fridge_c, -40.0), 60.0))
    if not check.kept:
        values = {"limit_c": check.limit_c, "read_c": making.fridge_c, "hours": round(hours, 1)}
        yield Notice("soak_too_warm", check.citation.text(), values)


def _airless(making: Making) -> Iterator[Notice]:
    if making.pack == "airless":
        values = {"limit_pct": float(rule("airless")["wps_pct"])}
        yield Notice("airless_frozen", citation("airless").text(), values, lasting=True)


def _cold_smoke(making: Making) -> Iterator[Notice]:
    if not making.cold_smoke:
        return
    need = parasite_need("cold", may_carry=making.species.parasites)
    yield Notice("cold_smoke_raw", citation("cold_smoke.mild").text(), {}, lasting=True)
    if need.freeze_first:
        yield Notice("freeze_first", need.citation.text(), {}, lasting=True)


def _salt(making: Making, salt: Salting) -> Iterator[Notice]:
    if salt.too_weak_pct is not None:
        values = {
            "reach_pct": round(salt.too_weak_pct, 1),
            "wanted_pct": making.taste_wps,
            "hours": round(salt.best_h, 1),
        }
        yield Notice("brine_too_weak", _OURS, values)
    if salt.too_strong:
        yield Notice("brine_too_strong", _OURS, {"hours": round(salt.best_h, 1)})
    if salt.spread_pct is not None:
        low, high = salt.spread_pct
        values = {"low_pct": round(low, 1), "high_pct": round(high, 1)}
        yield Notice("salt_by_volume", salt.salt_source, values)
    if salt.in_fish and round(salt.in_fish.mean, 1) < rule("mild_product")["wps_pct"]:
        values = {"mean_pct": salt.in_fish.mean, "limit_pct": float(rule("mild_product")["wps_pct"])}
        yield Notice("mild_product", citation("mild_product").text(), values)


def _air_and_heat(batch: Batch, making: Making, length: Lengths) -> Iterator[Notice]:
    if length.cannot_dry and not batch.done_at(Stage.DRY) and not batch.started_at(Stage.SMOKE):
        values = {"air_c": making.air.air_c, "rh_pct": making.air.rh_pct}
        yield Notice(f"air_{length.cannot_dry}", _OURS, values)
    smoking = Stage.SMOKE in {stage for stage, _ in batch.started}
    if smoking or making.cold_smoke:
        return
    if length.never_hot:
        yield Notice("chamber_too_low", _OURS, {"chamber_c": making.chamber_c})
    elif max(s.mid for s in length.smoke.values()) > LONG_SMOKE_H:
        yield Notice("long_smoke", citation("aim").text(), {"hours": LONG_SMOKE_H})


def _clock(batch: Batch, layout: Layout, ready: datetime) -> Iterator[Notice]:
    by = batch.told.get("ready_by")
    late = ready - datetime.fromisoformat(by) if by else timedelta(0)
    if late > timedelta(minutes=5) and not batch.packed:
        yield Notice("not_ready_in_time", _OURS, {"late_h": round(late / timedelta(hours=1), 2), "by": str(by)})
    started = {stage for stage, _ in batch.started}
    if layout.woken > timedelta(minutes=20) and not started & {Stage.DRY, Stage.SMOKE}:
        yield Notice("warm_at_night", _OURS, {"hours": round(layout.woken / timedelta(hours=1), 1)})
