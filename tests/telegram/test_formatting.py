"""Texts and buttons fit what Telegram takes, whatever is in them."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st
from telegram.constants import InlineKeyboardButtonLimit, MessageLimit

from bot.messengers import formatting

BEYOND_BASIC_PLANE = "\N{FISH}"


def test_the_limits_are_the_messengers() -> None:
    assert formatting.TEXT_LIMIT == MessageLimit.MAX_TEXT_LENGTH
    assert formatting.CAPTION_LIMIT == MessageLimit.CAPTION_LENGTH


def test_a_fitting_text_stays_one() -> None:
    text = "Not yet: core 52 °C\nas it should\n\nNext look 14:10"
    assert formatting.split(text) == [text]


def test_a_long_text_is_cut_at_the_end_of_a_line() -> None:
    assert formatting.split("one two\nthree four\nfive", 12) == ["one two", "three four", "five"]


def test_a_long_line_is_cut_at_a_space_and_a_long_word_anywhere() -> None:
    assert formatting.split("soak until morning", 12) == ["soak until", "morning"]
    assert formatting.split("x" * 25, 10) == ["x" * 10, "x" * 10, "x" * 5]


def test_length_counts_as_the_messenger_does() -> None:
    assert formatting.length(f"a{BEYOND_BASIC_PLANE}") == 3
    assert formatting.split(BEYOND_BASIC_PLANE * 5, 4) == [BEYOND_BASIC_PLANE * 2] * 2 + [BEYOND_BASIC_PLANE]


@given(st.text(alphabet=f"ab \n{BEYOND_BASIC_PLANE}", max_size=300), st.integers(2, 40))
def test_every_part_fits_and_nothing_but_space_is_lost(text: str, limit: int) -> None:
    parts = formatting.split(text, limit)
    assert all(formatting.length(part) <= limit for part in parts)
    assert re.sub(r"\s", "", "".join(parts)) == re.sub(r"\s", "", text)


@given(st.integers(0, 10**18 - 1), st.integers(0, 99))
def test_callback_data_fits_and_is_read_back(message: int, index: int) -> None:
    data = formatting.callback_data(message, index)
    assert len(data.encode()) <= InlineKeyboardButtonLimit.MAX_CALLBACK_DATA
    assert formatting.parse_callback(data) == (message, index)


@given(st.none() | st.text() | st.sampled_from(["1:", ":1", "-1:0", "1:-1", "1:0 ", "٣:١", "9" * 19 + ":0", "1:100"]))
def test_other_callback_data_is_nobodys(data: str | None) -> None:
    read = formatting.parse_callback(data)
    assert read is None or formatting.callback_data(*read) == data


def test_short_buttons_share_a_row_and_long_ones_do_not() -> None:
    labels = ["Done", "In 20 min", "I've got it, going down now", "Why?"]
    markup = formatting.keyboard(7, labels)
    assert markup is not None
    rows = [[button.text for button in row] for row in markup.inline_keyboard]
    assert rows == [labels[:2], labels[2:3], labels[3:]]
    assert formatting.keyboard(7, []) is None
