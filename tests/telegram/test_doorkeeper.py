"""Who is answered, and that the invite word cannot be found by trying."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from bot.doorkeeper import PAUSE, REMEMBERED, TOLD, TRIES, Doorkeeper, Ruling

NOW = datetime(2026, 3, 6, 18, 0, tzinfo=UTC)
WORD = "Kelp-Lantern"


def door() -> Doorkeeper:
    return Doorkeeper.of(["10"], WORD)


def test_the_allow_list_and_remembered_chats_are_served() -> None:
    assert door().rule("10", "1", "hi", NOW) is Ruling.SERVE
    assert door().rule("11", "1", "hi", NOW, known=True) is Ruling.SERVE


def test_a_stranger_hears_the_line_once_in_a_while() -> None:
    keeper = door()
    assert keeper.rule("12", "1", "hi", NOW) is Ruling.DECLINE
    assert keeper.rule("12", "1", "hi", NOW + TOLD - timedelta(seconds=1)) is Ruling.IGNORE
    assert keeper.rule("12", "1", "hi", NOW + TOLD) is Ruling.DECLINE


def test_the_word_lets_in_whatever_its_capitals() -> None:
    keeper = door()
    assert keeper.rule("12", "1", f" {WORD.upper()}\n", NOW) is Ruling.WELCOME
    assert keeper.rule("13", "1", f"{WORD} please", NOW) is Ruling.DECLINE


def test_after_wrong_tries_not_even_the_right_word_is_heard_for_a_while() -> None:
    keeper = door()
    for number in range(TRIES):
        keeper.rule("12", "1", f"guess {number}", NOW)
    assert keeper.rule("12", "1", WORD, NOW) is Ruling.IGNORE
    assert keeper.rule("12", "1", WORD, NOW + PAUSE) is Ruling.WELCOME


def test_another_chat_gives_a_person_no_more_tries() -> None:
    keeper = door()
    for number in range(TRIES):
        keeper.rule(f"2{number}", "1", f"guess {number}", NOW)
    assert keeper.rule("30", "1", WORD, NOW) is not Ruling.WELCOME
    assert keeper.rule("31", "2", WORD, NOW) is Ruling.WELCOME


def test_another_person_gives_a_chat_no_more_tries() -> None:
    keeper = door()
    for number in range(TRIES):
        keeper.rule("20", f"{number}", f"guess {number}", NOW)
    assert keeper.rule("20", "99", WORD, NOW) is not Ruling.WELCOME


def test_no_invite_word_lets_nobody_in() -> None:
    for invite in (None, ""):
        keeper = Doorkeeper.of([], invite)
        assert keeper.rule("12", "1", "", NOW) is Ruling.DECLINE
        assert keeper.rule("13", "2", "None", NOW) is Ruling.DECLINE


@given(st.text().filter(lambda t: t.strip().casefold() != WORD.casefold()))
def test_nothing_but_the_word_lets_in(text: str) -> None:
    assert door().rule("12", "1", text, NOW) is Ruling.DECLINE


def test_strangers_take_a_bounded_memory() -> None:
    keeper = door()
    for number in range(REMEMBERED):
        keeper.rule(f"c{number}", f"s{number}", "hi", NOW)
    assert len(keeper._strangers) <= REMEMBERED
