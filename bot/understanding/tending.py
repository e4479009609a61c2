"""Read what was done to a batch in the smoke or the brine: racks turned, fuel, water, pieces pulled."""

from __future__ import annotations

from typing import Any

from bot.understanding.items import Sheet
from bot.understanding.labels import slot_of
from bot.understanding.lot_names import lot_at
from bot.understanding.model import Context
from bot.understanding.timing import find_when, when_of
from bot.understanding.vocabulary import strange_deed
from bot.understanding.wordlists import words

_TURN = words("events", "turn")
_ADD = words("events", "add")
_PULL = words("events", "pull")
_TURNED = words("events", "turned_things")
Told = tuple[dict[str, Any], int]
#: What a fire that was lit is recorded as.
LIT: dict[str, Any] = {"what": "fuel"}
_FIRE = words("events", "fire")
_BURNS = words("events", "burns")
_LONGEST_LIT = 7
#: Beside these words water is for the fish, not for the smoker.
_OTHER_WATER = frozenset({"brine", "salt", "sugar", "soaked", "soak", "rinsed", "rinse"})
_MORE_THAN_LIT = frozenset({"wood", "chips", "more", "core", "start"})
_WEATHER = frozenset({"it's", "its", "it", "only", "still"})
_BONES = frozenset({"bone", "bones", "pinbone", "pinbones", "guts", "gills"})
#: Words of getting fuel, which is not to add it.
_FETCHING = words("events", "fetching")
_BESIDE_LIT = words("events", "beside_lit")


def turned(sheet: Sheet, span: tuple[int, int], said: set[str]) -> Told | None:
    """Read ``rotated the racks``, ``turned them``, ``moved the racks around``; not ``turned it down to 175``."""
    if (
        strange_deed(sheet, span)
        or said & {"down", "off", "up", "low", "heat"}
        or any(slot_of(sheet.items[i]) for i in range(*span))
    ):
        return None
    plainly = said & {"rotated", "rotate", "rotating"}
    things = said & (_TURNED - {"around", "end"})
    all_turned = plainly or (said & (_TURN - {"moved", "move"}) and (things or len(said) <= 2))
    shifted = (
        said & {"moved", "move"}
        and said & {"rack", "racks", "trays", "tray"}
        and not said & {"onto", "on", "in", "fridge", "it"}
    )
    if not (all_turned or shifted):
        return None
    return {"what": "rotated"}, next(i for i in range(*span) if set(sheet.text(i).split()) & _TURN)


def tended(sheet: Sheet, span: tuple[int, int], said: set[str], context: Context) -> Told | None:
    """Read turned racks, fuel, water, pieces pulled."""
    if strange_deed(sheet, span):
        return None
    at = next((i for i in range(*span) if set(sheet.text(i).split()) & (_ADD | _PULL | {"stoked", "fed"})), span[0])
    fuel = any(sheet.items[i].key("fuel") or sheet.items[i].key("wood") for i in range(*span))
    watery = any(sheet.items[i].key("water") for i in range(*span)) or ("pan" in said and not fuel)
    rung = context.rung.what if context.rung else ""
    if (
        rung in {"fuel", "water"}
        and said & {"added", "more", "topped", "refilled", "filled"}
        and not fuel
        and not watery
    ):
        return {"what": rung}, at
    if watery and said & words("events", "fill") and not said & _OTHER_WATER:
        return {"what": "water"}, at
    if context.stage == "smoke" and (fuel or watery) and _no_more_said(sheet, span):
        return {"what": "fuel" if fuel else "water"}, at
    if (
        (fuel and said & _ADD and not said & _FETCHING)
        or (fuel and "on" in said and "fan" not in said and context.stage == "smoke")
        or said & {"stoked", "refuelled", "refueled"}
        or (said & {"fed", "fire"} == {"fed", "fire"})
    ):
        return {"what": "fuel"}, at
    return _pulled(sheet, span, said, context)


def lit(sheet: Sheet, span: tuple[int, int], said: list[str]) -> Told | None:
    """Read ``lit the smoker``, ``smoke's on``, ``fire's going``: a fire burns, which says nothing of the fish."""
    told = {w.removesuffix("'s") for w in said}
    if span[1] - span[0] > _LONGEST_LIT or strange_deed(sheet, span) or told & _MORE_THAN_LIT:
        return None
    fire = any(set(sheet.text(i).removesuffix("'s").split()) & _FIRE for i in range(*span) if not sheet.taken[i])
    alone = told & {"lit", "lighting"} and all(w in _BESIDE_LIT or w[0].isdigit() for w in told)
    if alone or (fire and told & _BURNS):
        return LIT, span[0]
    return None


def also_tended(sheet: Sheet, span: tuple[int, int], before: str) -> Told | None:
    """Read ``water`` in "topped up chips and water at 12": the verb before holds for it too."""
    if before not in {"fuel", "water"} or strange_deed(sheet, span):
        return None
    for i in range(*span):
        item = sheet.items[i]
        what = "water" if item.key("water") or item.text == "pan" else "fuel" if item.key("fuel") else None
        if what is not None and what != before:
            return {"what": what}, i
    return None


def _pulled(sheet: Sheet, span: tuple[int, int], said: set[str], context: Context) -> Told | None:
    """Read ``pulled the small ones`` in the smoke, ``pulled it`` and ``it's out`` in the brine."""
    if any(slot_of(sheet.items[i]) or sheet.items[i].key("place") for i in range(*span)):
        return None
    if any(sheet.text(i) == "out" and sheet.text(i - 2) in _WEATHER and _bare(sheet, i - 1) for i in range(*span)):
        return None  # "it's 62 out and sunny"
    if said & _BONES:
        return None  # "pin bones out" is a trim
    if context.stage == "dry" and {"off", "fan"} <= said:
        return {"stage": "dry", "done": True}, span[0]
    at = next((i for i in range(*span) if set(sheet.text(i).split()) & (_PULL | {"out", "off"})), span[0])
    lots = lots_named(sheet, span, context)
    timed = find_when(sheet, span) is not None
    begins = timed and sheet.text(span[0]) == "out"
    all_out = said & {"out"} and (
        said & words("events", "all_of_it")
        or begins
        or sheet.words(*span) in (["out"], ["is", "out"], ["now", "out"])
        or lots
    )
    now = "pulling" in said and any((w := sheet.items[i].when) and w.now for i in range(*span))
    if not (
        now
        or said & {"pulled", "yanked"}
        or all_out
        or (said & {"out", "off"} and said & _PULL)
        or (said & {"removed"} and lots)
    ):
        return None
    if context.stage in {"soak", "salt"}:
        partly = not lots and _some_only(sheet, span)
        return ({"what": "pulled"} if partly else {"stage": context.stage, "done": True}), at
    rest = (
        said & words("events", "the_rest")
        and said & {"out", "off"}
        and not lots_named(sheet, (0, len(sheet.items)), context)
    )
    only = timed and len(span_words := sheet.words(*span)) <= 2 and bool(span_words)
    nothing_else = all(item.kind == "end" for item in (*sheet.items[: span[0]], *sheet.items[span[1] :]))
    only = only or (bool(all_out) and nothing_else and said <= {"out", "now", "is"})
    if context.stage == "smoke" and not lots and (said & words("events", "everything") or rest or only):
        return {"stage": "smoke", "done": True}, at
    if (
        context.stage is None
        and not lots
        and any(sheet.items[i].key("stage") == "rinse" or "rinsed" in sheet.text(i) for i in range(len(sheet.items)))
    ):
        return {"stage": "soak", "done": True}, at  # what is rinsed came out of the brine
    pulled = said & (_PULL | {"yanked"}) or lots
    still_in = context.stage in {"smoke", "dry", None} or (context.stage == "cool" and lots)  # others may be out
    return ({"what": "pulled"}, at) if still_in and pulled else None


def _bare(sheet: Sheet, i: int) -> bool:
    """True for a figure that may be the weather's."""
    amount = sheet.items[i].quantity if i >= 0 else None
    return amount is not None and amount.kind in {"bare", "temperature"}


def _no_more_said(sheet: Sheet, span: tuple[int, int]) -> bool:
    """True for "wood at 3": fuel or water and the time of it, and no other word."""
    rest = [i for i in range(*span) if not (sheet.items[i].key("fuel") or sheet.items[i].key("water"))]
    timed = [i for i in rest if (w := when_of(sheet.items[i])) is not None and not (w.day or w.part)]
    return bool(timed) and all(i in timed or sheet.text(i) in {"at", "@", "around", "about", "in"} for i in rest)


def _some_only(sheet: Sheet, span: tuple[int, int]) -> bool:
    """True where a number of pieces, half, or some came out, not all."""
    counted = any(
        (q := sheet.items[i].quantity) and q.kind == "bare" and sheet.items[i].prep == "" for i in range(*span)
    )
    return counted or bool(set(sheet.words(*span)) & {"half", "some", "few", "most"})


def lots_named(sheet: Sheet, span: tuple[int, int], context: Context) -> bool:
    """True where only some of the pieces came out."""
    return any(lot_at(sheet, i, context) for i in range(*span))
