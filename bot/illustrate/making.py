"""From a reference to bytes: each picture and paper by its name."""

from __future__ import annotations

from pathlib import Path

from bot.documents.records import Made
from bot.illustrate.batches import Case
from bot.illustrate.pictures import draw, worth_showing
from bot.illustrate.references import PICTURES, Reference
from bot.say import shown
from bot.say.format import Pen
from planner.plan import Plan

#: How the file of each ends.
SUFFIX = {
    **dict.fromkeys((*PICTURES, "label"), ".png"),
    "labels": ".pdf",
    "record": ".pdf",
    "table": ".csv",
    "journal": ".json",
    "calendar": ".ics",
}


class NotToBeMade(Exception):
    """Why this must not, or cannot yet, be made; words for the person."""


def make_file(wanted: Reference, case: Case, folder: Path) -> Made:
    """The file's bytes, and what to tell of them; raises NotToBeMade. ``folder`` is where photos are kept."""
    refusal = refused(wanted.what, case.plan, case.file.name, case.pen)
    if refusal is not None:
        raise NotToBeMade(refusal)
    if wanted.what in PICTURES:
        return Made(draw(wanted.what, case, folder))
    return _paper(wanted, case, folder)


def refused(what: str, plan: Plan, name: str, pen: Pen) -> str | None:
    """Why it must not, or cannot yet, be made; None where it can."""
    label = what in ("label", "labels")
    if label and plan.lost:
        return shown.lost_no_label(name)
    return None if worth_showing("card" if label else what, plan) else shown.not_yet(what, plan, pen)


def _paper(wanted: Reference, case: Case, folder: Path) -> Made:
    match wanted.what:
        case "label" | "labels":
            from bot.illustrate.labels import label_picture, label_sheet

            lot = wanted.lot
            return label_picture(case, lot) if wanted.what == "label" else label_sheet(case, wanted.count, lot)
        case "record":
            from bot.illustrate.record import record_document

            return Made(record_document(case, folder))
        case "table":
            from bot.documents.table import record_csv

            return Made(record_csv(case.file.entries, case.chat.zone))
        case "journal":
            from bot.documents.table import record_json

            file = case.file
            return Made(record_json(file.entries, str(file.number), file.name, case.chat.zone))
        case "calendar":
            from bot.illustrate.calendar import calendar_file

            return Made(calendar_file(case))
    raise ValueError(f"no paper is called {wanted.what!r}")
