"""Read short replies to a reminder: "131", "done", "an hour ago", "in 10 min", "done, rinsed too"."""

from __future__ import annotations

from typing import Any

from bot.understanding.events import read_event
from bot.understanding.items import Sheet
from bot.understanding.labels import RUNG_SLOT
from bot.understanding.lot_names import lot_at
from bot.understanding.model import Context, Doubt, Heard, Rung
from bot.understanding.moments import iso
from bot.understanding.temperatures import value_of
from bot.understanding.tense import negated, will_be
from bot.understanding.timing import moment, time_slot, when_of
from bot.understanding.when import When
from bot.understanding.wordlists import words

_YES = words("answers", "yes")
_NO = words("answers", "no")
_BESIDE = words("answers", "beside")
_MEASURES = words("answers", "measures")
_STARTS = words("answers", "starts")
_PARTLY = frozenset({"half", "some", "few", "only", "most", "part", "partly"})
_ASKING = frozenset({"what", "why", "how", "when", "where", "who", "which", "is", "should", "can", "could", "?"})
#: What "done" to a ring records, where it is no stage.
_EVENT: dict[str, dict[str, Any]] = {
    "racks": {"what": "rotated"}, "rotate": {"what": "rotated"}, "rotated": {"what": "rotated"},
    "fuel": {"what": "fuel"}, "water": {"what": "water"}, "pulled": {"what": "pulled"}, "heat": {"what": "fuel"},
    "rack": {"stage": "dry", "started": True}, "light": {"stage": "smoke", "started": True},
    "rest": {"what": "fridge"},
}  # fmt: skip
#: What a reminder asks to be read beside the deed.
_ASKED_BESIDE = {"fuel": "chamber_c"}
#: A figure this near the last core is that of a core once more.
_NEAR_K = 15.0
#: What asks for no deed of its own: "done" to it says nothing.
_NO_DEED = frozenset({"exposure", "use_by"})
#: Rings that call pieces out, where a lot may be named.
_OUT = frozenset({"pull", "pulled", "out"})
Answer = tuple[Heard, list[Doubt]]


def to_rung(sheet: Sheet, said: list[str], context: Context) -> list[Answer] | None:
    """Return what a short reply says to the newest reminder, or None if it does not answer it."""
    rung = context.rung
    if rung is None:
        return None
    later = _put_off(sheet, said, context)
    if later is not None:
        return [later]
    measured = _measured(sheet, rung, context)
    if measured is not None:
        return measured
    if _has_figure(sheet) or rung.what in _MEASURES or set(said) & _NO:
        return None
    if negated(said) or will_be(said) or _asks_more(said):
        return None
    first = _first_clause(sheet)
    told = [w for text in sheet.words(0, first) for w in text.split() if any(c.isalnum() for c in w)]
    if not (_says_done(sheet, first, told, rung) or _only_time(sheet)):
        return None
    answer = _done(sheet, first, told, rung, context)
    return None if answer is None else [answer, *_further(sheet, first, context)]


def _asks_more(said: list[str]) -> bool:
    return bool(set(said) & _ASKING)


def _has_figure(sheet: Sheet) -> bool:
    """True where a figure stands that is no time: the message tells more than that something was done."""
    for i, item in enumerate(sheet.items):
        amount = sheet.amount(i)
        if amount is not None and amount.kind != "time" and when_of(item, any_prep=bool(item.prep)) is None:
            return True
    return False


def _first_clause(sheet: Sheet) -> int:
    """Return where the first part of the reply ends."""
    for i in range(1, len(sheet.items)):
        if sheet.text(i) in {",", "and", "&", "+"} and any(
            sheet.items[j].kind in {"word", "term"} for j in range(i + 1, len(sheet.items))
        ):
            return i if when_of(sheet.items[i + 1]) is None else len(sheet.items)
    return len(sheet.items)


def _deeds(what: str) -> frozenset[str]:
    """Return the verbs that say that what was rung for is done."""
    own = {
        "pull": "pull",
        "pulled": "pull",
        "out": "pull",
        "heat": "heat",
        "rack": "rack",
        "light": "light",
        "racks": "racks",
        "rotate": "racks",
        "rotated": "racks",
        "fuel": "fuel",
        "water": "water",
    }
    return words("answers", "deeds") | words("answers", f"deeds_{own.get(what, 'other')}")


def _says_done(sheet: Sheet, end: int, told: list[str], rung: Rung) -> bool:
    """True if nothing but yes, a fitting verb of doing, a lot or a time was said."""
    deeds = _deeds(rung.what)
    rest = [
        w
        for i in range(end)
        for w in sheet.text(i).split()
        if any(c.isalpha() for c in w) and not _past_time(sheet, i) and not sheet.items[i].key("lot")
    ]
    pulls = rung.what in _OUT
    yes = set(told) & (_YES | deeds) or (pulls and any(sheet.items[i].key("lot") for i in range(end)))
    return bool(yes) and all(w in _YES or w in deeds or w in _BESIDE or w in _PARTLY for w in rest)


def _past_time(sheet: Sheet, i: int) -> bool:
    """True for a time with an hour, or a span ago: a day alone, or a bare figure, says nothing."""
    when = when_of(sheet.items[i], any_prep=bool(sheet.items[i].prep))
    return when is not None and (when.hour is not None or (when.span_s or 1) < 0 or when.now)


def _only_time(sheet: Sheet) -> bool:
    free = [
        i
        for i in range(len(sheet.items))
        if sheet.items[i].kind not in {"end", "sym"} and sheet.text(i) not in {"about", "at", "just"}
    ]
    return len(free) == 1 and _past_time(sheet, free[0])


def _put_off(sheet: Sheet, said: list[str], context: Context) -> Answer | None:
    """Read "in 10 min", "5 min", "give me 10": the person wants to be rung again."""
    if set(said) & {"ago", "since", "been", "for"} or len(said) > 6:
        return None
    seconds: float | None = None
    for item in sheet.items:
        when, amount = item.when, item.quantity
        if when is not None and when.span_s is not None and when.span_s > 0:
            seconds = when.span_s
        elif amount is not None and amount.kind == "time":
            seconds = amount.value
        elif amount is not None and amount.kind == "bare" and {"give", "gimme"} & set(said) and amount.value <= 120:
            seconds = amount.value * 60
    if seconds is None or seconds < 60:
        return None
    at, _ = moment(When(span_s=seconds), "at", "future", context)
    return Heard("ask", {"at": iso(at)} if at else {}, topic="remind"), []


def _measured(sheet: Sheet, rung: Rung, context: Context) -> list[Answer] | None:
    """Read the figure that was asked for; of several each one."""
    slot = RUNG_SLOT.get(rung.what) or _ASKED_BESIDE.get(rung.what)
    figures = [
        i for i in range(len(sheet.items)) if (a := sheet.amount(i)) and a.kind in {"bare", "temperature", "percent"}
    ]
    plain = all(
        item.quantity
        or item.text in {"and", ",", "&", "/"}
        or item.text in words("answers", "light")
        or item.kind == "end"
        for item in sheet.items
    )
    if slot is None or not figures or not plain:
        return None
    answers: list[Answer] = []
    for i in figures:
        amount = sheet.items[i].quantity
        assert amount is not None
        slots, doubt = value_of(slot, amount, context)
        if rung.what in _ASKED_BESIDE and _like_the_core(slots.get(slot), context):
            return None
        if rung.lot and len(figures) == 1:
            slots["lot"] = rung.lot
        sheet.take(i, i, "answer to what was rung for", slot)
        answers.append((Heard("reading", slots), [doubt] if doubt else []))
    return answers


def _like_the_core(value: float | None, context: Context) -> bool:
    """True for a figure that goes on from the core that the same person read last."""
    before = context.last.slots.get("core_c") if context.last is not None else None
    return value is not None and before is not None and abs(value - float(before)) < _NEAR_K


def _done(sheet: Sheet, end: int, told: list[str], rung: Rung, context: Context) -> Answer | None:
    """Return the event that a "done" means."""
    slots: dict[str, Any] = dict(_EVENT.get(rung.what, {}))
    if not slots:
        if rung.stage is None or rung.what in _NO_DEED:
            return None
        slots = {"stage": rung.stage, "started" if rung.what in _STARTS else "done": True}
        if rung.what == "pull" and (rung.stage == "smoke" or set(sheet.words(0, end)) & _PARTLY):
            slots = {"what": "pulled"}
    if rung.what in _OUT:
        lot = next((lot for i in range(end) if (lot := lot_at(sheet, i, context))), rung.lot)
        if lot and rung.what == "out":
            slots = {"what": "pulled"}  # one lot's, not the end of the smoke
        slots.update({"lot": lot} if lot else {})
    doubts: list[Doubt] = []
    for i in range(end):
        if _past_time(sheet, i):
            found, doubt = time_slot(sheet, i, "at", "past", context)
            slots.update(found)
            if doubt is not None and not doubt.options:
                return None  # "at 8" where eight is still to come
            doubts += [doubt] if doubt else []
            break
    return Heard("event", slots), doubts


def _further(sheet: Sheet, start: int, context: Context) -> list[Answer]:
    """Return the event told behind the answer: ``done, rinsed too``."""
    if start + 1 >= len(sheet.items):
        return []
    event = read_event(sheet, (start + 1, len(sheet.items)), context)
    return [(Heard("event", event.slots), [event.doubt] if event.doubt else [])] if event is not None else []
