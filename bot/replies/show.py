"""A picture or a paper that was asked for: named in the answer's files, and made later."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bot import facts
from bot.illustrate.making import refused
from bot.illustrate.references import EVERYTHING, Reference
from bot.replies.asked_to_show import ANY, Wish
from bot.replies.part import Labelled, Part, pen_of
from bot.say import shown
from bot.say.words import fish
from bot.work import Work
from planner.batch import WHOLE
from planner.plan import Plan
from planner.stages import Stage
from scheduler.turn import BatchFile

#: Labels made at once, and how many lie on the sheet that is proposed.
_MOST_LABELS = 500
_ON_A_SHEET = {"us": 10}
_ON_A_SHEET_ELSE = 14


def show(work: Work, slots: Mapping[str, Any], *, batch: BatchFile | None = None) -> Part:
    """Answer a wish as it was heard."""
    if slots["show"] == "all":
        return Part(shown.EVERYTHING, (facts.answer("show", {"what": "all"}),), files=(EVERYTHING,))
    return grant(work, Wish(str(slots["show"]), slots.get("count"), slots.get("of")), batch=batch)


def grant(work: Work, wish: Wish, *, batch: BatchFile | None = None) -> Part:
    """The line that the picture or paper comes with, and its reference; or why it cannot be."""
    file = batch or work.focus or _newest(work)
    if file is None:
        return Part(shown.NO_BATCH)
    lot: str | None = None
    if wish.of is not None:
        found = _meant(work, file, wish.of)
        if found is None:
            return Part(shown.which_batch(wish.of, [f.name for f in work.running or work.files.values()]))
        file, lot = found
    return _granted(work, file, wish, lot)


def _granted(work: Work, file: BatchFile, wish: Wish, lot: str | None) -> Part:
    plan = work.plan(file)
    what, count = _what(wish, plan), wish.count or 0
    refusal = refused(what, plan, file.name, pen_of(work)) or _bad_count(wish)
    if refusal is not None:
        return Part(refusal, (facts.answer("show", {"what": what, "batch": file.number}),))
    reference = Reference(what, file.number, count, lot)
    values = {"what": what, "batch": file.number, **({"count": count} if count else {})}
    return Part(
        shown.beside(what, file.name, count),
        (facts.answer("show", values),),
        _likely(work, what),
        files=(str(reference),),
    )


def _newest(work: Work) -> BatchFile | None:
    """The batch that was closed last, where none runs."""
    return list(work.files.values())[-1] if work.files else None


def _what(wish: Wish, plan: Plan) -> str:
    if wish.what == "labels":
        return "label" if wish.count is None else "labels"
    return _by_stage(plan) if wish.what == ANY else wish.what


def _by_stage(plan: Plan) -> str:
    """The picture that suits where the batch is."""
    if plan.batch.packed:
        return "card"
    if not plan.now.begun:
        return "cool" if plan.coolings else "plan"
    return {
        Stage.SOAK: "soak",
        Stage.SALT: "soak",
        Stage.DRY: "dry",
        Stage.SMOKE: "cook",
        Stage.COOL: "cool",
        Stage.CHILL: "cool",
    }.get(plan.now.stage, "plan")


def _bad_count(wish: Wish) -> str | None:
    if wish.count is None:
        return None
    if wish.count < 1:
        return shown.NONE_AT_ALL
    return shown.too_many(_MOST_LABELS) if wish.count > _MOST_LABELS else None


def _likely(work: Work, what: str) -> tuple[Labelled, ...]:
    sheet = _ON_A_SHEET.get(work.chat.units or "", _ON_A_SHEET_ELSE)
    return {
        "plan": (("As a calendar", {"say": "calendar"}),),
        "card": (("Labels", {"say": "labels"}), ("Record", {"say": "record"})),
        "label": ((f"{sheet} labels", {"say": f"{sheet} labels"}),),
        "labels": (("Card", {"say": "card"}), ("Record", {"say": "record"})),
        "record": (("As a table", {"say": "csv"}), ("Labels", {"say": "labels"})),
    }.get(what, ())


# --- which batch, which lot ---------------------------------------------------------------------------

_CUTS = ("fillet", "side", "belly", "steak", "chunk", "strip", "collar", "whole")
_FILLERS = frozenset({"ones", "batch", "pieces", "fish", "it", "them", "all", "everything"})


def _meant(work: Work, file: BatchFile, words: str) -> tuple[BatchFile, str | None] | None:
    """The batch, and the lot of it, that words point at; None where they name neither."""
    said = {_singular(word) for word in words.casefold().split()}
    if not said - _FILLERS:
        return file, None
    for one in (file, *reversed(work.files.values())):
        lot = next((n for n in _lots(work, one) if {_singular(w) for w in n.casefold().split()} & said), None)
        if lot is not None:
            return one, lot
    for one in (file, *reversed(work.files.values())):
        if said & _names(work, one):
            return one, None
    # "The belly" is enough where only one batch can be meant, whatever cut was told of it.
    return (file, None) if len(work.running) == 1 and said <= _FILLERS | set(_CUTS) else None


def _lots(work: Work, file: BatchFile) -> list[str]:
    return [lot.name for lot in work.batch(file).lots if lot.name != WHOLE]


def _names(work: Work, file: BatchFile) -> set[str]:
    """Words by which people call the batch: its name, its number, its fish, its cut."""
    told = work.batch(file).told
    words = {*file.name.split(), *fish(told.get("species")).split(), *str(told.get("species", "")).split("_")}
    more = (str(told.get("form", "")), str(file.number))
    return {_singular(word.casefold()) for word in (*words, *more) if word}


def _singular(word: str) -> str:
    word = word.strip("\"'").removesuffix("'s")
    if word.endswith("ies"):
        return f"{word[:-3]}y"
    return word.removesuffix("s") if len(word) > 3 else word
