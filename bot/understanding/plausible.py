"""Which figures can be true: the scale of a bare temperature, and what must be questioned."""

from __future__ import annotations

from bot.understanding.model import Context
from planner import units

#: Where a figure with no scale is likely to lie, in °C, by what was measured. *Ours*; wide on purpose.
LIKELY_C = {
    "core_c": (-2.0, 93.0), "chamber_c": (8.0, 121.0), "air_c": (-5.0, 44.0), "fridge_c": (-6.0, 16.0),
    "aim_c": (55.0, 85.0),
}  # fmt: skip
#: What can be at all, in °C; beyond it a figure is questioned even with its scale.
POSSIBLE_C = {
    "core_c": (-40.0, 100.0), "chamber_c": (-30.0, 200.0), "air_c": (-50.0, 60.0), "fridge_c": (-40.0, 45.0),
    "aim_c": (40.0, 95.0),
}  # fmt: skip
#: What can be at all, for other slots.
POSSIBLE = {
    "mass_g": (5.0, 500_000.0), "thickness_mm": (1.0, 250.0), "pieces": (1, 5000), "warm_h": (0.0, 72.0),
    "salt_pct": (0.1, 26.4), "salometer_deg": (1.0, 100.0), "salt_per_fish_pct": (0.1, 30.0), "soak_h": (0.05, 240.0),
    "salt_g": (1.0, 500_000.0), "sugar_g": (0.0, 500_000.0), "salt_g_per_l": (1.0, 360.0),
    "salt_ml_per_l": (1.0, 700.0), "sugar_ml_per_l": (0.0, 2000.0), "sugar_per_salt": (0.05, 20.0),
    "wps_pct": (0.1, 26.4),
    "water_ml": (50.0, 2_000_000.0), "brine_ml": (50.0, 2_000_000.0), "rh_pct": (1.0, 100.0), "wind_m_s": (0.0, 60.0),
}  # fmt: skip


#: A core below this figure in a chat that uses °F is more likely a slip than °C.
_ODD_IN_CELSIUS = 28.0


def possible(slot: str, value: float) -> bool:
    """True if ``value`` can be true for ``slot`` at all."""
    low, high = {**POSSIBLE, **POSSIBLE_C}.get(slot, (float("-inf"), float("inf")))
    return low <= value <= high


def readings_c(slot: str, figure: float) -> dict[str, float]:
    """Return the scales in which ``figure`` makes sense for ``slot``, with its value in °C."""
    low, high = LIKELY_C[slot]
    both = {"C": figure, "F": units.celsius(figure, "degF")}
    return {scale: value for scale, value in both.items() if low <= value <= high}


def habit(context: Context) -> str | None:
    """Return the one scale that this chat uses, or None where it has used both or none is known."""
    if len(context.temperature_scales) == 1:
        return next(iter(context.temperature_scales))
    if context.temperature_scales:
        return None
    return {"us": "F", "metric": "C"}.get(context.units or "")


def settle(slot: str, figure: float, context: Context) -> dict[str, float]:
    """Return the sensible readings of a figure with no scale: one if it is settled, several if not, none if absurd."""
    found = readings_c(slot, figure)
    usual = habit(context)
    if usual == "F" and slot == "core_c" and set(found) == {"C"} and figure < _ODD_IN_CELSIUS:
        return {}  # "core 14" in a chat of Fahrenheit: a slip for 140 as likely as 14 °C
    if usual is not None and found and usual not in found:  # the other scale, or a slip: "fridge 35" for 3,5
        return {"C": figure, "F": units.celsius(figure, "degF")}
    if len(found) < 2 or usual is None:
        return found
    if _against_last(slot, found, usual, context):
        return found
    return {usual: found[usual]}


def _against_last(slot: str, found: dict[str, float], usual: str, context: Context) -> bool:
    """True where the usual scale would mean a jump that the other scale does not need."""
    before = context.last.slots.get(slot) if context.last is not None and context.last.intent == "reading" else None
    if before is None or slot != "core_c":
        return False
    other = "C" if usual == "F" else "F"
    return bool(abs(found[usual] - before) > 15 and abs(found[other] - before) < 15)
