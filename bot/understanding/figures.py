"""Pair each figure with what it is of: the label before or behind it, or else by unit and stage."""

from __future__ import annotations

from dataclasses import dataclass, replace

from bot.understanding.items import Item, Sheet
from bot.understanding.labels import RUNG_SLOT, amount_at, fits, hour_like, is_hour, label_at, label_elsewhere, slot_of
from bot.understanding.lot_names import lot_at, rack_at
from bot.understanding.lots import counts
from bot.understanding.model import Context
from bot.understanding.no_readings import numbered, set_aside
from bot.understanding.plausible import LIKELY_C, habit, readings_c
from bot.understanding.quantities import Quantity
from bot.understanding.vocabulary import strange
from bot.understanding.wordlists import words
from planner import units

#: What a figure with no label is, by stage.
_STAGE_SLOT = {
    "smoke": "core_c", "cool": "core_c", "dry": "air_c", "soak": "fridge_c", "salt": "fridge_c", "rest": "fridge_c",
    "chill": "fridge_c", "keep": "fridge_c", "thaw": "fridge_c",
}  # fmt: skip
#: Words behind which a bare figure is an hour, never a reading.
_NO_READING = words("timing", "no_reading_preps")
_VERBS = words("readings", "verbs")
_AFTER = words("readings", "after")
#: What may stand between two figures of one thing.
_LISTING = words("readings", "listing")
#: No fridge, room or sea is so warm: what is, was heated (104 °F; *ours*).
_AS_HOT_AS_SMOKE_C = 40.0
#: A bare figure below this beside a time may count something.
_NO_COUNT = 20.0
#: How many items apart a label of elsewhere and its figure may stand.
_NEAR = 3


@dataclass(frozen=True)
class Figure:
    """An amount that may be a reading, where it stands, and the label that it belongs to (if any)."""

    i: int
    amount: Quantity
    slot: str | None = None
    label_at: int | None = None


def figures_of(sheet: Sheet, span: tuple[int, int], context: Context) -> list[Figure]:
    """Pair each figure with the label before it, or else the one behind it."""
    dial = set_aside(sheet, span, context)
    numbered(sheet, span)
    figures: list[Figure] = []
    label: tuple[int, str] | None = None  # where the last label stands that has no figure yet, and its slot
    for i in range(*span):
        if sheet.taken[i]:
            continue
        slot = "" if label_elsewhere(sheet, i, context) else label_at(sheet, i, context)
        if slot is not None:
            label = (i, slot) if not _labels_back(sheet, figures, i, slot, span) else None
            continue
        amount = amount_at(sheet, i)
        if amount is None:
            continue
        if label is None or not _follows(sheet, i, span, amount, label, context):
            figures.append(Figure(i, _latest(sheet, i, amount)))
        else:
            figures += [Figure(i, _latest(sheet, i, amount), label[1], label[0])] if label[1] else []
            label = None
    dial = (dial and not strange(sheet, span)) or _opened(sheet, span)
    if dial and context.stage == "smoke":  # what has a dial or a door is the chamber
        figures = [f if f.slot else Figure(f.i, f.amount, "chamber_c") for f in figures]
    figures = _sharing(figures, sheet)
    return [f for f in (_unlabelled(sheet, f, figures, span, context) for f in figures) if f.slot is not None]


def _labels_back(sheet: Sheet, figures: list[Figure], i: int, slot: str, span: tuple[int, int]) -> bool:
    """Give the label at ``i`` to the figure before it, where it belongs there; one of elsewhere drops that figure."""
    if not slot:
        if figures and figures[-1].slot is None and i - figures[-1].i <= _NEAR:
            figures.pop()  # "90 out there" is no core
        return False
    back = _loose_before(sheet, figures, i, slot, span)
    if back is None:
        return False
    figures[back] = Figure(figures[back].i, figures[back].amount, slot, i)
    return True


def _follows(
    sheet: Sheet, i: int, span: tuple[int, int], amount: Quantity, label: tuple[int, str], context: Context
) -> bool:
    """True if the figure at ``i`` is that of the label before it."""
    if not label[1]:
        return i - label[0] <= _NEAR
    if "," in sheet.words(label[0], i) and _cannot_be(label[1], amount):
        return False  # "into the fridge, 71": the fish, not the fridge
    return fits(label[1], amount, sheet.items[i]) and not is_hour(sheet, i, span, label[1], context)


def _cannot_be(slot: str, amount: Quantity) -> bool:
    """True if a figure with no scale makes no sense for a slot."""
    return slot in LIKELY_C and amount.kind == "bare" and not readings_c(slot, amount.low)


def _latest(sheet: Sheet, i: int, amount: Quantity) -> Quantity:
    """Return the second figure of "from 128 to 135": it is 135 now."""
    if sheet.items[i].prep == "from" and amount.low < amount.high:
        return replace(amount, value=amount.high, low=amount.high)
    return amount


def _sharing(figures: list[Figure], sheet: Sheet) -> list[Figure]:
    """Let figures of one list share its label: ``core: small 141 large 128``."""
    shared: list[Figure] = []
    for figure in figures:
        before = next((f for f in reversed(shared) if not hour_like(sheet.items[f.i])), None)
        if (
            figure.slot is None
            and before is not None
            and before.slot in {"core_c", "chamber_c"}
            and figure.amount.kind in {"bare", "temperature"}
            and not hour_like(sheet.items[figure.i])
        ):
            between = sheet.items[before.i + 1 : figure.i]
            lot = any(item.key("lot") or item.key("rack") or item.key("species") for item in between)
            listed = all(item.text in _LISTING or _is_past(item) for item in between)
            ended = any(item.kind == "end" for item in between)
            if (listed or (lot and before.slot == "core_c")) and not ended:
                shared.append(Figure(figure.i, figure.amount, before.slot, before.label_at))
                continue
        shared.append(figure)
    return shared


def _is_past(item: Item) -> bool:
    """True for a time between two figures of one thing: ``core 130 an hour ago, 138``, ``at 2 120, at 3 135``."""
    if item.quantity is not None and item.prep in {"at", "@"} and hour_like(item):
        return True
    return item.when is not None and (item.when.now or item.when.hour is not None or (item.when.span_s or 0) < 0)


def _opened(sheet: Sheet, span: tuple[int, int]) -> bool:
    """True where a door or a lid was opened: what climbs or falls then is the chamber."""
    said = set(" ".join(sheet.words(*span)).split())
    return bool(said & words("readings", "doors") and said & words("readings", "opened"))


def _loose_before(sheet: Sheet, figures: list[Figure], i: int, slot: str, span: tuple[int, int]) -> int | None:
    """Return the place in ``figures`` of the one that a label at ``i`` stands behind: ``190 in the smoker``."""
    if not figures or figures[-1].slot is not None:
        return None
    last = figures[-1].i
    if last < i - 5 or not fits(slot, figures[-1].amount, sheet.items[last]) or hour_like(sheet.items[last]):
        return None
    between = sheet.words(last + 1, i)
    if {"going", "went", "put", "moved", "into"} & set(between) and _cannot_be(slot, figures[-1].amount):
        return None
    ahead = next(
        (j for j in range(i + 1, min(i + 5, span[1])) if fits(slot, amount_at(sheet, j), sheet.items[j])), None
    )
    if ahead is None:
        return len(figures) - 1
    if any(word in {",", "and", ";", "/", "-", "but", "is", "was"} for word in between):
        return None
    if between and between[0] in {"in", "on", "for"}:
        return len(figures) - 1
    relabelled = any(slot_of(sheet.items[j]) for j in range(ahead + 1, min(ahead + 4, span[1])))
    return len(figures) - 1 if relabelled or any(w in {",", "and"} for w in sheet.words(i + 1, ahead)) else None


def _unlabelled(sheet: Sheet, figure: Figure, figures: list[Figure], span: tuple[int, int], context: Context) -> Figure:
    """Give a figure without a label its slot by its unit, the stage and what was rung for."""
    if figure.slot is not None:
        return figure
    slot = _slot_by_kind(sheet, figure, figures, span, context)
    return Figure(figure.i, figure.amount, slot)


def _slot_by_kind(
    sheet: Sheet, figure: Figure, figures: list[Figure], span: tuple[int, int], context: Context
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
    if stage_slot == "air_c" and any(sheet.items[j].key("lot") for j in range(max(span[0], figure.i - 3), figure.i)):
        stage_slot = "core_c"  # air has no sizes: "small ones 118"
    humid = any(f.slot == "rh_pct" or f.amount.kind == "percent" for f in figures)
    if humid and context.stage in {None, "dry"}:
        stage_slot = "air_c"
    if stage_slot is None and _hot_pieces(sheet, figure, span, context):
        stage_slot = "core_c"
    return _temperature_slot(sheet, figure, span, stage_slot, context)


def _hot_pieces(sheet: Sheet, figure: Figure, span: tuple[int, int], context: Context) -> bool:
    """True where no stage is known, but pieces of fish are said to be as hot as only smoke makes them."""
    said = set(" ".join(sheet.words(*span)).split())
    pieces = sized(sheet, span, context) or said & {
        "piece",
        "pieces",
        "one",
        "ones",
        "one's",
        "fillet",
        "fillets",
        "inside",
    }
    celsius = figure.amount.low if figure.amount.unit == "C" else units.celsius(figure.amount.low, "degF")
    return context.stage is None and bool(pieces) and celsius >= _AS_HOT_AS_SMOKE_C


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
    sheet: Sheet, figure: Figure, span: tuple[int, int], slot: str | None, context: Context
) -> str | None:
    item, amount = sheet.items[figure.i], figure.amount
    if strange(sheet, span):
        return None
    if amount.kind == "temperature":
        return slot or ("core_c" if context.lots or sized(sheet, span, context) else None)
    if slot is None or counts(sheet, figure.i):
        return None
    if item.prep in _NO_READING and not _has_changed(sheet, figure):
        return None
    if item.prep in {"at", "@"} and 1 <= amount.value <= 24 and not _sits_at(sheet, figure.i):
        return None
    if not (_says_it_reads(sheet, figure.i) or sized(sheet, span, context)):
        return None
    if slot == "rh_pct":
        return slot
    scales = readings_c(slot, amount.low)
    if slot == "core_c" and not scales and readings_c("chamber_c", amount.low):
        return "chamber_c"  # no core is so hot
    usual = habit(context)
    return slot if scales and (usual is None or usual in scales) else None


def _has_changed(sheet: Sheet, figure: Figure) -> bool:
    """True for "went from 131 to 138"."""
    before = set(" ".join(sheet.words(max(0, figure.i - 3), figure.i)).split())
    return sheet.items[figure.i].prep == "from" and figure.amount.number.low < figure.amount.number.high and bool(
        before & words("readings", "changed")
    )


def sized(sheet: Sheet, span: tuple[int, int], context: Context) -> bool:
    """True if a lot or a rack is named in the sentence."""
    if span not in sheet.sized:
        sheet.sized[span] = any(lot_at(sheet, j, context) or rack_at(sheet, j) for j in range(*span))
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
    beside_time = [*sheet.items[i + 1 : i + 3], *sheet.items[max(0, i - 3) : i]]
    amount = sheet.items[i].quantity
    timed = amount is not None and (amount.low >= _NO_COUNT or sheet.items[i].prep) and any(map(_is_past, beside_time))
    return bool(timed) or sheet.items[i].prep == "from" or bool(before & _VERBS) or bool(after & _AFTER)
