"""The Telegram door: what of the settings reaches the bot, and what is said where something lacks."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from bot.cli import main
from bot.complaints import WrongCall
from bot.doors.opening import Which, database_url, new_chat
from bot.doors.telegram import telegram_settings
from bot.doors.words import COMMANDS, TelegramWords
from bot.settings import Settings
from bot.understanding import Context, understand
from tests.bot.doors.fakes import Parrot

TOKEN = "123456:made-up-for-this-test"


def made(tmp_path: Path, **more: Any) -> Settings:
    return Settings(data=tmp_path, **more)


def test_without_a_token_one_line_says_how_to_get_and_set_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.delenv("BRINEBELL_TOKEN", raising=False)
    assert main(["telegram"]) == 2
    err = capsys.readouterr().err
    assert err.count("\n") == 1
    assert "@BotFather" in err
    assert "BRINEBELL_TOKEN" in err


def test_what_cannot_be_a_token(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("bot.doors.telegram.answering", lambda _, **__: Parrot())
    monkeypatch.setattr("bot.doors.logs.start", lambda: None)
    monkeypatch.setenv("BRINEBELL_TOKEN", "not a token")
    monkeypatch.setenv("BRINEBELL_INVITE", "word")
    assert main(["--data", str(tmp_path), "telegram"]) == 1
    err = capsys.readouterr().err
    assert err.count("\n") == 1
    assert "not a token" not in err


def test_settings_reach_the_bot(tmp_path: Path) -> None:
    settings = made(
        tmp_path, token=TOKEN, allowed_chats="4711,-5", invite="word", api_url="http://127.0.0.1:9", metrics_port=9464
    )
    served = telegram_settings(settings, webhook=False)
    assert (served.token, served.allowed, served.invite) == (TOKEN, frozenset({"4711", "-5"}), "word")
    assert (served.metrics_port, served.commands) == (9464, COMMANDS)
    assert (served.data_dir, served.api_url, served.webhook) == (tmp_path, "http://127.0.0.1:9", None)


def test_a_webhook_needs_address_and_secret(tmp_path: Path) -> None:
    with pytest.raises(WrongCall, match="BRINEBELL_WEBHOOK_SECRET"):
        telegram_settings(made(tmp_path, token=TOKEN, webhook_url="https://bell.example.org/in"), webhook=True)
    settings = made(
        tmp_path, token=TOKEN, webhook_url="https://bell.example.org/in", webhook_secret="s3", webhook_listen="[::1]:99"
    )
    webhook = telegram_settings(settings, webhook=True).webhook
    assert webhook is not None
    assert (webhook.url, webhook.secret, webhook.host, webhook.port) == ("https://bell.example.org/in", "s3", "::1", 99)


def test_no_telegram_chat_is_welcome_without_the_invite_word(tmp_path: Path) -> None:
    settings = made(tmp_path, allowed_chats="4711")
    assert not new_chat(settings, Which.TELEGRAM, "4711").welcome  # the list alone lets it in
    assert not new_chat(settings, Which.TELEGRAM, "4712").welcome


def test_the_terminal_never_works_on_the_bots_database(tmp_path: Path) -> None:
    settings = made(tmp_path, database="postgresql://bell@localhost/bell")
    assert database_url(settings, Which.TELEGRAM) == "postgresql://bell@localhost/bell"
    assert database_url(settings, Which.TERMINAL).startswith("sqlite:///")
    assert database_url(made(tmp_path), Which.TELEGRAM) != database_url(made(tmp_path), Which.TERMINAL)


def test_its_own_lines_fit_a_message() -> None:
    words = TelegramWords()
    beside = (words.not_served(), words.picture_not_kept(), words.only_words_and_pictures(), words.card_not_pinned())
    for line in beside:
        assert 0 < len(line) <= 200


@pytest.mark.parametrize("word", [word for word, _ in COMMANDS if word not in ("start", "help")])
def test_each_word_of_the_menu_is_understood(word: str) -> None:
    typed = word.replace("_", " ")  # as bot.messengers.updates reads a command
    heard = understand(typed, Context(datetime(2026, 9, 12, tzinfo=UTC))).heard
    assert heard[0].intent in ("ask", "correct")
