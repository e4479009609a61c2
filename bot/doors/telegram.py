"""``brinebell telegram``: the bot, until it is told to stop."""

from __future__ import annotations

import argparse
import asyncio
import signal
import sys

from bot.complaints import WrongCall
from bot.doors import logs
from bot.doors.answering import answering
from bot.doors.opening import Which, data_folder, opened
from bot.doors.words import COMMANDS, TelegramWords, sorry
from bot.messengers.telegram import TelegramSettings, serve
from bot.messengers.webhook import WebhookSettings
from bot.settings import Settings, load, settings_file
from scheduler.clock import SystemClock


def run(arguments: argparse.Namespace) -> int:
    """Serve until interrupted or terminated."""
    settings = load(arguments.data)
    served = telegram_settings(settings, webhook=arguments.webhook)
    if not served.allowed and served.invite is None:
        print(
            "brinebell: nobody is answered yet; set BRINEBELL_INVITE to a word that lets a chat in",
            file=sys.stderr,
        )
    logs.start()
    asyncio.run(_serve(settings, served))
    return 0


def telegram_settings(settings: Settings, *, webhook: bool) -> TelegramSettings:
    """What the bot needs of the settings; WrongCall with a line where something is missing."""
    if settings.token is None:
        raise WrongCall(
            "no token: write /newbot to @BotFather in Telegram and set what it gives you as BRINEBELL_TOKEN, "
            f'or as token = "…" in {settings_file()}'
        )
    return TelegramSettings(
        token=settings.token.get_secret_value(),
        data_dir=data_folder(settings),
        allowed=frozenset(settings.allowed_chats),
        invite=settings.invite.get_secret_value() if settings.invite is not None else None,
        api_url=settings.api_url,
        webhook=_webhook(settings) if webhook else None,
        metrics_port=settings.metrics_port,
        commands=COMMANDS,
    )


def _webhook(settings: Settings) -> WebhookSettings:
    if settings.webhook_url is None or settings.webhook_secret is None:
        raise WrongCall(
            "--webhook needs BRINEBELL_WEBHOOK_URL, like https://bell.example.org/in, "
            "and BRINEBELL_WEBHOOK_SECRET, any letters and digits"
        )
    host, _, port = settings.webhook_listen.rpartition(":")
    return WebhookSettings(
        settings.webhook_url, settings.webhook_secret.get_secret_value(), host.strip("[]"), int(port)
    )


async def _serve(settings: Settings, served: TelegramSettings) -> None:
    stop = asyncio.Event()
    loop = asyncio.get_running_loop()
    for number in (signal.SIGINT, signal.SIGTERM):
        loop.add_signal_handler(number, stop.set)
    async with opened(settings, Which.TELEGRAM) as store:
        talk = answering(served.data_dir, whole=store.all_batches_now, cards=True)
        talk = logs.Logged(talk, texts=settings.log_texts)
        await serve(served, talk, store, SystemClock(), stop, words=TelegramWords(), sorry=sorry)
