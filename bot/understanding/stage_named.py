"""The stage that a question is about, by the words that name it or its place."""

from __future__ import annotations

from bot.understanding.items import Item, items_of
from bot.understanding.text import plain
from bot.understanding.tokens import tokens

#: Places that go by the name of their stage.
_STAGES = frozenset({"soak", "salt", "dry", "smoke", "cool", "pack"})


def stage_named(text: str) -> str | None:
    """Return the key of the first stage that ``text`` names, None where it names none."""
    return next((stage for item in items_of(tokens(plain(text).text)) if (stage := _stage(item))), None)


def _stage(item: Item) -> str | None:
    if stage := item.key("stage"):
        return stage
    if item.key("surface"):
        return "dry"
    if item.key("salt"):
        return "salt"
    place = item.key("place")
    return "chill" if place == "fridge" else place if place in _STAGES else None
