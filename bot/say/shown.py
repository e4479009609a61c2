"""Words on and beside pictures: titles, limits, what cannot be shown yet."""

from __future__ import annotations

from datetime import timedelta

from bot.say.format import Pen, percent, span
from bot.say.words import DOING, lot
from planner.batch import WHOLE
from planner.exposure import Exposure
from planner.plan import Plan
from planner.stages import Stage

FACES_SKIN = ("skin", "flesh")
FACES_BARE = ("one side", "other side")

_TITLE = "{name}: {what}"


def lot_name(name: str) -> str:
    """A lot as a row's name."""
    return "Core" if name == WHOLE else lot(name).removeprefix("the ").capitalize()


def plan_title(name: str) -> str:
    """Over the timeline."""
    return _TITLE.format(name=name, what="the plan")


def soak_title(name: str) -> str:
    """Over the salt."""
    return _TITLE.format(name=name, what="the salt")


def dry_title(name: str) -> str:
    """Over the drying."""
    return _TITLE.format(name=name, what="the drying")


def cook_title(name: str) -> str:
    """Over the smoke."""
    return _TITLE.format(name=name, what="the smoke")


def cool_title(name: str) -> str:
    """Over the cooling."""
    return _TITLE.format(name=name, what="the cooling")


_CAPTION = {
    "soak": "Salt across the thickest piece and over the soak, as reckoned",
    "dry": "The drying",
    "cook": "The smoke",
    "cool": "The cooling",
}


def caption(what: str) -> str:
    """Below a picture in the record."""
    return _CAPTION[what]


def warm_clock(clock: Exposure) -> str:
    """Which clock of time in the warm it is."""
    return "Out of the cold, catch to cold" if clock.rule.startswith("histamine") else "Raw and out of the cold"


def warm_clock_spent(limit_h: float) -> str:
    """When the warm clock is spent."""
    return f"{span(timedelta(hours=limit_h))} out of the cold are spent"


def due_cold(target_c: float, name: str | None, pen: Pen) -> str:
    """A step of the cooling limit."""
    return _of(name) + f"{pen.limit(target_c)} or colder is due"


def read_again(name: str | None) -> str:
    """By when a hold must be read again to go on counting."""
    return _of(name) + "read the core by then, or the hold counts anew"


def _of(name: str | None) -> str:
    return f"{lot(name)}, " if name else ""


def wanted_salt(taste_wps: float) -> str:
    """The salt that the soak is to give."""
    return f"wanted for {percent(taste_wps, 0)}"


# --- beside a picture -------------------------------------------------------------------------------

_BESIDE = {
    "plan": "{name}, the plan as it stands.",
    "soak": "{name}, salt in the water of the thickest piece.",
    "dry": "{name}, the drying.",
    "cook": "{name}, the smoke. The band is what I expect.",
    "cool": "{name}, the cooling. The core must stay under the steps.",
    "card": "{name} on one card.",
    "label": "One label of {name}, as a picture. For a sheet to print say how many: \"12 labels\".",
    "one": "One label of {name}, to print at full size.",
    "labels": "{count} labels of {name}, to print at full size.",
    "record": "The record of {name}.",
    "table": "Every entry of {name} as a table.",
    "journal": "Every entry of {name} as JSON.",
    "calendar": "The plan of {name} as a calendar file. A later one moves the same events.",
}


def beside(what: str, name: str, count: int = 0) -> str:
    """The line that a picture or paper comes with."""
    words = _BESIDE["one" if count == 1 else what].format(name=name, count=count)
    return words[:1].upper() + words[1:]


def not_yet(what: str, plan: Plan, pen: Pen) -> str:
    """Why there is nothing to show of it yet, and when there will be."""
    doing = DOING[plan.now.stage] if plan.now.begun else "not begun"
    row = plan.stage(_STAGE[what]) if what in _STAGE else None
    when = f" {_BEGINS[what]} about {pen.clock(row.start)}." if row and row.start > pen.now else ""
    return f"{_NOTHING[what]}: it is {doing}.{when}"


_STAGE = {"cook": Stage.SMOKE, "cool": Stage.SMOKE, "label": Stage.PACK, "labels": Stage.PACK, "card": Stage.PACK}
_BEGINS = {
    "cook": "The smoke begins",
    "cool": "The smoke begins",
    "label": "Packing is",
    "labels": "Packing is",
    "card": "Packing is",
}
_NOTHING = {
    "soak": "No salt to show without a brine",
    "dry": "Nothing of the drying to show yet",
    "cook": "Nothing of the smoke to show yet",
    "cool": "Nothing of the cooling to show yet",
    "card": "The card comes when the fish is out of the smoke",
    "label": "No label before the fish is out of the smoke",
    "labels": "No label before the fish is out of the smoke",
}

NO_BATCH = "No batch to show yet. Tell me what you are making, like \"4 lb coho fillets, 1 inch\"."
NOT_DRAWN = "The picture could not be made. Nothing else is lost."
NOT_WRITTEN = "The paper could not be made. Nothing else is lost."
NONE_AT_ALL = "A sheet wants at least one label: say \"12 labels\"."


EVERYTHING = (
    "Everything that I keep of this chat, as one file: every journal as JSON and as a table, and your photos.\n"
    '"Delete everything" removes it here.'
)


def photos_left_out(count: int) -> str:
    """That not all photos fit into one file."""
    return f"{count} photo{'s' if count > 1 else ''} did not fit: the records have them, batch by batch."


def too_many(most: int) -> str:
    """More labels than are made at once."""
    return f"That is more labels than I make at once: {most} at most."


def which_batch(word: str, names: list[str]) -> str:
    """Words that name no batch, no lot and no cut of one."""
    return f"Which batch is \"{word}\"? Running: {', '.join(names)}."


def lost_no_label(name: str) -> str:
    """A batch that must not be eaten gets no label."""
    return (
        f"No label for {name}: a safety limit was broken and nothing mends it. Do not eat or pack it.\n"
        "The record says what happened."
    )
