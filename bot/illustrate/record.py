"""The record of a batch: what its journal proves, with pictures and photos."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from bot.documents.batch_record import record_pdf
from bot.documents.records import BatchRecord, Gate, Override, RecordImage
from bot.illustrate.batches import Case
from bot.illustrate.keeping import finished_g, last_day
from bot.illustrate.photos import photos
from bot.illustrate.pictures import draw, worth_showing
from bot.illustrate.proofs import proofs
from bot.say import papers as words
from bot.say import shown
from planner.entries import Entry, Kind, standing
from planner.plan import Notice

#: The pictures of a record, in the order of work.
_PICTURES = ("soak", "dry", "cook", "cool")
#: What a verdict's keys are called there.
_APART = {"of": "about_entry"}


def record_document(case: Case, folder: Path) -> bytes:
    """The record as a PDF; ``folder`` is where photos are kept."""
    return record_pdf(batch_record(case, folder), "Letter" if case.habit.units == "us" else "A4")


def batch_record(case: Case, folder: Path) -> BatchRecord:
    """Everything that the record shows, reckoned from the journal as of the case's moment."""
    plan, pen = case.plan, case.pen
    return BatchRecord(
        batch=case.code,
        name=case.name,
        species=words.species_name(plan.making),
        habit=case.habit,
        printed_at=case.now,
        entries=tuple(told_apart(entry) for entry in case.file.entries),
        summary=tuple(words.summary(plan, last_day(case), finished_g(plan), pen)),
        gates=tuple(
            Gate(words.gate_name(g), g.open, words.gate_how(g, plan, pen), g.source, proofs(g, plan))
            for g in plan.gates
        ),
        overrides=tuple(_overrides(case)),
        pictures=tuple(_pictures(case, folder)),
        photos=tuple(photos(case.file.entries, folder)),
    )


def told_apart(entry: Entry) -> Entry:
    """An entry as the record shows it: what the tool said stands as words, with its rules below.

    The tables keep an entry whole.
    """
    if "text" not in entry.data:
        return entry
    facts = [fact for fact in entry.data.get("facts", ()) if fact.get("kind") == "verdict"]
    reasons = [reason for fact in facts for reason in fact.get("reasons", ())]
    rest = {_APART.get(key, key): value for key, value in entry.data.items() if key not in ("text", "facts")}
    lines = [line for line in str(entry.data["text"]).splitlines() if line]
    return replace(entry, words=" · ".join(lines), data=rest | ({"reasons": reasons} if reasons else {}))


def _overrides(case: Case) -> Iterator[Override]:
    for entry in standing(case.file.entries):
        if entry.kind is Kind.CHOICE and entry.data.get("override"):
            values = {"at": entry.happened_at.isoformat(), "stage": str(entry.data.get("stage") or "")}
            yield Override(words.override(Notice("went_on_anyway", "", values), case.pen), entry.number)


def _pictures(case: Case, folder: Path) -> Iterator[RecordImage]:
    for what in _PICTURES:
        if worth_showing(what, case.plan):
            yield RecordImage(draw(what, case, folder), shown.caption(what))
