"""Read what the batch is: fish, form, sizes, state, wishes, the air it dries in."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from bot.understanding.durations import duration_slot
from bot.understanding.items import Sheet
from bot.understanding.lots import PARTS, counts, each_of, of_wood, read_lots
from bot.understanding.model import Context, Doubt
from bot.understanding.plausible import possible, readings_c
from bot.understanding.readings import is_weighing
from bot.understanding.temperatures import temperature
from bot.understanding.timing import time_slot, when_of
from bot.understanding.unitless import unitless
from bot.understanding.vocabulary import strange
from bot.understanding.wordlists import words

_CATEGORIES = ("species", "form", "skin", "state", "smoke_kind")
_READY = words("describing", "ready")
_NEXT_CLAUSE = frozenset({".", ",", ";", "!", "and", "then", "&"})
_WISHING = words("describing", "wishing")
_PREPARING = words("describing", "preparing")
_READY_BEHIND = words("describing", "ready_behind")
_CAUGHT = words("describing", "caught")
_WORK = words("describing", "work")
_WEAK_SPECIES = words("describing", "weak_species")
#: Stages in which a word of taste tells how it came out, not how it is wanted.
_TASTING = frozenset({"chill", "pack", "keep"})
_OFF = words("describing", "off")
_SOAKED = words("describing", "soaked")
_UNTIL = frozenset({"to", "till", "until", "til", "-"})
_WORK_TO = words("describing", "work_to")
#: Below this a bare figure behind "I work to" is an hour or a count, in either scale.
_HOT = 40.0


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

    def check(self, at: int, slot: str, value: float) -> None:
        """Add a slot if its value can be true, else the doubt."""
        if possible(slot, value):
            self.put(at, **{slot: value})
        else:
            self.first = at if self.first is None else min(self.first, at)
            self.doubts.append(Doubt(slot, (), "implausible"))


def read_description(sheet: Sheet, context: Context, aims: bool = True) -> Description:
    """Return what the message says of the batch; mark what it took. Times are read if ``aims``."""
    found = Description()
    _named(sheet, found)
    lots = read_lots(sheet)
    if lots:
        found.put(lots[1], lots=lots[0])
        if found.slots.get("form") in PARTS and not any("pieces" in lot for lot in lots[0]):
            del found.slots["form"]  # it named one of the lots
    _sizes(sheet, found, context)
    _lasting(sheet, found)
    _soaked_from(sheet, found, context)
    if aims:
        _aims(sheet, found, context)
    _works_to(sheet, found, context)
    _switches(sheet, found, context)
    _wishes(sheet, found, context)
    return found


def _named(sheet: Sheet, found: Description) -> None:
    fishy = any(i.key("form") or (i.quantity and i.quantity.kind in {"mass", "length"}) for i in sheet.items)
    fish = any(i.key("species") for i in sheet.items)
    for i, item in enumerate(sheet.items):
        if sheet.taken[i]:
            continue
        for category in _CATEGORIES:
            key = item.key(category)
            if key is None or category in found.slots:
                continue
            if category == "species" and item.text in _WEAK_SPECIES and not (fishy or _weak_said(sheet, i)):
                continue
            if category == "form" and of_wood(sheet, i):
                continue
            if category == "state" and not (fishy or fish or (key != "thawed" and _state_alone(sheet))):
                continue
            if item.text == "filleted" and not (fish or sheet.amount(i - 1)):
                continue
            if key == "whole" and not (fish or sheet.text(i + 1) == "fish" or sheet.amount(i - 1) is not None):
                continue
            found.put(i, **{category: key})
            sheet.take(i, i, f"word for {category}", key)
            break


def _weak_said(sheet: Sheet, i: int) -> bool:
    """True where an everyday word for a fish stands with a count, or alone behind "got": ``got pinks``."""
    got = sheet.words(0, i) in (["got"], ["have"], ["bought"], ["caught"], ["landed"], ["got", "some"], ["i", "got"])
    return sheet.amount(i - 1) is not None or (got and i == len(sheet.items) - 1)


def _state_alone(sheet: Sheet) -> bool:
    """True where "still frozen" is said of the fish though no fish is named."""
    burning = any(item.key("fuel") or item.key("label") for item in sheet.items)
    return not burning and not strange(sheet, (0, len(sheet.items)))


def _sizes(sheet: Sheet, found: Description, context: Context) -> None:
    for i in range(len(sheet.items)):
        amount = sheet.amount(i)
        if amount is None or _priced(sheet, i):
            continue
        if amount.kind == "mass" and not is_weighing(sheet, i, context) and not _weighs_a_measure(sheet):
            sheet.take(i, i, "amount: mass", f"{amount.value:.6g} g")
            if {"total", "altogether", "all"} & set(sheet.words(i + 1, i + 3)):
                found.slots.pop("mass_g", None)
            _mass(sheet, i, amount.value, found)
        elif amount.kind == "length" and sheet.text(i + 1) not in {"long", "wide", "rain", "deep", "snow", "of"}:
            sheet.take(i, i, "amount: thickness", f"{amount.value:.6g} mm")
            found.check(i, "thickness_mm", amount.value)
        elif amount.kind == "bare" and sheet.text(i + 1) in {"thick", "thk", "thickness"}:
            _unitless(sheet, i, "thickness_mm", found, context)
        elif amount.kind == "bare" and _mass_without_unit(sheet, i):
            _unitless(sheet, i, "mass_g", found, context)
        elif amount.kind == "bare" and counts(sheet, i) and not _moved_pieces(sheet, i):
            sheet.take(i, i, "amount: pieces", f"{amount.value:g}")
            found.check(i, "pieces", int(amount.value))


def _priced(sheet: Sheet, i: int) -> bool:
    """True for the pound of "25 a pound", and for "10 lb test"."""
    before = sheet.items[i - 1].quantity if i else None
    article = sheet.text(i).split()[:1] in (["a"], ["an"])
    return (article and before is not None and before.kind == "bare") or sheet.text(i + 1) == "test"


def _weighs_a_measure(sheet: Sheet) -> bool:
    """True for "a cup of my kosher weighs 140 g", which is no fish."""
    said = set(" ".join(sheet.words()).split())
    measure = any(item.quantity is not None and item.quantity.kind == "volume" for item in sheet.items)
    salt = any(item.key("salt") or item.key("salt_kind") or item.key("sugar") for item in sheet.items)
    return measure and salt and bool(said & {"weigh", "weighs", "weighed", "weighing"})


def _mass(sheet: Sheet, i: int, mass_g: float, found: Description) -> None:
    """Read a mass of one piece or of all; of ``2 sides of 3 lb coho`` nobody can tell which."""
    pieces = each_of(sheet, i)
    if pieces > 1 and sheet.text(i - 1) == "of" and sheet.items[min(i + 1, len(sheet.items) - 1)].key("species"):
        options = tuple(
            (f"{sheet.text(i)} {said}", {"mass_g": mass_g * n}) for said, n in (("each", pieces), ("in all", 1))
        )
        found.doubts.append(Doubt("mass_g", options, "each or in all"))
    else:
        found.check(i, "mass_g", mass_g * pieces)


def _moved_pieces(sheet: Sheet, i: int) -> bool:
    """True for "pulled the two smallest", which tells of some pieces, not of how many there are."""
    before = set(" ".join(sheet.words(max(0, i - 3), i)).split())
    return bool(before & words("events", "pull"))


def _mass_without_unit(sheet: Sheet, i: int) -> bool:
    """True for the 4.5 of "coho 4.5": no count of pieces, beside a fish."""
    amount = sheet.items[i].quantity
    broken = amount is not None and amount.value != int(amount.value) and amount.low == amount.high
    return (
        broken
        and sheet.text(i) != "half"
        and any(sheet.items[j].key("species") for j in (i - 1, i + 1) if 0 <= j < len(sheet.items))
    )


def _unitless(sheet: Sheet, i: int, slot: str, found: Description, context: Context) -> None:
    """Read a figure with no unit: a fraction is of an inch; otherwise the chat's habit decides, else it is asked."""
    amount = sheet.items[i].quantity
    assert amount is not None
    sheet.take(i, i, f"amount with no unit for {slot}", f"{amount.value:g}")
    value, doubt = unitless(slot, amount, context)
    if value is not None:
        found.check(i, slot, value)
    else:
        found.put(i)
        found.doubts += [doubt] if doubt else []


def _lasting(sheet: Sheet, found: Description) -> None:
    """Read how long the soak is to take, and how long the fish has been out of the cold."""
    for i in range(len(sheet.items)):
        amount = sheet.amount(i)
        slot = duration_slot(sheet, i) if amount is not None and amount.kind == "time" else None
        if amount is None or slot is None:
            continue
        sheet.take(i, i, f"duration for {slot}", f"{amount.value / 3600:g} h")
        found.check(i, slot, amount.value / 3600)


def _soaked_from(sheet: Sheet, found: Description, context: Context) -> None:
    """Read ``brined from 22 to 6``: from when till when the soak lasted, or is to last."""
    for i, item in enumerate(sheet.items):
        when = when_of(item, any_prep=True)
        if sheet.taken[i] or when is None or "from" not in {item.prep, when.prep}:
            continue
        said = set(" ".join(sheet.words(max(0, i - 4), i)).split())
        j = i + 2 if sheet.text(i + 1) in _UNTIL else i + 1
        end = when_of(sheet.items[j], any_prep=True) if j < len(sheet.items) else None
        until = j == i + 2 or (end is not None and {end.prep, sheet.items[min(j, len(sheet.items) - 1)].prep} & _UNTIL)
        if not said & _SOAKED or end is None or not until:
            continue
        over = bool(said & {"brined", "soaked", "salted", "was", "were", "sat"})
        pair = ((j, "soak_end"), (i, "soak_start")) if over else ((i, "soak_start"), (j, "soak_end"))
        _put_both(sheet, pair, "past" if over else "future", found, context)
        return


def _put_both(
    sheet: Sheet, pair: tuple[tuple[int, str], tuple[int, str]], direction: str, found: Description, context: Context
) -> None:
    """Add two times, the second reckoned from the first where no day was said with it."""
    now = context
    for i, slot in pair:
        when = when_of(sheet.items[i], any_prep=True)
        dated = when is None or when.day is not None or when.weekday is not None or when.date is not None
        slots, doubt = time_slot(sheet, i, slot, direction, context if dated else now)
        found.put(i, **slots)
        found.doubts += [doubt] if doubt else []
        now = replace(context, now=datetime.fromisoformat(slots[slot])) if slots else context


def _aims(sheet: Sheet, found: Description, context: Context) -> None:
    for i, item in enumerate(sheet.items):
        if sheet.taken[i] or when_of(item) is None:
            continue
        slot = _aim_slot(sheet, i)
        if slot is None:
            continue
        slots, doubt = time_slot(sheet, i, slot, "past" if slot == "caught_at" else "future", context)
        found.put(i, **slots)
        found.doubts += [doubt] if doubt else []


def _clause_before(sheet: Sheet, i: int) -> list[str]:
    """Return the words before an item in its clause, at most nine."""
    said: list[str] = []
    for j in range(i - 1, max(-1, i - 10), -1):
        if sheet.items[j].kind == "end" or sheet.text(j) in {",", ";", "and", "but"}:
            break
        said[:0] = sheet.text(j).split()
    return said


def _aim_slot(sheet: Sheet, i: int) -> str | None:
    """Return the slot of a time by the words before it: ``ready by``, ``caught``; None if it is none of these."""
    before = _clause_before(sheet, i)
    after = " ".join(sheet.words(i + 1, i + 3)).split() if sheet.text(i + 1) not in _NEXT_CLAUSE else []
    when = sheet.items[i].when
    prep = when.prep if when else sheet.items[i].prep
    if set(before) & _CAUGHT or " ".join(before).endswith("out of the water") or set(after[:1]) & _CAUGHT:
        return "caught_at"
    if (set(before) & _READY and not _prepares(before)) or set(after[:2]) & _READY_BEHIND:
        return "ready_by"
    if prep == "by" and set(before) & {"done", "finished", "dinner", "table"}:
        return "ready_by"
    if prep in {"for", "by"} and not set(before) & _WORK and not _at_work(sheet, i) and not _hot_before(sheet, i):
        return "ready_by"
    return None


def _hot_before(sheet: Sheet, i: int) -> bool:
    """True for "should be 145 by 4": the heat, not the fish, is to be there by then."""
    near = [sheet.items[j].quantity for j in range(max(0, i - 4), i)]
    return any(q is not None and q.kind in {"bare", "temperature"} and q.value >= _HOT for q in near)


def _prepares(before: list[str]) -> bool:
    """True for ``wanna brine`` and ``need to get more alder``: the wish is for a step before the fish is ready."""
    return set(before) & _READY <= _WISHING and bool(set(before) & _PREPARING)


def _at_work(sheet: Sheet, i: int) -> bool:
    """True if the clause of a time speaks of a step of the work."""
    for j in range(i - 1, max(-1, i - 8), -1):
        if sheet.items[j].kind == "end" or sheet.text(j) in {",", ";"}:
            return False
        if sheet.items[j].key("stage") or sheet.items[j].key("place") or sheet.text(j) in {"out", "in"}:
            return True
    behind = sheet.words(i + 1, i + 4)
    into = [j for j in range(i + 2, min(i + 4, len(sheet.items))) if sheet.items[j].key("place") in {"soak", "smoke"}]
    return bool(into) and bool({"in", "into"} & set(behind))  # "for tonight in the brine"


def _works_to(sheet: Sheet, found: Description, context: Context) -> None:
    """Read the mark that a person chooses to work to: ``I work to 145``."""
    for i in range(len(sheet.items)):
        amount = sheet.amount(i)
        if amount is None or amount.kind not in {"bare", "temperature"}:
            continue
        before = f" {' '.join(sheet.words(max(0, i - 5), i))} "
        if not any(f" {cue} " in before for cue in _WORK_TO):
            continue
        if amount.kind == "bare" and not readings_c("aim_c", amount.value):
            if amount.value >= _HOT and readings_c("core_c", amount.value):  # no mark, and no reading either
                found.doubts.append(Doubt("aim_c", (), "implausible"))
                sheet.take(i, i, "no mark to work to", f"{amount.value:g}")
            continue
        slots, doubt = temperature("aim_c", amount, context)
        found.put(i, **slots)
        found.doubts += [doubt] if doubt else []
        sheet.take(i, i, "the mark to work to", f"{amount.value:g}")


def _switches(sheet: Sheet, found: Description, context: Context) -> None:
    """Read ``fan on``, ``no fan``, ``water pan in``; beside a fan the air belongs to the description."""
    said = set(" ".join(sheet.words()).split())
    for i, item in enumerate(sheet.items):
        slot = _switch(sheet, i)
        if slot is None or sheet.taken[i] or slot in found.slots or said & words("events", "fill"):
            continue
        near = set(" ".join(sheet.words(max(0, i - 2), i + 3)).split())
        if slot == "fan" and sheet.text(i + 1) == "of":
            continue
        if slot == "fan" and near & {"in", "front", "under"} and not near & {"on", "off", "no", "with"}:
            continue
        if item.text == "fan" and "front" in said:
            continue
        found.put(i, **{slot: not near & _OFF})
        first = i - 1 if sheet.text(i - 1) in {"no", "without"} else i
        sheet.take(first, i, f"word for {slot}", str(found.slots[slot]))
    if "fan" in found.slots:
        _air(sheet, found, context)


def _switch(sheet: Sheet, i: int) -> str | None:
    if sheet.text(i).removesuffix("'s") in {"fan", "fans", "blower"}:
        return "fan"
    return "water_pan" if sheet.text(i) == "water" and sheet.text(i + 1) in {"pan", "tray", "bowl"} else None


def _air(sheet: Sheet, found: Description, context: Context) -> None:
    for i in range(len(sheet.items)):
        amount = sheet.amount(i)
        if amount is None:
            continue
        if amount.kind == "temperature" and "air_c" not in found.slots:
            slots, doubt = temperature("air_c", amount, context)
            found.put(i, **slots)
            found.doubts += [doubt] if doubt else []
            sheet.take(i, i, "air beside the fan", f"{amount.value:g}")
        elif amount.kind == "percent":
            sheet.take(i, i, "humidity beside the fan", f"{amount.value:g} %")
            found.check(i, "rh_pct", amount.value)


def _wishes(sheet: Sheet, found: Description, context: Context) -> None:
    said = set(" ".join(sheet.words()).split())
    burning = said & words("events", "add")
    for i, item in enumerate(sheet.items):
        if sheet.taken[i]:
            continue
        for category in ("taste", "pack", "wood"):
            key = item.key(category)
            if key is None or (category == "wood" and burning) or category in found.slots:
                continue
            if key == "open" and any(other.key("pack") == "frozen" for other in sheet.items):
                continue  # in paper, and in the freezer
            if category == "taste" and not _about_taste(sheet, i):
                continue
            slot = "tasted" if category == "taste" and context.stage in _TASTING else category
            found.put(i, **{slot: _as_tasted(item.text, key) if slot == "tasted" else key})
            sheet.take(i, i, f"word for {category}", key)
            break


def _as_tasted(said: str, key: str) -> str:
    """Return how the finished fish is said to taste: ``too salty`` asks for mild next time, but tastes salty."""
    told = set(said.split())
    if "too" in told and "salty" in told:
        return "salty"
    return "mild" if {"more", "enough", "bland"} & told else key


def _about_taste(sheet: Sheet, i: int) -> bool:
    """False for mild weather, and for ``salty`` said of something else."""
    return sheet.text(i + 1) not in {"day", "weather", "night", "winter", "evening", "air", "dog", "language"}
