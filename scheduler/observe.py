"""Seen from outside: ``/healthz`` and ``/metrics`` on a loopback port, where that is switched on.

No text, name, chat or token is in what can be read there: counts and times only.
"""

from __future__ import annotations

import asyncio
import logging
import threading
from collections.abc import AsyncIterator, Callable, Iterable, Iterator
from contextlib import asynccontextmanager
from dataclasses import fields
from time import monotonic
from typing import Any, Literal
from wsgiref.simple_server import WSGIRequestHandler, make_server
from wsgiref.types import StartResponse, WSGIEnvironment

from prometheus_client import CollectorRegistry, Histogram, make_wsgi_app
from prometheus_client.core import CounterMetricFamily, GaugeMetricFamily, Metric
from prometheus_client.registry import Collector

from scheduler.counting import Counts
from scheduler.persistence import TROUBLE
from scheduler.runner import Runner
from scheduler.store import Store
from scheduler.turns import Tally

log = logging.getLogger(__name__)

HOST = "127.0.0.1"
SAMPLE_S = 15.0
#: Older than this, a sample means that the loop or the database stands still.
STALE_S = 60.0
LATENESS_S = (0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 15, 60, 300, 3600)
HANDLING_S = (0.002, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 10)

App = Callable[[WSGIEnvironment, StartResponse], Iterable[bytes]]


class Observer:
    """What is counted; give ``meter=observer`` to the runner that it observes."""

    def __init__(self) -> None:
        self.registry = CollectorRegistry()
        self._took = Histogram(
            "brinebell_turn_seconds",
            "From the snapshot to the commit of a turn",
            ["of"],
            buckets=HANDLING_S,
            registry=self.registry,
        )
        self._late = Histogram(
            "brinebell_reminder_lateness_seconds",
            "How late reminders were said",
            buckets=LATENESS_S,
            registry=self.registry,
        )
        self._counts: Counts | None = None
        self._sampled = -STALE_S
        self._tally = Tally()
        self.registry.register(_Standing(self))

    def took(self, what: Literal["message", "reminder"], seconds: float) -> None:
        """Note how long a turn took."""
        self._took.labels(what).observe(seconds)

    def late(self, seconds: float) -> None:
        """Note how late a reminder was said."""
        self._late.observe(seconds)

    async def sample(self, store: Store, tally: Tally) -> None:
        """Look at what stands in the store; without an answer of the database nothing is noted."""
        try:
            self._counts = await store.counts()
        except TROUBLE as error:
            log.warning("no sample: %s", type(error).__name__)
            return
        self._tally, self._sampled = tally, monotonic()

    @property
    def well(self) -> bool:
        """Return whether loop and database were alive a short while ago."""
        return monotonic() - self._sampled < STALE_S

    def metrics(self) -> Iterator[Metric]:
        """Give what stands in the store and what was done since the start."""
        for field in fields(Counts):
            if self._counts is not None:
                gauge = GaugeMetricFamily(f"brinebell_store_{field.name}", f"{field.name} in the store")
                gauge.add_metric([], getattr(self._counts, field.name))
                yield gauge
        for field in fields(Tally):
            counter = CounterMetricFamily(f"brinebell_{field.name}", f"{field.name} since the start")
            counter.add_metric([], getattr(self._tally, field.name))
            yield counter


class _Standing(Collector):
    def __init__(self, observer: Observer) -> None:
        self._observer = observer

    def collect(self) -> Iterable[Metric]:
        return self._observer.metrics()


@asynccontextmanager
async def observed(observer: Observer, runner: Runner, store: Store, port: int) -> AsyncIterator[int]:
    """Serve ``/healthz`` and ``/metrics`` on the loopback address while the block runs.

    Gives the port (``port`` 0 takes any free one). Raises OSError where the port is taken.
    """
    server = make_server(HOST, port, _app(observer), handler_class=_Quiet)
    thread = threading.Thread(target=server.serve_forever, name="observe", daemon=True)
    thread.start()
    sampling = asyncio.create_task(_sample(observer, runner, store))
    try:
        yield server.server_port
    finally:
        sampling.cancel()
        await asyncio.to_thread(server.shutdown)
        server.server_close()


async def _sample(observer: Observer, runner: Runner, store: Store) -> None:
    while True:
        await observer.sample(store, runner.turns.tally)
        await asyncio.sleep(SAMPLE_S)


def _app(observer: Observer) -> App:
    metrics = make_wsgi_app(observer.registry)

    def app(environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        path = environ.get("PATH_INFO", "")
        if path == "/metrics":
            answer: Iterable[bytes] = metrics(environ, start_response)
            return answer
        if path != "/healthz":
            return _plain(start_response, "404 Not Found", b"not found\n")
        if observer.well:
            return _plain(start_response, "200 OK", b"ok\n")
        return _plain(start_response, "503 Service Unavailable", b"stands still\n")

    return app


def _plain(start_response: StartResponse, status: str, body: bytes) -> Iterable[bytes]:
    start_response(status, [("Content-Type", "text/plain"), ("Content-Length", str(len(body)))])
    return [body]


class _Quiet(WSGIRequestHandler):
    def log_message(self, format: str, *args: Any) -> None:
        """Log no request."""
