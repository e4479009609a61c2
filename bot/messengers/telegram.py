"""Telegram: the bot from its start to its stop.

What comes in goes through :mod:`bot.messengers.intake` into the store; what is to be said comes out
of the outbox through :class:`TelegramMessenger`. Neither knows the other.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Sequence
from contextlib import AsyncExitStack
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

from telegram import Bot
from telegram.error import BadRequest, InvalidToken

from bot.complaints import WorkFailed
from bot.doorkeeper import Doorkeeper
from bot.messengers.album import Album
from bot.messengers.guests import Guests
from bot.messengers.intake import Intake, Words
from bot.messengers.patience import until_done
from bot.messengers.polling import Polling
from bot.messengers.presses import Presses
from bot.messengers.redaction import keep_out_of_logs
from bot.messengers.sending import Sender
from bot.messengers.webhook import Webhook, WebhookSettings
from bot.messengers.wire import API_URL, BAD_TOKEN, make_bot
from scheduler.clock import Clock
from scheduler.delivery import DeliveryTuning
from scheduler.messenger import Sent
from scheduler.observe import Observer, observed
from scheduler.outbox import Outgoing
from scheduler.pacing import Pacing, Rate
from scheduler.runner import Runner, Tuning
from scheduler.store import Store
from scheduler.turn import Answering, Due, Inbound, Message, Outcome
from scheduler.turns import Sorry

log = logging.getLogger(__name__)

#: Telegram, "Bots FAQ", limits: one message a second in a chat, 20 a minute in a group, 30 a second
#: over all; short bursts are let pass.
PRIVATE_RATE = Rate(every_s=1.0, burst=5)
GROUP_RATE = Rate(every_s=3.0, burst=8)
OVERALL_RATE = Rate(every_s=1 / 30, burst=30)


@dataclass(frozen=True)
class TelegramSettings:
    """How to reach Telegram, and whom to serve.

    ``allowed`` are chat numbers. ``webhook`` None means long polling. ``answer_within_s`` is how long
    Telegram may take to answer a call before it is taken as lost. ``metrics_port`` serves /healthz and
    /metrics on the loopback address. ``commands`` (word, meaning) are shown in the messenger's menu.
    """

    token: str = field(repr=False)
    data_dir: Path
    allowed: frozenset[str] = frozenset()
    invite: str | None = field(default=None, repr=False)
    api_url: str = API_URL
    webhook: WebhookSettings | None = None
    answer_within_s: float = 20.0
    metrics_port: int | None = None
    commands: Sequence[tuple[str, str]] = ()


class TelegramMessenger:
    """What the scheduler sends through. A card waits until a press on it is shown as taken."""

    def __init__(self, bot: Bot, data_dir: Path, presses: Presses) -> None:
        self._sender = Sender(bot, data_dir)
        self._presses = presses

    async def send(self, out: Outgoing) -> Sent:
        """See :meth:`scheduler.messenger.Messenger.send`."""
        return Sent(await self._sender.send(out))

    async def edit(self, out: Outgoing) -> Sent:
        """See :meth:`scheduler.messenger.Messenger.edit`."""
        await self._presses.settled(out.chat)
        return Sent(await self._sender.edit(out, out.replaces or ""))

    async def pin(self, chat: str, message: str) -> None:
        """See :meth:`scheduler.messenger.Messenger.pin`."""
        await self._sender.pin(chat, message)

    async def unpin(self, chat: str, message: str) -> None:
        """See :meth:`scheduler.messenger.Messenger.unpin`."""
        await self._sender.unpin(chat, message)

    async def close(self) -> None:
        """Wait for what was begun."""
        await self._presses.close()


async def serve(
    settings: TelegramSettings,
    answering: Answering,
    store: Store,
    clock: Clock,
    stop: asyncio.Event,
    *,
    words: Words,
    sorry: Sorry | None = None,
    tuning: Tuning | None = None,
) -> None:
    """Run the bot until ``stop`` is set; then finish what is in hand.

    A chat of the store is welcome (``Chat.welcome``) where it gave the invite word, so the store is
    to be opened with a ``new_chat`` that is not. Network trouble is waited out. Raises WorkFailed
    with a line for the person at the command line: a wrong token, another poller, a port in use.
    """
    webhook = settings.webhook
    keep_out_of_logs(settings.token, settings.invite, webhook.secret if webhook else None)
    bot = make_bot(settings.token, settings.api_url, settings.answer_within_s)
    try:
        await until_done(stop, bot.initialize, "connecting to Telegram")
        if stop.is_set():
            return
        guests = Guests(store, clock, Doorkeeper.of(settings.allowed, settings.invite))
        album = Album(settings.data_dir)
        for chat in await store.forgotten():  # a process that died while forgetting left its pictures
            _forget_pictures(album, chat)
        intake = Intake(bot, store, clock, guests, words, album=album)
        messenger = TelegramMessenger(bot, settings.data_dir, intake.presses)
        observer = Observer()
        runner = Runner(
            store,
            answering,
            messenger,
            clock,
            tuning=_worded(tuning or telegram_tuning(), words),
            sorry=sorry,
            watch=partial(_forget, guests, album),
            meter=observer,
        )
        source = Webhook(bot, intake, webhook) if webhook else Polling(bot, store, clock, intake)
        if settings.commands:
            await _show_commands(bot, settings.commands, stop)
        async with AsyncExitStack() as stack:
            if settings.metrics_port is not None:
                await _observe(stack, observer, runner, store, settings.metrics_port)
            await _together(runner, source, stop)
        await intake.close()
    except InvalidToken:
        raise WorkFailed(BAD_TOKEN) from None
    finally:
        await bot.shutdown()


def telegram_tuning() -> Tuning:
    """The runner's tuning with Telegram's rates."""
    pacing = Pacing(overall=OVERALL_RATE, chat=lambda chat: GROUP_RATE if chat.startswith("-") else PRIVATE_RATE)
    return Tuning(delivery=DeliveryTuning(pacing=pacing))


def _worded(tuning: Tuning, words: Words) -> Tuning:
    """The tuning with what is said where a card may not be pinned."""
    line = Message(words.card_not_pinned(), silent=True)
    return replace(tuning, delivery=replace(tuning.delivery, not_pinned=line))


def _forget(guests: Guests, album: Album, about: Inbound | Due, outcome: Outcome) -> None:
    """What the store has forgotten is not to be found beside it either."""
    if outcome.forget:
        guests.forget(about.chat)
        _forget_pictures(album, about.chat)


def _forget_pictures(album: Album, chat: str) -> None:
    try:
        album.forget(chat)
    except OSError as error:
        log.error("pictures of a forgotten chat could not be deleted: %s", error)


async def _observe(stack: AsyncExitStack, observer: Observer, runner: Runner, store: Store, port: int) -> None:
    """Show health and metrics until the stack ends. Raises WorkFailed where the port is in use."""
    try:
        await stack.enter_async_context(observed(observer, runner, store, port))
    except OSError as error:
        raise WorkFailed(f"cannot listen on port {port} for metrics: {error.strerror}; set another") from error


async def _show_commands(bot: Bot, commands: Sequence[tuple[str, str]], stop: asyncio.Event) -> None:
    try:
        await until_done(stop, lambda: bot.set_my_commands(commands), "setting the commands")
    except BadRequest as refusal:
        log.warning("commands not shown: %s", refusal)


async def _together(runner: Runner, source: Polling | Webhook, stop: asyncio.Event) -> None:
    """Run both until ``stop``; where one fails, stop the other and raise what it raised."""
    working = asyncio.create_task(runner.run())
    fetching = asyncio.create_task(source.run(stop))
    try:
        await asyncio.wait({working, fetching}, return_when=asyncio.FIRST_COMPLETED)
    finally:
        stop.set()
        await runner.stop()
        done = await asyncio.gather(fetching, working, return_exceptions=True)
    for failure in done:
        if isinstance(failure, BaseException):
            raise failure
