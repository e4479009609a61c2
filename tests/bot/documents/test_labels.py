"""Labels: what must stand on one stands on it, whole, inside its edges and clear of the code."""

from __future__ import annotations

import io
import math
import re
from dataclasses import replace
from itertools import pairwise

import pytest
import segno
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from PIL import Image

from bot.documents import words
from bot.documents.label_layout import LabelTooSmall, Layout, lay_out
from bot.documents.label_text import qr_text
from bot.documents.labels import MM_PER_INCH, PNG_DPI, PNG_SIZE_MM, label_png, label_sheet_pdf, qr_modules
from bot.documents.records import Ingredient, Label
from bot.documents.sheets import PAGES_MM, SHEETS, Sheet
from bot.pictures.lettering import printable, text_width
from tests.bot.documents.cases import LABEL, LONG_WORDS, MARKUP, ONE_WORD, SCRIPTS

CAUTIONS = ("Not shown to have been hot enough: heat to 74 °C before eating.", "Cooling was not shown in time.")


def text_of(layout: Layout) -> str:
    """All words of a label, as they follow each other."""
    return " ".join(run.text for run in layout.runs).replace("\u00a0", " ")


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=list(SHEETS))
def test_labels_lie_on_the_paper_and_apart(sheet: Sheet) -> None:
    wide, tall = PAGES_MM[sheet.page]
    corners = [sheet.corner_mm(place) for place in range(sheet.places)]
    for x, y in corners:
        assert 0 <= x <= wide - sheet.width_mm + 0.01
        assert 0 <= y <= tall - sheet.height_mm + 0.01
    for n, (x, y) in enumerate(corners):
        for other_x, other_y in corners[:n]:
            beside, below = abs(x - other_x) - sheet.width_mm, abs(y - other_y) - sheet.height_mm
            assert max(beside, below) >= -1e-9


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=list(SHEETS))
def test_a_usual_label_fits_every_sheet_whole(sheet: Sheet) -> None:
    layout = lay_out(LABEL, sheet.width_mm, sheet.height_mm, sheet.pad_mm)
    assert layout.notes == ()
    said = text_of(layout)
    for part in ("Hot-smoked coho belly", "Made Sep 12, 2026.", "Keep by Sep 26, 2026.", "Batch 12", LABEL.keep_how):
        assert part in said
    assert words.at_risk(LABEL.habit) in said
    assert words.LABEL_FOOD_CODES in said
    bold = " ".join(run.text for run in layout.runs if run.bold)
    assert "Contains fish, soy, wheat." in bold
    assert "coho salmon," in bold
    assert "soy sauce," in bold
    assert "alder" not in bold


@st.composite
def labels(draw: st.DrawFn) -> Label:
    """Any label a person might ask for, and some that nobody would."""
    free = st.text(max_size=60) | st.sampled_from([LONG_WORDS, ONE_WORD, MARKUP, SCRIPTS, "salt"])
    return replace(
        LABEL,
        title=draw(free),
        species=draw(free),
        ingredients=tuple(draw(st.lists(st.builds(Ingredient, free, st.sampled_from([(), ("fish",)])), max_size=12))),
        keep_how=draw(free),
        keep_by=draw(st.sampled_from([LABEL.keep_by, None])),
        cautions=tuple(draw(st.lists(st.sampled_from([*CAUTIONS, "x " * 60]), max_size=3))),
        batch=draw(free),
    )


@settings(max_examples=60, deadline=None)
@given(labels(), st.sampled_from([(63.5, 38.1), (99.1, 67.7), (101.6, 50.8), (100.0, 66.0)]))
def test_words_stay_inside_and_clear_of_the_code(label: Label, size: tuple[float, float]) -> None:
    try:
        layout = lay_out(label, *size)
    except LabelTooSmall:
        assume(False)
    left, top, side = layout.qr_mm
    assert left + side <= size[0]
    for run in layout.runs:
        right = run.x_mm + text_width(run.text, run.size_mm, run.bold)
        assert run.x_mm >= 0
        assert right <= size[0]
        assert run.size_mm <= run.y_mm <= size[1]
        beside = run.y_mm - run.size_mm < top + side
        assert not beside or right <= left or len(run.text) == 1
    baselines = sorted({(run.y_mm, run.size_mm) for run in layout.runs})
    for (above, _), (below, em) in pairwise(baselines):
        assert below - above >= em
    said = text_of(layout)
    for caution in label.cautions:
        assert printable(caution) in said
    assert "Contains fish" in said
    assert words.LABEL_FOOD_CODES in said


def test_a_text_of_5000_letters_is_cut_and_said_so() -> None:
    label = replace(LABEL, ingredients=(Ingredient("coho", ("fish",)), Ingredient("spice " * 833, ("mustard",))))
    made = label_png(label)
    (note,) = made.notes
    assert re.search(r"The ingredients text has 5,0\d\d characters and only the first \d+ fit", note)
    layout = lay_out(label, *PNG_SIZE_MM)
    assert "Contains fish, mustard." in text_of(layout)  # what the cut list no longer shows
    assert "…" in text_of(layout)


def test_how_to_keep_it_is_not_cut_for_want_of_room() -> None:
    label = replace(LABEL, cautions=CAUTIONS, keep_by=None)
    assert LABEL.keep_how in text_of(lay_out(label, 63.5, 38.1))


def test_cautions_that_do_not_fit_are_refused_not_dropped() -> None:
    with pytest.raises(LabelTooSmall, match="40 x 20 mm cannot hold the cautions"):
        lay_out(replace(LABEL, cautions=CAUTIONS), 40, 20)


def test_a_product_without_a_date_says_so() -> None:
    said = text_of(lay_out(replace(LABEL, keep_by=None), *PNG_SIZE_MM))
    assert words.NO_KEEP_BY in said
    assert "Keep by" not in said


def test_letters_without_a_glyph_are_noted() -> None:
    assert label_png(replace(LABEL, title=SCRIPTS)).notes == (words.missing_letters_note(),)


def test_fish_is_named_even_where_no_ingredient_was_given() -> None:
    assert "Contains fish." in text_of(lay_out(replace(LABEL, ingredients=()), *PNG_SIZE_MM))


@pytest.mark.parametrize(("count", "skip", "pages"), [(12, 0, 1), (24, 0, 1), (25, 0, 2), (22, 3, 2), (100, 23, 6)])
def test_as_many_pages_as_the_labels_need(count: int, skip: int, pages: int) -> None:
    pdf = label_sheet_pdf(LABEL, count, "3x8 on A4", skip).data
    assert pages == math.ceil((count + skip) / 24)
    assert len(re.findall(rb"/Type /Page\b(?!s)", pdf)) == pages
    assert pdf.startswith(b"%PDF-")


def test_the_same_label_gives_the_same_file() -> None:
    assert label_sheet_pdf(LABEL, 12, "2x5 on Letter") == label_sheet_pdf(LABEL, 12, "2x5 on Letter")
    assert label_png(LABEL) == label_png(LABEL)


def test_wrong_counts_and_sheets_are_refused() -> None:
    for count in (0, -3, 501):
        with pytest.raises(ValueError, match=f"between 1 and 500 labels can be made at once, not {count}"):
            label_sheet_pdf(LABEL, count, "3x8 on A4")
    with pytest.raises(ValueError, match="there are 3x8 on A4"):
        label_sheet_pdf(LABEL, 1, "9x9 on A4")


def test_the_code_on_the_png_is_the_code_of_the_summary() -> None:
    made = Image.open(io.BytesIO(label_png(LABEL).data))
    assert made.info["dpi"] == pytest.approx((300, 300), abs=0.1)
    modules = qr_modules(qr_text(LABEL))
    left, top, side = (v * PNG_DPI / MM_PER_INCH for v in lay_out(LABEL, *PNG_SIZE_MM).qr_mm)
    step = int(side // len(modules))
    corner = round(left + side) - step * len(modules), round(top)
    for row, line in enumerate(modules):
        for column, dark in enumerate(line):
            dot = made.getpixel((corner[0] + column * step + step // 2, corner[1] + row * step + step // 2))
            assert (dot < 128) is dark
    bare = segno.make_qr(qr_text(LABEL), error="l", encoding="utf-8").matrix
    assert len(modules) == len(bare) + 8  # a margin of four modules at each side


def test_the_summary_says_what_matters() -> None:
    assert qr_text(LABEL).startswith(
        "Hot-smoked coho belly. Batch 12. Contains fish, soy, wheat. Made 2026-09-12. Keep by 2026-09-26."
    )


@given(labels(), st.sampled_from(["https://a.example/x", "www.fish.example", "fish.example", "mailto:a@b.example"]))
def test_the_summary_is_short_and_holds_no_address(label: Label, address: str) -> None:
    text = qr_text(replace(label, title=f"{label.title[:5]} {address}", keep_how=address))
    assert len(text.encode()) <= 150
    assert "://" not in text
    assert not re.search(r"[^\W\d_]\.[^\W\d_]{2}", text)
    segno.make_qr(text, error="l", encoding="utf-8")
