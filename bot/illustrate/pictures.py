"""Each picture by its name, and whether a batch has anything to show on it.

The drawing library loads with the first picture.
"""

from __future__ import annotations

from pathlib import Path

from bot.illustrate.batches import Case
from planner.plan import Plan
from planner.stages import Stage


def worth_showing(what: str, plan: Plan) -> bool:
    """True where the batch is far enough for this picture."""
    match what:
        case "soak":
            return plan.wps is not None and plan.brine is not None
        case "cook":
            return bool(plan.cooks)
        case "cool":
            return bool(plan.coolings)
        case "dry":
            return any(stage is Stage.DRY for stage, _ in plan.batch.started)
        case "card":
            return bool(plan.coolings) or plan.batch.packed
    return True


def draw(what: str, case: Case, folder: Path) -> bytes:
    """The picture as a PNG; ``folder`` is where photos are kept."""
    match what:
        case "plan":
            from bot.illustrate.plan import plan_picture
            from bot.pictures.plan import plan_png

            return plan_png(plan_picture(case))
        case "soak":
            from bot.illustrate.soak import soak_picture
            from bot.pictures.soak import soak_png

            return soak_png(soak_picture(case))
        case "dry":
            from bot.illustrate.dry import dry_picture
            from bot.pictures.dry import dry_png

            return dry_png(dry_picture(case))
        case "cook":
            from bot.illustrate.cook import cook_picture
            from bot.pictures.cook import cook_png

            return cook_png(cook_picture(case))
        case "cool":
            from bot.illustrate.cool import cool_picture
            from bot.pictures.cool import cool_png

            return cool_png(cool_picture(case))
        case "card":
            from bot.illustrate.card import card_picture
            from bot.pictures.card import card_png

            return card_png(card_picture(case, folder))
    raise ValueError(f"no picture is called {what!r}")
