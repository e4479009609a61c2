"""The webhook: Telegram calls, and is answered when what it brought is in the store."""

from __future__ import annotations

import asyncio
import hmac
import json
import logging
import re
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlsplit

from telegram import Bot
from telegram.error import BadRequest
from tornado.httpserver import HTTPServer
from tornado.netutil import bind_sockets
from tornado.web import Application, HTTPError, RequestHandler

from bot.complaints import WorkFailed, WrongCall
from bot.messengers.intake import Intake
from bot.messengers.patience import until_done
from bot.messengers.updates import KINDS

log = logging.getLogger(__name__)

SECRET_HEADER = "X-Telegram-Bot-Api-Secret-Token"
#: Telegram, "Bot API", setWebhook: what a secret is made of.
SECRET_FORM = re.compile(r"[A-Za-z0-9_-]{1,256}")
#: Ours: updates are a few kilobytes; nothing larger comes from Telegram.
BODY_LIMIT = 1024 * 1024


@dataclass(frozen=True)
class WebhookSettings:
    """Where Telegram calls (``url``), what it shows (``secret``), where that arrives here."""

    url: str
    secret: str = field(repr=False)
    host: str = "127.0.0.1"
    port: int = 8443

    def __post_init__(self) -> None:
        """Raises WrongCall where the secret or the address is none that Telegram takes."""
        if not SECRET_FORM.fullmatch(self.secret):
            raise WrongCall("the webhook secret is 1 to 256 letters, digits, dashes and underscores")
        if not urlsplit(self.url).hostname:
            raise WrongCall("the webhook address is written like https://bell.example.org/in")

    @property
    def path(self) -> str:
        """The path that is answered; every other is unknown."""
        return urlsplit(self.url).path or "/"


class Webhook:
    """Listens for Telegram's calls until it is stopped."""

    def __init__(self, bot: Bot, intake: Intake, settings: WebhookSettings) -> None:
        self._bot = bot
        self._intake = intake
        self._settings = settings

    async def run(self, stop: asyncio.Event) -> None:
        """Listen until ``stop``; the webhook stays set, so that Telegram keeps what comes meanwhile.

        Raises WorkFailed where the port or the address is not to be had, InvalidToken.
        """
        server = self._listen()
        try:
            await until_done(stop, self._set, "setting the webhook")
            await stop.wait()
        except BadRequest as refusal:
            raise WorkFailed(f"Telegram does not take this webhook address: {refusal.message}") from refusal
        finally:
            server.stop()
            await server.close_all_connections()

    async def _set(self) -> None:
        url, secret = self._settings.url, self._settings.secret
        await self._bot.set_webhook(url, secret_token=secret, allowed_updates=list(KINDS))

    def _listen(self) -> HTTPServer:
        given = {"intake": self._intake, "secret": self._settings.secret}
        routes = [(re.escape(self._settings.path), _Door, given)]
        server = HTTPServer(Application(routes, log_function=_say_nothing), max_body_size=BODY_LIMIT)
        host, port = self._settings.host, self._settings.port
        try:
            server.add_sockets(bind_sockets(port, host))
        except OSError as error:
            raise WorkFailed(f"cannot listen on {host}:{port}: {error.strerror}; set another port") from error
        return server


class _Door(RequestHandler):
    SUPPORTED_METHODS = ("POST",)

    def initialize(self, intake: Intake, secret: str) -> None:
        self._intake = intake
        self._secret = secret.encode()

    def prepare(self) -> None:
        shown = self.request.headers.get(SECRET_HEADER, "").encode()
        if not hmac.compare_digest(shown, self._secret):
            raise HTTPError(403)

    async def post(self) -> None:
        await self._intake.take([self._update()])

    def _update(self) -> dict[str, Any]:
        try:
            update = json.loads(self.request.body)
        except ValueError:
            raise HTTPError(400) from None
        if not isinstance(update, dict) or not isinstance(update.get("update_id"), int):
            raise HTTPError(400)
        return update

    def log_exception(self, typ: Any, value: Any, tb: Any) -> None:
        """Say what went wrong without the content of the request."""
        if not isinstance(value, HTTPError):
            log.error("update not stored, Telegram will bring it again: %s", typ.__name__)


def _say_nothing(_: RequestHandler) -> None:
    """Requests are counted elsewhere."""
