"""Every picture, in every case: nothing overlaps, nothing is cut, nothing is too small to read."""

from __future__ import annotations

import io
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.figure import Figure
from PIL import Image

from bot.pictures.card import draw_card
from bot.pictures.cook import cook_png, draw_cook
from bot.pictures.cool import draw_cool
from bot.pictures.dry import draw_dry
from bot.pictures.look import BODY, WIDTH, png
from bot.pictures.plan import draw_plan
from bot.pictures.records import PlanPicture
from bot.pictures.soak import draw_soak
from planner.stages import ORDER
from tests.bot.pictures import cases
from tests.bot.pictures.seen import curves_cut, cut, overlaps, small, words

CHAT_LETTERS_PX = 14  #: a chat's letters on a screen 360 pixels wide

ALL = [
    pytest.param(draw, record, id=f"{draw.__name__[5:]}-{name}")
    for draw, group in (
        (draw_plan, cases.PLANS),
        (draw_cook, cases.COOKS),
        (draw_soak, cases.SOAKS),
        (draw_dry, cases.DRYINGS),
        (draw_cool, cases.COOLINGS),
        (draw_card, cases.CARDS),
    )
    for name, record in group.items()
]


def complaints(figure: Figure) -> list[str]:
    """Everything that is wrong with the figure."""
    least = CHAT_LETTERS_PX * WIDTH / 360
    return [*overlaps(figure), *cut(figure), *small(figure, least), *curves_cut(figure)]


@pytest.mark.parametrize(("draw", "record"), ALL)
def test_nothing_overlaps_or_is_cut(draw: Any, record: Any) -> None:
    figure = draw(record)
    assert complaints(figure) == []
    assert words(figure)


def test_the_check_sees_overlap_cut_and_small_letters() -> None:
    figure = Figure(figsize=(5, 5), dpi=144)
    figure.text(0.5, 0.5, "one", fontsize=14)
    figure.text(0.51, 0.5, "other", fontsize=14)
    figure.text(0.99, 0.2, "off the page", fontsize=14)
    figure.text(0.1, 0.1, "tiny", fontsize=8)
    area = figure.add_subplot()
    area.plot([0, 5], [0, 5])
    area.set_xlim(0, 1)
    assert overlaps(figure) == ["'one' over 'other'"]
    assert "off the page" in cut(figure)
    assert "tiny" in small(figure, BODY)
    assert len(curves_cut(figure)) == 1


def test_a_png_is_720_wide_and_portrait() -> None:
    with Image.open(io.BytesIO(cook_png(cases.COOKS["three_lots_us"]))) as picture:
        assert picture.format == "PNG"
        assert picture.width == WIDTH
        assert picture.height > picture.width
        picture.load()


def test_the_same_record_gives_the_same_bytes_in_any_thread() -> None:
    record = cases.COOKS["three_lots_us"]
    alone = cook_png(record)
    with ThreadPoolExecutor(4) as pool:
        assert set(pool.map(cook_png, [record] * 6)) == {alone}


@st.composite
def any_plan(draw: st.DrawFn) -> PlanPicture:
    """A plan of any stages, lengths, lots and names."""
    names = tuple(dict.fromkeys(draw(st.lists(st.text(min_size=1, max_size=60), max_size=4))))
    stages, start = [], 0.0
    for kind in draw(st.lists(st.sampled_from(ORDER), min_size=1, max_size=8, unique=True)):
        length = draw(st.floats(0.05, 20))
        for lot in draw(st.sampled_from([(None,), names or (None,)])):
            end = start + length * draw(st.floats(0.5, 1.5))
            slack = (draw(st.floats(0, end - start)), draw(st.floats(0, 6)))
            stages.append(cases.stage(kind, start, end, *slack, lot=lot))
        start += length
    now = cases.h(draw(st.floats(-100, 100)))
    habit = draw(st.sampled_from([cases.US, cases.METRIC]))
    return PlanPicture(habit, now, draw(st.text(max_size=90)), tuple(stages), names)


@settings(max_examples=15, deadline=None)
@given(any_plan())
def test_any_plan_can_be_drawn_and_read(plan: PlanPicture) -> None:
    assert complaints(draw_plan(plan)) == []


def test_what_a_plan_says_of_its_stages_is_on_the_picture() -> None:
    said = {text.get_text() for text, _ in words(draw_plan(cases.PLANS["three_lots_us"]))}
    # Soak runs 0.5 h to 13 h after 17:30 on Friday, Pacific Daylight Time.
    assert "Fri 6:00 pm – Sat 6:30 am" in said
    assert {"Thaw", "Soak", "Dry", "Smoke", "Cool", "Chill", "Pack"} <= said
    assert {"small", "medium", "large"} <= said


def test_a_deadline_that_passed_without_a_reading_is_not_called_met() -> None:
    said = [text.get_text() for text, _ in words(draw_cool(cases.COOLINGS["three_metric"]))]
    assert "not shown in time" in said
    assert not any(line.startswith("met") for line in said)


def test_an_unreadable_photo_leaves_a_card_that_says_so() -> None:
    for broken in (b"", b"%PDF-1.7 not a picture", cases.photo()[:400], b"\x89PNG\r\n\x1a\n"):
        figure = draw_card(replace(cases.CARD, photo=broken))
        assert complaints(figure) == []
        assert "The photo could not be opened." in [text.get_text() for text, _ in words(figure)]


def test_a_huge_photo_is_refused_before_it_is_unpacked() -> None:
    huge = cases.photo(9000, 6000, "PNG")
    said = [text.get_text() for text, _ in words(draw_card(replace(cases.CARD, photo=huge)))]
    assert "The photo could not be opened." in said


def test_an_empty_figure_is_still_a_png() -> None:
    assert png(Figure()).startswith(b"\x89PNG")
