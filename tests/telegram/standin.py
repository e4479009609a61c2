"""A Bot API server on loopback that runs python-telegram-bot as it is, and fails on request.

>>> async with StandIn() as telegram:
...     ann = telegram.world.person("Ann")
...     telegram.world.says(ann, "hello")

Give the bot ``telegram.base_url`` and ``telegram.base_file_url``. It binds 127.0.0.1 on a free
port and ends with the ``async with``.
"""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import Callable
from typing import Any, Self

from tornado import web
from tornado.httpclient import AsyncHTTPClient, HTTPError, HTTPRequest
from tornado.httpserver import HTTPServer
from tornado.netutil import bind_sockets

from tests.telegram.faults import Fault
from tests.telegram.methods import Methods, Refused
from tests.telegram.world import OPT_IN, Call, Json, World

TOKEN = "700001:stand-in_token-for_loopback-0123456789ab"
SECRET_HEADER = "X-Telegram-Bot-Api-Secret-Token"
AS_JSON = {
    "reply_markup",
    "allowed_updates",
    "commands",
    "entities",
    "link_preview_options",
    "reply_parameters",
}
TAKEN_OVER = "Conflict: terminated by other getUpdates request; make sure that only one bot instance is running"
HOOKED = "Conflict: can't use getUpdates method while webhook is active; use deleteWebhook to delete the webhook first"


class StandIn:
    """The server: method calls in, updates out by long polling or webhook."""

    def __init__(self, now: Callable[[], float] = time.time, token: str = TOKEN) -> None:
        self.world = World(now)
        self.token = token
        self.methods = Methods(self.world)
        self.webhook: Json = {}
        self.allowed: list[str] = []
        self._poll = 0
        self._last_error = ""
        self._posting: asyncio.Task[None] | None = None

    async def __aenter__(self) -> Self:
        routes = [(r"/bot([^/]+)/(\w+)", _Method, {"standin": self})]
        routes.append((r"/file/bot([^/]+)/(.+)", _Download, {"standin": self}))
        app = web.Application(routes, log_function=lambda _: None)  # type: ignore[arg-type]
        self._server = HTTPServer(app, max_buffer_size=64 * 1024 * 1024)
        [socket] = bind_sockets(0, "127.0.0.1")
        self._server.add_sockets([socket])
        self.origin = f"http://127.0.0.1:{socket.getsockname()[1]}"
        self.base_url, self.base_file_url = f"{self.origin}/bot", f"{self.origin}/file/bot"
        return self

    async def __aexit__(self, *_: object) -> None:
        self._end_webhook()
        self._poll += 1
        self.world.stir()
        self._server.stop()
        await self._server.close_all_connections()

    def fault(self, method: str, *faults: Fault) -> None:
        """Put faults in the way of the next calls of a method, in order."""
        self.world.faults[method.lower()].extend(faults)

    # -- methods that touch the delivery of updates

    async def call(self, call: Call) -> Any:
        """Any method's result. Raises Refused."""
        delivery = {
            "getupdates": self.get_updates,
            "setwebhook": self.set_webhook,
            "deletewebhook": self.delete_webhook,
            "getwebhookinfo": self.webhook_info,
        }.get(call.method.lower())
        return await delivery(call.params) if delivery else self.methods(call)

    async def get_updates(self, params: Json) -> list[Json]:
        if self.webhook:
            raise Refused(409, HOOKED)
        self._poll += 1
        mine, until = self._poll, time.monotonic() + int(params.get("timeout", 0))
        self.world.stir()
        self._set_allowed(params)
        self._confirm(int(params.get("offset", 0)))
        limit = min(max(int(params.get("limit", 100)), 1), 100)
        while True:
            changed = self.world.changed
            if mine != self._poll:
                raise Refused(409, TAKEN_OVER)
            if batch := self._wanted()[:limit]:
                return batch
            left = until - time.monotonic()
            if left <= 0:
                return []
            await _within(changed, left)

    async def set_webhook(self, params: Json) -> bool:
        self._end_webhook()
        self._set_allowed(params)
        if params.get("drop_pending_updates"):
            self.world.pending.clear()
        if params.get("url"):
            self.webhook = params
            self._posting = asyncio.create_task(self._post_updates())
        return True

    async def delete_webhook(self, params: Json) -> bool:
        return await self.set_webhook({**params, "url": ""})

    async def webhook_info(self, _: Json) -> Json:
        info = {
            "url": self.webhook.get("url", ""),
            "has_custom_certificate": False,
            "pending_update_count": len(self.world.pending),
        }
        return info | ({"last_error_message": self._last_error} if self._last_error else {})

    # -- delivery

    def _set_allowed(self, params: Json) -> None:
        if "allowed_updates" in params:
            self.allowed = params["allowed_updates"]

    def _wanted(self) -> list[Json]:
        def wanted(update: Json) -> bool:
            kind = next(key for key in update if key != "update_id")
            return kind in self.allowed if self.allowed else kind not in OPT_IN

        return [update for update in self.world.pending if wanted(update)]

    def _confirm(self, offset: int) -> None:
        pending = self.world.pending
        if offset < 0:
            offset = pending[offset]["update_id"] if len(pending) >= -offset else 0
        self.world.served += [u for u in pending if u["update_id"] < offset]
        pending[:] = [u for u in pending if u["update_id"] >= offset]

    async def _post_updates(self) -> None:
        client = AsyncHTTPClient(force_instance=True)
        headers = {"Content-Type": "application/json"}
        if secret := self.webhook.get("secret_token"):
            headers[SECRET_HEADER] = secret
        while True:
            changed, batch = self.world.changed, self._wanted()
            if not batch:
                await changed.wait()
                continue
            try:
                body = json.dumps(batch[0])
                request = HTTPRequest(self.webhook["url"], "POST", headers, body, request_timeout=5)
                await client.fetch(request)
            except (HTTPError, OSError) as error:
                self._last_error = str(error)
                await asyncio.sleep(0.05)
            else:
                self.world.pending.remove(batch[0])
                self.world.served.append(batch[0])

    def _end_webhook(self) -> None:
        self.webhook = {}
        if self._posting is not None:
            self._posting.cancel()
            self._posting = None


async def _within(event: asyncio.Event, seconds: float) -> None:
    try:
        async with asyncio.timeout(seconds):
            await event.wait()
    except TimeoutError:
        return


class _Base(web.RequestHandler):
    def initialize(self, standin: StandIn) -> None:
        self.standin = standin

    def answer(self, status: int, body: Json) -> None:
        self.set_status(status)
        self.set_header("Content-Type", "application/json")
        self.write(json.dumps(body))

    def known(self, token: str) -> bool:
        if token != self.standin.token:
            self.answer(401, {"ok": False, "error_code": 401, "description": "Unauthorized"})
        return token == self.standin.token


class _Method(_Base):
    async def get(self, token: str, method: str) -> None:
        await self.post(token, method)

    async def post(self, token: str, method: str) -> None:
        if not self.known(token):
            return
        call = Call(method, self._params(), self._files(), time.monotonic())
        self.standin.world.record(call)
        waiting = self.standin.world.faults[method.lower()]
        fault = waiting.popleft() if waiting else None
        if fault is None or fault.after:
            await self._do(call)
        if fault is not None:
            await self._fail(fault)

    async def _do(self, call: Call) -> None:
        try:
            self.answer(200, {"ok": True, "result": await self.standin.call(call)})
        except Refused as no:
            self.answer(no.answer["error_code"], no.answer)

    async def _fail(self, fault: Fault) -> None:
        self.clear()
        if fault.hang_s:
            await asyncio.sleep(fault.hang_s)
        if fault.cut:
            self.detach().close()
        elif fault.refusal:
            self.answer(fault.status, fault.refusal)
        else:
            self.set_status(fault.status)
            self.set_header("Content-Type", fault.kind)
            self.write(fault.body)

    def _params(self) -> Json:
        if self.request.headers.get("Content-Type", "").startswith("application/json"):
            return dict(json.loads(self.request.body or b"{}"))
        return {name: _plain(name, values[-1].decode()) for name, values in self.request.arguments.items()}

    def _files(self) -> dict[str, tuple[str, bytes]]:
        return {name: (sent[0]["filename"], sent[0]["body"]) for name, sent in self.request.files.items()}


class _Download(_Base):
    def get(self, token: str, path: str) -> None:
        if not self.known(token):
            return
        content = next((body for name, body in self.standin.world.files.values() if name == path), None)
        if content is None:
            self.answer(404, {"ok": False, "error_code": 404, "description": "Not Found"})
        else:
            self.write(content)


def _plain(name: str, value: str) -> Any:
    """Objects and lists come as JSON in a form field, everything else as text."""
    return json.loads(value) if name in AS_JSON else value
