"""Read what was measured or felt: which figure belongs to which label and which lot."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from bot.understanding.items import Item, Sheet
from bot.understanding.lots import counts
from bot.understanding.model import Context, Doubt
from bot.understanding.plausible import possible, readings_c, settle
from bot.understanding.quantities import Quantity
from bot.understanding.tense import negated
from bot.understanding.vocabulary import strange
from bot.understanding.wordlists import words
from planner import units

_LABEL_SLOT = {
    "core": "core_c", "chamber": "chamber_c", "air": "air_c", "fridge": "fridge_c", "rh": "rh_pct", "wind": "wind_m_s",
    "salometer": "salometer_deg",
}  # fmt: skip
#: What a figure with no label is, by stage.
_STAGE_SLOT = {
    "smoke": "core_c", "cool": "core_c", "dry": "air_c", "soak": "fridge_c", "salt": "fridge_c", "rest": "fridge_c",
    "chill": "fridge_c", "keep": "fridge_c", "thaw": "fridge_c",
}  # fmt: skip
#: What was rung for -> the slot that a figure fills.
RUNG_SLOT = {
    "core": "core_c", "chamber": "chamber_c", "air": "air_c", "fridge": "fridge_c", "rh": "rh_pct",
    "salometer": "salometer_deg",
}  # fmt: skip
_TIME_PREPS = words("timing", "hour_preps") - {"at", "@", "around", "about"}
_VERBS = words("readings", "verbs")
#: Words of coming and going, behind which "at 10" is an hour.
_MOVED = words("readings", "moved")
_AFTER = words("readings", "after")
_SET = words("readings", "set")
#: Words of lighting up, beside which "at 11" is an hour.
_BECOMING = words("readings", "becoming")
_LIGHTING = words("readings", "lighting")
_RELATIVE = words("readings", "relative")
_HOPED = words("readings", "hoped")
_NEARLY = words("readings", "nearly")
_FEEL = words("readings", "feel")
_WEIGHED = words("readings", "weighed")
#: Stages in which a weighing is a reading.
_WEIGHING = frozenset({"rinse", "rest", "dry", "smoke", "cool", "chill", "pack", "keep"})
#: Of a surface that is both, the wetter counts.
_WETTEST_FIRST = ("wet", "damp", "tacky", "dry")
#: A core hotter than this with no label may as well be the chamber (165 °F; *ours*).
HOTTEST_LOOSE_CORE_C = 74.0
#: Labels that are everyday things too: an impossible figure beside one is about something else.
_EVERYDAY = words("readings", "everyday_labels")


@dataclass
class Reading:
    """One measured thing: its slots, where it stands, and what could not be settled."""

    slots: dict[str, Any]
    at: int
    slot: str
    doubt: Doubt | None = None


@dataclass(frozen=True)
class _Figure:
    """An amount that may be a reading, where it stands, and the label that it belongs to (if any)."""

    i: int
    amount: Quantity
    slot: str | None = None
    label_at: int | None = None


def temperature(slot: str, amount: Quantity, context: Context) -> tuple[dict[str, Any], Doubt | None]:
    """Return the slot for a temperature, or the doubt where its scale is open or it cannot be true.

    Of a range the colder end counts for a core, the middle otherwise.
    """
    figure = amount.low if slot == "core_c" else amount.value
    if amount.unit:
        value = figure if amount.unit == "C" else units.celsius(figure, "degF")
        if possible(slot, value):
            return {slot: value}, None
        return {}, Doubt(slot, (), "implausible")
    found = settle(slot, figure, context)
    if len(found) == 1:
        return {slot: next(iter(found.values()))}, None
    options = tuple((f"{figure:g} °{scale}", {slot: round(value, 3)}) for scale, value in sorted(found.items()))
    return {}, Doubt(slot, options, "scale" if found else "implausible")


def slot_of(item: Item) -> str | None:
    """Return the slot that a label names."""
    key = item.key("label")
    return _LABEL_SLOT.get(key) if key else None


def read_readings(sheet: Sheet, span: tuple[int, int], context: Context) -> list[Reading]:
    """Return the readings in a sentence; mark what they took."""
    found = [_reading(sheet, figure, span, context) for figure in _figures(sheet, span, context)]
    kept = [reading for reading in found if reading is not None] + _smudged(sheet, span)
    _give_lots(sheet, span, kept, context)
    kept += _weighed(sheet, span, context) + _felt(sheet, span, context)
    return sorted(kept, key=lambda r: r.at)


def _smudged(sheet: Sheet, span: tuple[int, int]) -> list[Reading]:
    """Question a figure with letters in it beside a label."""
    found = []
    for i in range(span[0] + 1, span[1]):
        slot = slot_of(sheet.items[i - 1]) if sheet.items[i].kind == "smudge" else None
        if slot is not None:
            found.append(Reading({}, i, slot, Doubt(slot, (), "unclear figure")))
            sheet.take(i - 1, i, "reading: a figure with letters in it", "unclear")
    return found


def _set_aside(sheet: Sheet, span: tuple[int, int], context: Context) -> bool:
    """Mark what a dial is set to, "4 degrees under", "under 145": no readings; return True if a dial was set."""
    dial = False
    for i in range(*span):
        if _amount(sheet, i) is None or _hour_like(sheet.items[i]):
            continue
        start = next((j + 1 for j in range(i - 1, span[0] - 1, -1) if sheet.items[j].quantity is not None), span[0])
        before = [w.removesuffix("'s") for text in sheet.words(max(start, i - 4), i) for w in text.split()]
        chamber = any(slot_of(sheet.items[j]) == "chamber_c" for j in range(max(span[0], i - 6), i))
        relative = (
            sheet.text(i + 1) in _RELATIVE
            or negated(before)
            or (not chamber and _not_there(before, _tokens(sheet, span)))
        )
        was_set = bool(set(before) & _SET)
        upper = before[-1:] and before[-1] in {"under", "below", "beneath"} and context.stage in {"smoke", "dry"}
        lower = before[-1:] and before[-1] in {"over", "above", "past"} and context.stage in {"cool", "chill", "keep"}
        if relative or was_set or upper or lower:
            sheet.take(i, i, "reading: not a reading but a setting or a bound", sheet.text(i))
            dial = dial or was_set
    return dial


def _tokens(sheet: Sheet, span: tuple[int, int]) -> set[str]:
    return set(" ".join(sheet.words(*span)).split())


def _not_there(before: list[str], said: set[str]) -> bool:
    """True where a figure is hoped for, not read: "hasn't hit 150 yet", "nearly 145", "should hit 145 soon"."""
    text = f" {' '.join(before)} "
    return (
        negated(before)
        or bool(set(before) & _HOPED)
        or any(f" {cue} " in text for cue in _NEARLY)
        or bool(said & {"soon"})
    )


def _numbered(sheet: Sheet, span: tuple[int, int]) -> None:
    """Mark the 1 of "probe 1 142" and "rack 2 150" as a name."""
    for i in range(span[0] + 1, span[1] - 1):
        first = _amount(sheet, i)
        named = sheet.items[i - 1].text in {"probe", "rack", "tray", "shelf", "sensor", "channel", "ch"}
        if named and first is not None and first.kind == "bare" and first.value in range(1, 21):
            following = next((_amount(sheet, j) for j in range(i + 1, min(i + 3, span[1])) if _amount(sheet, j)), None)
            if following is not None:
                sheet.take(i, i, "reading: number of a probe or rack", sheet.text(i))


def _figures(sheet: Sheet, span: tuple[int, int], context: Context) -> list[_Figure]:
    """Pair each figure with the label before it, or else the one behind it."""
    dial = _set_aside(sheet, span, context)
    _numbered(sheet, span)
    figures: list[_Figure] = []
    label: tuple[int, str] | None = None
    for i in range(*span):
        if sheet.taken[i]:
            continue
        slot = slot_of(sheet.items[i]) or _weak_slot(sheet, i, context)
        if slot is not None and _elsewhere(sheet, i, slot, context):
            continue
        if slot is not None:
            back = _loose_before(sheet, figures, i, slot, span)
            if back is not None:
                figures[back] = _Figure(figures[back].i, figures[back].amount, slot, i)
                label = None
            else:
                label = (i, slot)
            continue
        amount = _amount(sheet, i)
        if amount is None:
            continue
        if (
            label is not None
            and fits(label[1], amount, sheet.items[i])
            and not _is_hour(sheet, i, span, label[1], context)
        ):
            figures.append(_Figure(i, amount, label[1], label[0]))
            label = None
        else:
            figures.append(_Figure(i, amount))
    if dial and context.stage == "smoke":  # what has a dial is the chamber
        figures = [f if f.slot else _Figure(f.i, f.amount, "chamber_c") for f in figures]
    figures = _sharing(figures, sheet)
    return [f for f in (_unlabelled(sheet, f, figures, span, context) for f in figures) if f.slot is not None]


def _sharing(figures: list[_Figure], sheet: Sheet) -> list[_Figure]:
    """Let figures of one list share its label: ``core: small 141 large 128``."""
    shared: list[_Figure] = []
    for figure in figures:
        before = shared[-1] if shared else None
        if (
            figure.slot is None
            and before is not None
            and before.slot == "core_c"
            and figure.amount.kind in {"bare", "temperature"}
        ):
            between = sheet.items[before.i + 1 : figure.i]
            lot = any(item.key("lot") or item.key("rack") or item.key("species") for item in between)
            listed = all(item.text in {",", "/", "and", "&"} for item in between)
            if (lot or listed) and not any(item.kind == "end" for item in between):
                shared.append(_Figure(figure.i, figure.amount, "core_c", before.label_at))
                continue
        shared.append(figure)
    return shared


def _weak_slot(sheet: Sheet, i: int, context: Context) -> str | None:
    """Return core for "fish 128" in the smoke or after it; elsewhere fish is just fish."""
    hot = context.stage in {"smoke", "cool"}
    if hot and sheet.text(i) == "it" and (q := sheet.amount(i + 1)) is not None and q.kind in {"bare", "temperature"}:
        return "core_c"  # internal temperature, for short
    weak = sheet.items[i].key("weak_label")
    if weak is None or context.stage is None:
        return None
    if weak == "fridge":
        return _brine_temperature(sheet, i, context)
    near = [sheet.items[j].quantity for j in range(i + 1, min(i + 5, len(sheet.items)))]
    said = any(q is not None and q.kind == "temperature" and q.unit for q in near)
    return "core_c" if hot or said else None


def _brine_temperature(sheet: Sheet, i: int, context: Context) -> str | None:
    """Return the cold's slot for "the brine's at 36" while the fish lies in it."""
    if context.stage not in {"soak", "salt"}:
        return None
    near = [sheet.items[j].quantity for j in range(i + 1, min(i + 5, len(sheet.items)))]
    figure = next((q for q in near if q is not None), None)
    cold = figure is not None and figure.kind in {"bare", "temperature"} and readings_c("fridge_c", figure.low)
    return "fridge_c" if cold and not {"in", "into", "at"} & set(sheet.words(max(0, i - 2), i)) else None


def _elsewhere(sheet: Sheet, i: int, slot: str, context: Context) -> bool:
    """True for an everyday word (room, box, bucket) that would be a label only in another stage."""
    usual = {"air_c": {"dry", "rinse", "rest"}, "chamber_c": {"dry", "smoke"}, "core_c": {"smoke", "cool", "chill"}}
    everyday = set(sheet.text(i).split()) <= _EVERYDAY
    return everyday and context.stage is not None and context.stage not in usual.get(slot, {context.stage})


def _amount(sheet: Sheet, i: int) -> Quantity | None:
    amount = sheet.amount(i)
    if amount is None or amount.kind not in {"temperature", "bare", "percent", "salometer", "speed"}:
        return None
    return None if amount.number.fraction else amount


def fits(slot: str, amount: Quantity | None, item: Item) -> bool:
    """True if that kind of figure can be that label's."""
    if amount is None:
        return False
    if slot == "rh_pct":
        return amount.kind in {"percent", "bare"}
    if slot == "salometer_deg":
        return amount.kind in {"salometer", "temperature", "bare"} and amount.unit in {"", "salometer_degree"}
    if slot == "wind_m_s":
        return amount.kind == "speed"
    if amount.kind == "bare" and item.prep in _TIME_PREPS:
        return False
    return amount.kind in {"temperature", "bare"}


def _is_hour(sheet: Sheet, i: int, span: tuple[int, int], slot: str, context: Context) -> bool:
    """True for the 2 of "core at 2 was 141": an hour before a better figure."""
    item = sheet.items[i]
    if item.quantity is None or item.quantity.kind != "bare" or item.prep not in {"at", "@", "around", "about"}:
        return False
    if not 1 <= item.quantity.value <= 24 or item.quantity.number.fraction:
        return False
    moved = _MOVED & set(" ".join(sheet.words(max(span[0], i - 8), i)).split())
    if slot == "chamber_c" and item.quantity.value <= 12 and set(" ".join(sheet.words(*span)).split()) & _LIGHTING:
        return True
    on_its_way = slot in {"chamber_c", "core_c"} or context.stage in {None, "thaw", "smoke", "cool"}
    if moved and (on_its_way or moved & {"moved", "put", "went", "threw", "into", "out", "pulled"}):
        return True
    return any(fits(slot, _amount(sheet, j), sheet.items[j]) for j in range(i + 1, span[1]))


def _hour_like(item: Item) -> bool:
    """True for the 3 of "at 3", "till 3"."""
    return item.prep in _TIME_PREPS | {"at", "@"} and item.quantity is not None and 1 <= item.quantity.value <= 24


def _loose_before(sheet: Sheet, figures: list[_Figure], i: int, slot: str, span: tuple[int, int]) -> int | None:
    """Return the place in ``figures`` of the one that a label at ``i`` stands behind: ``190 in the smoker``."""
    if not figures or figures[-1].slot is not None:
        return None
    last = figures[-1].i
    if last < i - 5 or not fits(slot, figures[-1].amount, sheet.items[last]) or _hour_like(sheet.items[last]):
        return None
    between = sheet.words(last + 1, i)
    ahead = next((j for j in range(i + 1, min(i + 5, span[1])) if fits(slot, _amount(sheet, j), sheet.items[j])), None)
    if ahead is None:
        return len(figures) - 1
    if any(word in {",", "and", ";", "/", "-", "but", "is", "was"} for word in between):
        return None
    if between and between[0] in {"in", "on", "for"}:
        return len(figures) - 1
    relabelled = any(slot_of(sheet.items[j]) for j in range(ahead + 1, min(ahead + 4, span[1])))
    return len(figures) - 1 if relabelled or any(w in {",", "and"} for w in sheet.words(i + 1, ahead)) else None


def _unlabelled(
    sheet: Sheet, figure: _Figure, figures: list[_Figure], span: tuple[int, int], context: Context
) -> _Figure:
    """Give a figure without a label its slot by its unit, the stage and what was rung for."""
    if figure.slot is not None:
        return figure
    slot = _slot_by_kind(sheet, figure, figures, span, context)
    return _Figure(figure.i, figure.amount, slot)


def _slot_by_kind(
    sheet: Sheet, figure: _Figure, figures: list[_Figure], span: tuple[int, int], context: Context
) -> str | None:
    kind = figure.amount.kind
    if kind == "salometer":
        return "salometer_deg"
    if kind == "percent":
        airy = any(f.slot == "air_c" or (f.slot is None and f.amount.kind == "temperature") for f in figures)
        other = strange(sheet, span) or {"lost", "down", "loss", "lighter", "salt"} & set(sheet.words(*span))
        return "rh_pct" if (context.stage == "dry" or airy) and not other else None
    if kind == "speed":
        return "wind_m_s" if context.stage == "dry" and not strange(sheet, span) else None
    stage_slot = (RUNG_SLOT.get(context.rung.what) if context.rung else None) or _STAGE_SLOT.get(context.stage or "")
    if context.stage != "smoke" and any(_drying(sheet, j) for j in range(*span)):
        stage_slot = "air_c"
    humid = any(f.slot == "rh_pct" or f.amount.kind == "percent" for f in figures)
    if humid and context.stage in {None, "dry"}:
        stage_slot = "air_c"
    return _temperature_slot(sheet, figure, span, stage_slot, context)


def _drying(sheet: Sheet, i: int) -> bool:
    """True for words of drying, beside which a bare temperature is the air's."""
    return sheet.items[i].key("stage") == "dry" or sheet.text(i).removesuffix("'s") in {
        "fan",
        "outside",
        "garage",
        "shed",
        "breezy",
    }


def _temperature_slot(
    sheet: Sheet, figure: _Figure, span: tuple[int, int], slot: str | None, context: Context
) -> str | None:
    item, amount = sheet.items[figure.i], figure.amount
    if strange(sheet, span):
        return None
    if amount.kind == "temperature":
        return slot or ("core_c" if context.lots or _sized(sheet, span, context) else None)
    if slot is None or item.prep in _TIME_PREPS or counts(sheet, figure.i):
        return None
    if item.prep in {"at", "@"} and 1 <= amount.value <= 24 and not _sits_at(sheet, figure.i):
        return None
    if not (_says_it_reads(sheet, figure.i) or _sized(sheet, span, context)):
        return None
    return slot if slot == "rh_pct" or readings_c(slot, amount.low) else None


def _sized(sheet: Sheet, span: tuple[int, int], context: Context) -> bool:
    """True if a lot or a rack is named in the sentence."""
    if span not in sheet.sized:
        sheet.sized[span] = any(lot_at(sheet, j, context) or _rack_at(sheet, j) for j in range(*span))
    return sheet.sized[span]


def _sits_at(sheet: Sheet, i: int) -> bool:
    """True for "it's at 4", "holding at 4"."""
    return sheet.text(i - 2) in {
        "it's",
        "its",
        "is",
        "sitting",
        "holding",
        "reading",
        "reads",
        "sits",
        "holds",
        "staying",
    }


def _says_it_reads(sheet: Sheet, i: int) -> bool:
    """True for ``it's 140``, ``reading 140``, ``now 140``, ``140 inside``, ``down to 95``."""
    before = set(" ".join(sheet.words(max(0, i - 3), i)).split())
    after = set(" ".join(sheet.words(i + 1, i + 3)).split())
    beside = [sheet.items[j].quantity for j in range(i + 1, min(i + 3, len(sheet.items)))]
    if any(q is not None and q.kind == "percent" for q in beside):
        return True
    return bool(before & _VERBS) or bool(after & _AFTER)


def _reading(sheet: Sheet, figure: _Figure, span: tuple[int, int], context: Context) -> Reading | None:
    assert figure.slot is not None
    slots, doubt = value_of(figure.slot, figure.amount, context)
    if doubt is not None and not doubt.options and (_about_something_else(sheet, figure) or strange(sheet, span)):
        return None
    if figure.label_at is None and slots.get("core_c", 0.0) > HOTTEST_LOOSE_CORE_C and not _sized(sheet, span, context):
        doubt = Doubt(
            "core_c", (("core", dict(slots)), ("chamber", {"chamber_c": round(slots["core_c"], 3)})), "core or chamber"
        )
        slots = {}
    sheet.take(figure.i, figure.i, "reading: figure and its label", f"{figure.slot} {figure.amount.number.value:g}")
    if figure.label_at is not None and not _place_too(sheet, figure):
        sheet.take(figure.label_at, figure.label_at, "reading: label", figure.slot)
    return Reading(slots, figure.i, figure.slot, doubt)


def _about_something_else(sheet: Sheet, figure: _Figure) -> bool:
    """True where an everyday word stood for the label, or none did, and the figure cannot be true."""
    return figure.label_at is None or bool(set(sheet.text(figure.label_at).split()) & _EVERYDAY)


def _place_too(sheet: Sheet, figure: _Figure) -> bool:
    """True where the label is also where the fish went: ``in the smoker at 180``."""
    at = figure.label_at
    if at is None or at > figure.i:
        return False
    before = sheet.words(max(0, at - 3), at)
    return bool({"in", "into", "to"} & set(before)) and sheet.items[at].key("place") is not None


def value_of(slot: str, amount: Quantity, context: Context) -> tuple[dict[str, Any], Doubt | None]:
    """Return the slot's value in SI, or the doubt."""
    if slot.endswith("_c"):
        return temperature(slot, amount, context)
    value = amount.number.value if slot == "salometer_deg" else amount.value
    return ({slot: value}, None) if possible(slot, value) else ({}, Doubt(slot, (), "implausible"))


def lot_at(sheet: Sheet, i: int, context: Context) -> str | None:
    """Return the lot that the item names: one of the batch's own names first, else a size."""
    item = sheet.items[i]
    own = next(
        (lot for lot in context.lots if lot.lower() in {item.text, item.text.rstrip("s"), f"{item.text}s"}), None
    )
    if own is not None:
        return own
    hot = context.stage in {"smoke", "cool"}
    if hot and item.key("form") in {"belly", "collar"}:
        return item.text
    key = item.key("lot")
    before = sheet.items[i - 1].quantity if i else None
    sized = before is not None and before.kind == "length"  # an inch thick
    return None if key is None or sized else key


def _give_lots(sheet: Sheet, span: tuple[int, int], readings: list[Reading], context: Context) -> None:
    """Give each reading the lot and the rack named before it; behind it where the sentence is built so."""
    lots = [(i, lot) for i in range(*span) if (lot := lot_at(sheet, i, context))]
    racks = [(i, rack) for i in range(*span) if (rack := _rack_at(sheet, i))]
    cores = [r for r in readings if r.slot in {"core_c", "surface"}]
    for name, marks in (("lot", lots), ("rack", racks)):
        if not marks or not cores:
            continue
        behind = marks[0][0] > cores[0].at
        for reading in cores:
            if behind:
                limit = min(reading.at + 6, next((r.at for r in readings if r.at > reading.at), span[1]))
                fitting = [value for i, value in marks if reading.at < i < limit]
            else:
                fitting = [value for i, value in marks if i < reading.at][-1:]
            if fitting:
                reading.slots[name] = fitting[0]


def _rack_at(sheet: Sheet, i: int) -> Any:
    key = sheet.items[i].key("rack")
    if key is not None:
        return key
    if sheet.text(i) in {"top", "bottom"} and i + 1 < len(sheet.items) and sheet.items[i + 1].quantity is not None:
        return sheet.text(i)
    amount = sheet.items[i].quantity
    if (
        sheet.text(i - 1) in {"rack", "tray", "shelf"}
        and amount is not None
        and amount.kind == "bare"
        and 1 <= amount.value <= 20
    ):
        return int(amount.value)
    return None


def is_weighing(sheet: Sheet, i: int, context: Context) -> bool:
    """True if the mass at ``i`` is a weighing of a batch under way, not a description of one."""
    if context.stage not in _WEIGHING or any(item.key("form") or item.key("species") for item in sheet.items):
        return False
    near = set(" ".join(sheet.words(max(0, i - 5), i + 4)).split())
    return bool(near & _WEIGHED) or len(sheet.items) <= 2


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


def _felt(sheet: Sheet, span: tuple[int, int], context: Context) -> list[Reading]:
    """Read how the surface or the flesh feels."""
    found: list[Reading] = []
    for i in range(*span):
        if sheet.taken[i]:
            continue
        for slot, key in (("surface", _surface(sheet, i, span, context)), ("firmness", _firmness(sheet, i, span))):
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
    if surface in {"tacky", "damp"} and (context.stage in {None, "dry", "rest", "rinse", "smoke"} or near & _FEEL):
        return surface
    rung = context.rung is not None and context.rung.what == "surface"
    return surface if (context.stage == "dry" or rung or near & _FEEL) and not _stage_use(sheet, i) else None


def _stage_use(sheet: Sheet, i: int) -> bool:
    """True where ``dry`` is the work, not the feel: ``to dry``, ``dry brine``, ``started to dry``."""
    return sheet.text(i) == "dry" and sheet.text(i - 1) in {"to", "will", "let", "air"}
