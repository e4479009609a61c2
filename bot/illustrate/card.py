"""The batch on one card."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from bot.illustrate.batches import Case
from bot.illustrate.keeping import finished_g, last_day, made_at
from bot.illustrate.photos import photos
from bot.illustrate.points import points_of
from bot.pictures.records import CardPicture, Point, StageSpan
from bot.say import papers as words
from planner.cooks import chamber_readings, core_readings
from planner.entries import Kind, standing
from planner.plan import Plan
from planner.spread import Spread
from planner.stages import ORDER, Stage

_NOTE = "note"


def card_picture(case: Case, folder: Path) -> CardPicture:
    """What it was, how it went, what came out; ``folder`` is where photos are kept."""
    plan, by = case.plan, last_day(case)
    told = plan.batch.told
    shown = list(photos(case.file.entries, folder))
    return CardPicture(
        habit=case.habit,
        name=case.name,
        species=words.species_name(plan.making),
        made_on=case.day(made_at(case)),
        stages=tuple(_spans(plan)),
        raw_g=None if "mass_g" in plan.making.assumed else plan.making.mass_g,
        done_g=finished_g(plan),
        wps_pct=_salt(plan),
        hottest_core_c=max((p.value for name in plan.cooks for p in _cores(plan, name)), default=None),
        held_min=min((c.floor_hold.best_min for c in plan.cooks.values()), default=None),
        core_c=_cores(plan, _slowest(plan)),
        chamber_c=_chamber(plan),
        wood=str(told.get("wood", "")),
        keep_by=by,
        keep_how="" if plan.lost else words.keep_how(plan, by is not None, case.pen),
        note=_note(case),
        cautions=words.card_cautions(plan, case.pen),
        photo=shown[-1].encoded if shown else None,
    )


def _spans(plan: Plan) -> Iterator[StageSpan]:
    """Stages as they were, all lots together; the packing and what comes after are no work of the card's."""
    packed = plan.batch.last_done(Stage.PACK)
    for stage in ORDER[: ORDER.index(Stage.PACK)]:
        rows = [r for r in plan.rows(stage) if r.begun or r.done]
        ends = [packed if packed and not r.done else min(r.end, plan.at) for r in rows]
        if rows and max(ends) > (start := min(r.start for r in rows)) and stage is not Stage.RINSE:
            yield StageSpan(stage, start, max(ends))


def _salt(plan: Plan) -> Spread | None:
    """As measured; else as reckoned."""
    measured = plan.batch.values("wps_pct")
    if measured:
        value = float(measured[-1].slots["wps_pct"])
        return Spread(value, value, value)
    return Spread(plan.wps.low, plan.wps.mean, plan.wps.high) if plan.wps else None


def _slowest(plan: Plan) -> str:
    """The lot whose curve is told: the one that was read most often, of these the thickest."""
    lots = sorted(plan.making.lots, key=lambda lot: lot.thickness_mm or 0.0)
    return max(lots, key=lambda lot: (len(_cores(plan, lot.name)), lot.thickness_mm or 0.0)).name


def _cores(plan: Plan, name: str) -> tuple[Point, ...]:
    start, out = plan.batch.started_at(Stage.SMOKE, name), plan.batch.done_at(Stage.SMOKE, name)
    if start is None:
        return ()
    return points_of(r for r in core_readings(plan.batch, name, start) if out is None or r.at <= out)


def _chamber(plan: Plan) -> tuple[Point, ...]:
    begun = [at for (stage, _), at in plan.batch.started.items() if stage is Stage.SMOKE]
    out = plan.batch.last_done(Stage.SMOKE)
    if not begun:
        return ()
    return points_of(r for r in chamber_readings(plan.batch, min(begun)) if out is None or r.at <= out)


def _note(case: Case) -> str:
    """What somebody wrote down for the next time: the last message that begins with "note"."""
    for entry in reversed(standing(case.file.entries)):
        first, _, rest = entry.words.strip().partition(" ")
        if entry.kind is Kind.MESSAGE and first.casefold().rstrip(":") == _NOTE and rest.strip():
            return rest.strip()
    return ""
