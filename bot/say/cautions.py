"""The cautions that stand on the first plan, every label and every record."""

from __future__ import annotations

from bot.say.format import Pen

LOCAL_RULES = "Local food codes and licensed practice come first. Selling needs an approved process and a licence."


def at_risk(pen: Pen) -> str:
    """One line for people who must be careful (decision 22; from memory, US public-health advice)."""
    return f"Pregnant, over 65 or weak immunity: heat to {pen.limit(73.9)} before eating, or leave it."


def raw_fish() -> str:
    """Cold-smoked fish is raw fish (decision 17)."""
    return "Cold-smoked fish is raw: not for people who must be careful."
