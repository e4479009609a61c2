"""Questions, one at a time, and refusals that show what would be understood."""

from __future__ import annotations

from bot.say.format import Pen
from bot.say.words import lot

_ASK = {
    "species": "Which fish is it?",
    "thickness_mm": "How thick is the thickest piece?",
    "mass_g": "How much fish is it?",
    "salt_kind": "Which salt, by the cup: table, coarse or flaky kosher?",
    "skin": "Skin on or off?",
    "lot": "Which ones did you read?",
    "core_c": "Which scale was that core?",
    "chamber_c": "Which scale was that chamber?",
    "fridge_c": "Which scale was that fridge?",
    "air_c": "Which scale was that air?",
    "at": "When was that?",
    "ready_by": "Ready by when?",
    "smoke_at": "Into the smoke when?",
    "soak_end": "Till when?",
    "soak_start": "Since when?",
    "batch": "Which batch?",
    "stage": "Is the fish in the smoke?",
    "zone": "Which town's clock do you live by?",
}

_WHY = {
    "am or pm": "Morning or evening?",
    "each or in all": "Each of them, or in all?",
    "scale": "Which scale?",
    "core or chamber": "Core or chamber?",
    "how much water": "In how much water?",
    "implausible": "That can't be right: say it again?",
}


def ask_words(slot: str, reason: str = "") -> str:
    """One short question for a slot."""
    if reason in ("am or pm", "each or in all", "core or chamber", "how much water"):
        return _WHY[reason]
    return _ASK.get(slot) or _WHY.get(reason) or "Say that once more?"


def implausible_words(slot: str, words: str) -> str:
    """A value that cannot be is named and not stored."""
    shown = words.strip().splitlines()[0][:60] if words.strip() else "that"
    return f'I did not take "{shown}": {_CANNOT.get(slot, "it cannot be right")}. {_SHOW.get(slot, "")}'.strip()


_CANNOT = {
    "core_c": "no core is that",
    "aim_c": "no gate opens under the floor, 62.8 °C / 145 °F for 30 min",
    "chamber_c": "no chamber is that",
    "fridge_c": "no fridge is that",
    "air_c": "no air is that",
    "mass_g": "no batch weighs that",
    "thickness_mm": "no piece is that thick",
    "salt_pct": "no brine holds that much salt",
    "salometer_deg": "the scale ends at 100",
    "salt_g_per_l": "water does not hold that much salt",
    "salt_ml_per_l": "water does not hold that much salt",
    "salt_g": "water does not hold that much salt",
    "rh_pct": "humidity ends at 100 %",
    "at": "that time does not fit this batch",
    "soak_start": "that time does not fit",
    "ready_by": "that time has gone",
}

_SHOW = {
    "core_c": 'Say it like "core 63 C".',
    "chamber_c": 'Say it like "chamber 190 F".',
    "fridge_c": 'Say it like "fridge 3 C".',
    "mass_g": 'Say it like "4 lb coho".',
    "thickness_mm": 'Say it like "1 inch thick".',
    "salt_pct": 'Say it like "10 % brine".',
    "at": 'Say it like "20 min ago" or "at 6:10 am".',
}

NOT_UNDERSTOOD = 'I did not get that. Try "4 lb coho fillets, 1 inch, brining tonight", "core 131 F" or "what\'s next".'


def which_lot(names: list[str]) -> str:
    """Which of the lots a reading was of."""
    return f"Which ones: {' or '.join(lot(n) for n in names)}?"


def thickness_options(pen: Pen) -> list[tuple[str, float]]:
    """Likely answers to "how thick"."""
    if pen.us:
        return [("½ in", 12.7), ("¾ in", 19.05), ("1 in", 25.4), ("1½ in", 38.1)]
    return [("12 mm", 12.0), ("20 mm", 20.0), ("25 mm", 25.0), ("40 mm", 40.0)]
