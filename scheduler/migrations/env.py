"""Runs migrations on the connection handed over by :mod:`scheduler.schema`."""

from typing import Any, Literal

from alembic import context

from scheduler.tables import metadata


def render(kind: str, item: Any, _context: Any) -> str | Literal[False]:
    """Return the project's own column types by their bare names."""
    name = type(item).__name__
    return f"{name}()" if kind == "type" and name in ("Instant", "Json", "Words") else False


context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    render_item=render,
    render_as_batch=True,  # SQLite changes a table by copying it
)
with context.begin_transaction():
    context.run_migrations()
