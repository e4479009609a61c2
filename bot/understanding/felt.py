"""Read how the surface or the flesh feels."""

from __future__ import annotations

from bot.understanding.items import Sheet
from bot.understanding.lot_names import lot_at
from bot.understanding.model import Context
from bot.understanding.reading import Reading
from bot.understanding.tense import negated
from bot.understanding.vocabulary import strange
from bot.understanding.wordlists import words

#: Words of lighting up, beside which "at 11" is an hour.
_BECOMING = words("readings", "becoming")
_FEEL = words("readings", "feel")
#: Of a surface that is both, the wetter counts.
_WETTEST_FIRST = ("wet", "damp", "tacky", "dry")


def read_felt(sheet: Sheet, span: tuple[int, int], context: Context) -> list[Reading]:
    """Read how the surface or the flesh feels."""
    found: list[Reading] = []
    for i in range(*span):
        if sheet.taken[i]:
            continue
        for slot, key in (
            ("surface", _pellicle(sheet, i, span, context)),
            ("surface", _surface(sheet, i, span, context)),
            ("firmness", _firmness(sheet, i, span)),
        ):
            if key is not None:
                found.append(Reading({slot: key}, i, slot))
                sheet.take(i, i, f"reading: {slot}", key)
                break
    found.sort(key=lambda r: _WETTEST_FIRST.index(r.slots["surface"]) if r.slot == "surface" else 0)
    seen: list[Reading] = []
    for reading in found:
        lot = next((lot for j in range(reading.at - 1, span[0] - 1, -1) if (lot := lot_at(sheet, j, context))), None)
        if lot:
            reading.slots["lot"] = lot
        if all(reading.slots.get("lot") != r.slots.get("lot") or reading.slot != r.slot for r in seen):
            seen.append(reading)
    return sorted(seen, key=lambda r: r.at)


def _firmness(sheet: Sheet, i: int, span: tuple[int, int]) -> str | None:
    key = sheet.items[i].key("firmness")
    if key is None or sheet.text(i) == "hard" or strange(sheet, span):
        return None
    return key


def _surface(sheet: Sheet, i: int, span: tuple[int, int], context: Context) -> str | None:
    surface = sheet.items[i].key("surface")
    before = [w for text in sheet.words(max(span[0], i - 3), i) for w in text.split()]
    if surface is None or strange(sheet, span) or negated(before) or set(before) & _BECOMING:
        return None
    near = set(" ".join(sheet.words(max(span[0], i - 5), min(span[1], i + 3))).split())
    if surface in {"tacky", "damp"} and (context.stage in {None, "dry", "rest", "rinse"} or near & _FEEL):
        return surface
    rung = context.rung is not None and context.rung.what == "surface"
    plainly = context.stage is None and "still" in near and len(near) <= 4
    return surface if (context.stage == "dry" or rung or plainly or near & _FEEL) and not _stage_use(sheet, i) else None


def _pellicle(sheet: Sheet, i: int, span: tuple[int, int], context: Context) -> str | None:
    """Read "good pellicle" as tacky: that is what a pellicle feels like."""
    if sheet.text(i).removesuffix("'s") != "pellicle" or strange(sheet, span):
        return None
    drying = context.stage in {"dry", None} or (context.rung is not None and context.rung.what == "surface")
    said = [w for text in sheet.words(*span) for w in text.split()]
    there = set(said) & words("readings", "pellicle_there")
    return "tacky" if drying and there and not negated(said) and not set(said) & (_BECOMING | {"no", "yet"}) else None


def _stage_use(sheet: Sheet, i: int) -> bool:
    """True where ``dry`` is the work, not the feel: ``to dry``, ``dry brine``, ``started to dry``."""
    return sheet.text(i) == "dry" and sheet.text(i - 1) in {"to", "will", "let", "air"}
