# ruff: noqa: E501
"""Read what the batch is: fish, form, sizes, state, aims."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from bot.understanding.items import Sheet
from bot.understanding.model import Context, Doubt
from bot.understanding.plausible import possible
from bot.understanding.readings import temperature
from bot.understanding.timing import time_slot, when_of

_CATEGORIES = ("species", "form", "skin", "state", "smoke_kind")
_READY = frozenset(
    [
        "ready",
        "want",
        "wanted",
        "need",
        "needed",
        "needs",
        "eat",
        "eating",
        "serve",
        "serving",
        "finished",
        "done",
        "for",
        "wants",
    ]
)
_PIECES = frozenset(
    [
        "pieces",
        "piece",
        "pcs",
        "pc",
        "fish",
        "fishes",
        "pieced",
        "portions",
        "slices",
        "bits",
        "of",
        "ones",
        "each",
        "big",
        "small",
        "thick",
        "thin",
        "large",
    ]
)
#: Species words that mean something else unless a fish is plainly spoken of.
_WEAK_SPECIES = frozenset(
    [
        "king",
        "kings",
        "silver",
        "silvers",
        "pink",
        "pinks",
        "red",
        "reds",
        "blues",
        "browns",
        "socks",
        "butt",
        "bass",
        "sole",
        "char",
        "al",
        "sei",
        "aku",
        "gos",
        "stor",
        "ling",
        "bows",
        "atlantic",
        "macs",
        "eel",
        "rainbow",
        "rainbows",
        "spaniards",
        "thon",
        "sik",
        "sill",
        "ono",
        "aj",
        "tailor",
        "blueback",
        "sable",
        "uer",
        "wels",
        "tombo",
    ]
)


@dataclass
class Description:
    """Slots about the batch, where they begin, what could not be settled."""

    slots: dict[str, Any] = field(default_factory=dict)
    first: int | None = None
    doubts: list[Doubt] = field(default_factory=list)

    def put(self, at: int, **slots: Any) -> None:
        """Add slots that stand at item ``at``; what was said first stays."""
        for key, value in slots.items():
            self.slots.setdefault(key, value)
        self.first = at if self.first is None else min(self.first, at)


def read_description(sheet: Sheet, context: Context) -> Description:
    """Return what the message says of the batch; mark what it took."""
    found = Description()
    _named(sheet, found)
    lots = _lots(sheet)
    if lots:
        found.put(lots[1], lots=lots[0])
    _sizes(sheet, found, bool(lots))
    _aims(sheet, found, context)
    _works_to(sheet, found, context)
    _switches(sheet, found, context)
    return found


def _named(sheet: Sheet, found: Description) -> None:
    fishy = any(i.key("form") or (i.quantity and i.quantity.kind in {"mass", "length"}) for i in sheet.items)
    for i, item in enumerate(sheet.items):
        if sheet.taken[i]:
            continue
        for category in _CATEGORIES:
            key = item.key(category)
            if key is None or category in found.slots:
                continue
            counted = sheet.amount(i - 1) is not None
            if category == "species" and item.text in _WEAK_SPECIES and not (fishy or counted):
                continue
            if category == "state" and key == "fresh" and not (fishy or _has_fish(sheet)):
                continue
            found.put(i, **{category: key})
            sheet.take(i, i, f"word for {category}", key)
            break


def _has_fish(sheet: Sheet) -> bool:
    return any(item.key("species") for item in sheet.items)


def _lots(sheet: Sheet) -> tuple[list[dict[str, Any]], int] | None:
    """Read sizes that differ: ``4 fillets 1 inch and 6 at half an inch``, ``6 thick ones and 4 thin``."""
    lots: list[dict[str, Any]] = []
    first, last = -1, -1
    for i, item in enumerate(sheet.items):
        amount = sheet.amount(i)
        if amount is None or item.kind != "amount":
            continue
        if amount.kind == "bare" and _counts(sheet, i):
            lots.append({"pieces": int(amount.value)})
            first, last = (i if first < 0 else first), i
        elif amount.kind in {"length", "mass"} and lots and i - last <= 9:
            key = "thickness_mm" if amount.kind == "length" else "mass_g"
            lots[-1].setdefault(key, amount.value)
            last = i
    sized = [lot for lot in lots if len(lot) > 1]
    if len(lots) < 2 or not (len(sized) >= 2 or _said_sizes(sheet)):
        return None
    sheet.take(first, last, "lots of different size", f"{len(lots)} lots")
    return lots, first


def _said_sizes(sheet: Sheet) -> bool:
    return len({key for item in sheet.items if (key := item.key("lot"))}) >= 2


def _counts(sheet: Sheet, i: int) -> bool:
    """True if the bare number at ``i`` counts pieces of fish."""
    amount = sheet.amount(i)
    if (
        amount is None
        or amount.value != int(amount.value)
        or amount.number.fraction
        or not 0 < amount.value <= 5000
    ):
        return False
    for j in range(i + 1, min(i + 5, len(sheet.items))):
        item = sheet.items[j]
        if (
            item.key("form")
            or item.key("species")
            or item.text in {"pieces", "piece", "pcs", "fish", "portions", "ones", "slices"}
        ):
            return True
        if not (
            item.key("lot")
            or item.key("state")
            or item.key("skin")
            or item.text in _PIECES
            or item.text in {"nice", "good", "x", "-"}
        ):
            return False
    return sheet.text(i + 1) != "" and sheet.items[i + 1].key("lot") is not None


def _sizes(sheet: Sheet, found: Description, lots: bool) -> None:
    for i, _item in enumerate(sheet.items):
        amount = sheet.amount(i)
        if amount is None:
            continue
        if amount.kind == "mass":
            _mass(sheet, i, found)
        elif amount.kind == "length" and not _is_long(sheet, i):
            _put_checked(sheet, i, found, "thickness_mm", amount.value)
        elif amount.kind == "bare" and _counts(sheet, i):
            _put_checked(sheet, i, found, "pieces", int(amount.value))


def _is_long(sheet: Sheet, i: int) -> bool:
    return sheet.text(i + 1) in {"long", "wide", "rain", "deep", "snow"}


def _mass(sheet: Sheet, i: int, found: Description) -> None:
    """Read a mass; of ``2 sides, 1 lb 6 oz each`` the sum."""
    amount = sheet.amount(i)
    assert amount is not None
    value = amount.value
    each = (
        "each" in sheet.words(i + 1, i + 3)
        or sheet.text(i + 1) in {"apiece", "ea"}
        or sheet.text(i - 1) == "each"
    )
    if each:
        count = found.slots.get("pieces") or next(
            (
                int(a.value)
                for j in range(len(sheet.items))
                if (a := sheet.amount(j)) and a.kind == "bare" and _counts(sheet, j)
            ),
            None,
        )
        value *= count or 1
    _put_checked(sheet, i, found, "mass_g", value)


def _put_checked(sheet: Sheet, i: int, found: Description, slot: str, value: float) -> None:
    sheet.take(i, i, f"amount for {slot}", f"{value:.6g}")
    if possible(slot, value):
        found.put(i, **{slot: value})
    else:
        found.put(i)
        found.doubts.append(Doubt(slot, (), "implausible"))


def _aims(sheet: Sheet, found: Description, context: Context) -> None:
    for i, item in enumerate(sheet.items):
        if sheet.taken[i] or (item.when is None and when_of(item) is None):
            continue
        slot = _aim_slot(sheet, i)
        if slot is None:
            continue
        direction = "past" if slot == "caught_at" else "future"
        slots, doubt = time_slot(sheet, i, slot, direction, context)
        found.put(i, **slots)
        if doubt:
            found.doubts.append(doubt)
    _wishes(sheet, found)


def _aim_slot(sheet: Sheet, i: int) -> str | None:
    """Return the slot of a time by the words before it: ``ready by``, ``caught``, ``start at``."""
    before = " ".join(sheet.words(max(0, i - 6), i)).split()
    after = " ".join(sheet.words(i + 1, i + 4)).split()
    if {"caught", "landed", "catch", "bled"} & set(before[-5:]):
        return "caught_at"
    when = sheet.items[i].when
    prep = when.prep if when else sheet.items[i].prep
    wanting = _READY - {"for", "done", "finished"}
    if (
        set(before[-6:]) & wanting
        or {"ready", "eat", "serve"} & set(after)
        or (prep == "by" and set(before[-3:]) & {"done", "finished"})
    ):
        return "ready_by"
    if prep in {"for", "by"} and found_future(sheet, i):
        return "ready_by"
    return None


def found_future(sheet: Sheet, i: int) -> bool:
    """True where "for saturday" stands without a verb of the work before it."""
    before = set(" ".join(sheet.words(max(0, i - 6), i)).split())
    return not before & {
        "brining",
        "brine",
        "soak",
        "smoke",
        "smoking",
        "start",
        "starting",
        "rinse",
        "pull",
        "quiet",
        "since",
    }


def _works_to(sheet: Sheet, found: Description, context: Context) -> None:
    """Read the mark that a person chooses to work to: ``I work to 145``."""
    for i in range(len(sheet.items)):
        amount = sheet.amount(i)
        before = " ".join(sheet.words(max(0, i - 5), i))
        if amount is None or amount.kind not in {"bare", "temperature"}:
            continue
        if not any(
            cue in f" {before} "
            for cue in (
                " work to ",
                " cook to ",
                " go to ",
                " take it to ",
                " aim for ",
                " aiming for ",
                " smoke to ",
                " target ",
                " take them to ",
            )
        ):
            continue
        slots, doubt = temperature("aim_c", amount, context)
        found.put(i, **slots)
        found.doubts.extend([doubt] if doubt else [])
        sheet.take(i, i, "the mark to work to", f"{amount.value:g}")


def _switches(sheet: Sheet, found: Description, context: Context) -> None:
    """Read ``fan on``, ``no fan``, ``water pan in``; with a fan the air beside it belongs to the description."""
    for i, item in enumerate(sheet.items):
        slot = (
            "fan"
            if item.text in {"fan", "fans"}
            else "water_pan"
            if sheet.text(i + 1) == "pan" and item.text == "water"
            else None
        )
        if slot is None or sheet.taken[i] or slot in found.slots:
            continue
        near = set(" ".join(sheet.words(max(0, i - 2), i + 5)).split())
        if near & {"topped", "filled", "refilled", "top", "fill", "added"}:
            continue
        found.put(i, **{slot: not near & {"no", "off", "without", "not"}})
        sheet.take(i, i, f"word for {slot}", str(found.slots[slot]))
    if "fan" in found.slots:
        _air(sheet, found, context)


def _air(sheet: Sheet, found: Description, context: Context) -> None:
    for i in range(len(sheet.items)):
        amount = sheet.amount(i)
        if amount is None:
            continue
        if amount.kind == "temperature" and "air_c" not in found.slots:
            slots, doubt = temperature("air_c", amount, context)
            found.put(i, **slots)
            found.doubts.extend([doubt] if doubt else [])
            sheet.take(i, i, "air beside the fan", f"{amount.value:g}")
        elif amount.kind == "percent":
            _put_checked(sheet, i, found, "rh_pct", amount.value)


def _wishes(sheet: Sheet, found: Description) -> None:
    for i, item in enumerate(sheet.items):
        if sheet.taken[i]:
            continue
        taste, pack, wood = item.key("taste"), item.key("pack"), item.key("wood")
        if taste:
            found.put(i, taste=taste)
            sheet.take(i, i, "word for taste", taste)
        elif wood:
            found.put(i, wood=wood)
            sheet.take(i, i, "word for wood", wood)
        elif pack:
            found.put(i, pack=pack)
            sheet.take(i, i, "word for packing", pack)
