"""Labels: what stands on a pack, and on which sheet it is printed."""

from __future__ import annotations

from bot.documents.label_layout import LabelTooSmall
from bot.documents.labels import label_png, label_sheet_pdf
from bot.documents.records import Ingredient, Label, Made
from bot.illustrate.batches import Case
from bot.illustrate.keeping import last_day, made_at
from bot.say import papers as words
from bot.say.words import fish

#: Sheets to try, the one with the most labels first; a larger one where the cautions do not fit.
_SHEETS = {"us": ("2x5 on Letter", "2x3 on Letter"), "metric": ("2x7 on A4", "2x4 on A4")}


def label_of(case: Case, lot: str | None = None) -> Label:
    """The label of a batch, or of one lot of it."""
    plan, by = case.plan, last_day(case)
    making = plan.making
    return Label(
        habit=case.habit,
        batch=case.code,
        title=words.label_title(making, fish(plan.batch.told.get("species")), lot),
        species=words.species_name(making),
        ingredients=_ingredients(case),
        made_on=case.day(made_at(case)),
        keep_by=by,
        keep_how=words.keep_how(plan, by is not None, case.pen),
        cautions=words.cautions(plan, case.pen, lot),
    )


def _ingredients(case: Case) -> tuple[Ingredient, ...]:
    plan = case.plan
    listed = [Ingredient(words.species_name(plan.making), ("fish",)), Ingredient("salt")]
    if plan.brine is not None and plan.brine.sugar_g >= 1.0:
        listed.append(Ingredient("sugar"))
    return (*listed, Ingredient(words.smoke_of(str(plan.batch.told.get("wood", "")))))


def label_picture(case: Case, lot: str | None = None) -> Made:
    """A single label as a PNG."""
    return label_png(label_of(case, lot))


def label_sheet(case: Case, count: int, lot: str | None = None) -> Made:
    """So many labels as a PDF, on the first sheet on which everything that must stand there fits whole."""
    label = label_of(case, lot)
    names = _SHEETS[case.habit.units]
    for name in names[:-1]:
        try:
            made = label_sheet_pdf(label, count, name)
        except LabelTooSmall:
            continue
        if not made.notes:
            return made
    return label_sheet_pdf(label, count, names[-1])
