"""Letters that cannot be drawn are marked, lines fit, and nothing is lost in between."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.pictures.lettering import MISSING, all_printable, printable, shorten, text_width, wrap


@pytest.mark.parametrize(
    "text",
    ["Großmutters Räucherlachs", "Θεσσαλονίκη", "Владивосток", "Þingvellir, Łódź, İzmir", "½ lb – 62.8 °C"],
)
def test_latin_greek_and_cyrillic_are_drawn_as_they_are(text: str) -> None:
    assert printable(text) == text
    assert all_printable(text)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("鮭の燻製 coho", f"{MISSING} coho"),
        ("belly 🐟🐟 best", f"belly {MISSING} best"),
        ("सामन", MISSING),
        ("سلمون", MISSING),  # would come out unjoined and the wrong way round
        ("סלמון", MISSING),
        ("a\x00b\x07c", "a b c"),
        ("left\u202eright", "leftright"),  # an override of direction would turn what follows
    ],
)
def test_what_cannot_be_drawn_is_marked_once_a_run(text: str, shown: str) -> None:
    assert printable(text) == shown
    assert all_printable(text) is (MISSING not in shown)


@given(st.text(max_size=300))
def test_printable_text_stays_as_it_is(text: str) -> None:
    once = printable(text)
    assert printable(once) == once
    assert "\n" not in once


@given(st.text(max_size=300), st.floats(60, 700), st.booleans())
def test_wrapped_lines_fit_and_keep_every_letter(text: str, width: float, bold: bool) -> None:
    lines = wrap(text, width, 28, bold)
    assert all(text_width(line, 28, bold) <= width for line in lines if len(line) > 1)
    assert "".join(lines).replace(" ", "") == printable(text).replace(" ", "")


@given(st.text(max_size=6000), st.integers(1, 4))
def test_no_more_lines_than_asked_and_a_cut_shows(text: str, most: int) -> None:
    lines = wrap(text, 300, 28, False, most)
    assert len(lines) <= most
    if len(wrap(text, 300, 28)) > most:
        assert lines[-1].endswith("…")


@given(st.text(min_size=1, max_size=200), st.floats(80, 400))
def test_a_shortened_text_fits(text: str, width: float) -> None:
    plain = printable(text)
    assert text_width(shorten(plain, width, 28), 28) <= width
