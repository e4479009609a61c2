"""Read what was measured or felt: which figure belongs to which label and which lot."""

from __future__ import annotations

from bot.understanding.felt import read_felt
from bot.understanding.figures import Figure, figures_of, sized
from bot.understanding.items import Sheet
from bot.understanding.labels import slot_of
from bot.understanding.lot_names import give_lots, lot_at
from bot.understanding.model import Context, Doubt
from bot.understanding.no_readings import smudged
from bot.understanding.reading import Reading
from bot.understanding.temperatures import value_of
from bot.understanding.vocabulary import strange
from bot.understanding.wordlists import words
from planner.units import celsius

_WEIGHED = words("readings", "weighed")
#: Stages in which a weighing is a reading.
_WEIGHING = frozenset({"rinse", "rest", "dry", "smoke", "cool", "chill", "pack", "keep"})
#: A core hotter than this with no label may as well be the chamber (165 °F; *ours*).
HOTTEST_LOOSE_CORE_C = 74.0
#: A gauge that reads this and more may hang in the chamber (130 °F; *ours*).
COLDEST_CHAMBER_C = 54.0
#: What rounding may put between a figure in one scale and in the other.
_SAME_K = 0.8
#: Labels that are everyday things too: an impossible figure beside one is about something else.
_EVERYDAY = words("readings", "everyday_labels")


def read_readings(sheet: Sheet, span: tuple[int, int], context: Context) -> list[Reading]:
    """Return the readings in a sentence; mark what they took."""
    figures = _each_scale_once(figures_of(sheet, span, context))
    found = [_reading(sheet, figure, span, context) for figure in figures]
    kept = [reading for reading in found if reading is not None] + smudged(sheet, span)
    give_lots(sheet, span, kept, context)
    kept += _weighed(sheet, span, context) + read_felt(sheet, span, context)
    return sorted(kept, key=lambda r: r.at)


def _each_scale_once(figures: list[Figure]) -> list[Figure]:
    """Drop the second of "62 C (143 F)": the same figure in the other scale."""
    kept: list[Figure] = []
    for figure in figures:
        before = kept[-1] if kept else None
        scales = {before.amount.unit, figure.amount.unit} if before is not None else set()
        if before is not None and scales == {"C", "F"} and before.slot == figure.slot:
            values = {f.amount.unit: f.amount.value for f in (before, figure)}
            if abs(values["C"] - celsius(values["F"], "degF")) < _SAME_K:
                continue
        kept.append(figure)
    return kept


def _reading(sheet: Sheet, figure: Figure, span: tuple[int, int], context: Context) -> Reading | None:
    assert figure.slot is not None
    slots, doubt = value_of(figure.slot, figure.amount, context)
    if doubt is not None and not doubt.options and (_about_something_else(sheet, figure) or strange(sheet, span)):
        return None
    loose = figure.label_at is None and not sized(sheet, span, context)
    if loose and slots.get("core_c", 0.0) > _loose_to(sheet, span):
        doubt = Doubt(
            "core_c", (("core", dict(slots)), ("chamber", {"chamber_c": round(slots["core_c"], 3)})), "core or chamber"
        )
        slots = {}
    sheet.take(figure.i, figure.i, "reading: figure and its label", f"{figure.slot} {figure.amount.number.value:g}")
    if figure.label_at is not None and not _place_too(sheet, figure):
        sheet.take(figure.label_at, figure.label_at, "reading: label", figure.slot)
    return Reading(slots, figure.i, figure.slot, doubt)


def _loose_to(sheet: Sheet, span: tuple[int, int]) -> float:
    """Return the core up to which a figure with no label is taken for one, in °C: less where only a gauge is named."""
    said = set(" ".join(sheet.words(*span)).split())
    return COLDEST_CHAMBER_C if said & words("readings", "gauges") else HOTTEST_LOOSE_CORE_C


def _about_something_else(sheet: Sheet, figure: Figure) -> bool:
    """True where an everyday word stood for the label, or none did, and the figure cannot be true."""
    return figure.label_at is None or bool(set(sheet.text(figure.label_at).split()) & _EVERYDAY)


def _place_too(sheet: Sheet, figure: Figure) -> bool:
    """True where the label is also where the fish went: ``in the smoker at 180``."""
    at = figure.label_at
    if at is None or at > figure.i:
        return False
    before = sheet.words(max(0, at - 3), at)
    return bool({"in", "into", "to"} & set(before)) and sheet.items[at].key("place") is not None


def is_weighing(sheet: Sheet, i: int, context: Context) -> bool:
    """True if the mass at ``i`` is a weighing of a batch under way, not a description of one."""
    named = any(item.key("form") or item.key("species") or slot_of(item) for item in sheet.items)
    if context.stage is None and not named:
        near = set(sheet.words(max(0, i - 4), i + 3))
        return bool({"now", "down"} & near) and not strange(sheet, (0, len(sheet.items)))
    if context.stage not in _WEIGHING or named or strange(sheet, (0, len(sheet.items))):
        return False
    beside = {w.removesuffix("'s") for w in " ".join(sheet.words(max(0, i - 5), i + 4)).split()}
    return bool(beside & _WEIGHED) or len(sheet.items) == 1


def _weighed(sheet: Sheet, span: tuple[int, int], context: Context) -> list[Reading]:
    found: list[Reading] = []
    for i in range(*span):
        amount = sheet.amount(i)
        if amount is not None and amount.kind == "mass" and is_weighing(sheet, i, context):
            sheet.take(i, i, "reading: weight", f"{amount.value:.6g} g")
            slots, doubt = value_of("mass_g", amount, context)
            lot = next((lot for j in range(i - 1, span[0] - 1, -1) if (lot := lot_at(sheet, j, context))), None)
            found.append(Reading(slots | ({"lot": lot} if lot else {}), i, "mass_g", doubt))
    return found
