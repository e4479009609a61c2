"""A batch like an earlier one: its recipe, with what was said to change."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from bot.replies.describe import describe
from bot.replies.learned import find
from bot.replies.part import Part, pen_of
from bot.say import rig as words
from bot.work import Work
from planner.rig.closing import again
from planner.rig.taste import changed_pct


def start_like(work: Work, slots: Mapping[str, Any], text: str, *, may_ask: bool = True) -> Part:
    """Plan a new batch from the one that was named; what the message says itself stands above it."""
    finished = find(work, str(slots["like"]))
    if finished is None:
        return Part(words.NOT_FOUND if work.finished else words.NO_LAST)
    told = {key: value for key, value in slots.items() if key not in ("like", "salt_change")}
    recipe: dict[str, Any] = dict(again(finished))
    if "salt_change" in slots and "taste_wps_pct" in recipe:
        recipe["taste_wps_pct"] = changed_pct(recipe["taste_wps_pct"], str(slots["salt_change"]))
    if "taste" in told:
        recipe.pop("taste_wps_pct", None)
    part = describe(work, {**recipe, **told}, text, may_ask=may_ask, anew=True)
    wps = recipe.get("taste_wps_pct")
    lead = words.like_words(finished, None if wps is None else float(wps), pen_of(work))
    return replace(part, text=f"{part.text.splitlines()[0]}\n{lead}\n{_rest(part.text)}".rstrip())


def _rest(text: str) -> str:
    return "\n".join(text.splitlines()[1:])
