"""Column types: instants, small JSON and people's words, stored alike in SQLite and PostgreSQL."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import BigInteger, Dialect, Integer, Text
from sqlalchemy.types import TypeDecorator

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
MICROSECOND = timedelta(microseconds=1)

#: A row number that both databases count up by themselves.
RowId = BigInteger().with_variant(Integer(), "sqlite")


def micros(moment: datetime) -> int:
    """Return microseconds since 1970 in UTC. Raises ValueError for a moment without an offset."""
    if moment.tzinfo is None:
        raise ValueError(f"a moment without an offset cannot be stored: {moment.isoformat()}")
    return (moment - EPOCH) // MICROSECOND


def moment_of(stamp: int) -> datetime:
    """Return the aware UTC moment of ``stamp`` microseconds since 1970."""
    return EPOCH + stamp * MICROSECOND


def clean(text: str) -> str:
    """Return ``text`` with U+FFFD for what no database can hold: NUL, half a surrogate pair."""
    return text.replace("\0", "\ufffd").encode("utf-8", "surrogatepass").decode("utf-8", "replace")


class Instant(TypeDecorator[datetime]):
    """An aware moment as whole microseconds since 1970: no database can lose its offset."""

    impl = BigInteger
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> int | None:
        return None if value is None else micros(value)

    def process_result_value(self, value: int | None, dialect: Dialect) -> datetime | None:
        return None if value is None else moment_of(value)


class Json(TypeDecorator[Any]):
    """JSON values as escaped text, so that no character in them can trouble a database."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> str:
        return json.dumps(value, default=_plain, allow_nan=False, separators=(",", ":"))

    def process_result_value(self, value: str | None, dialect: Dialect) -> Any:
        return None if value is None else json.loads(value)


class Words(TypeDecorator[str]):
    """Text from outside, cleaned of what no database can hold."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: str | None, dialect: Dialect) -> str | None:
        return None if value is None else clean(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> str | None:
        return value


def _plain(value: object) -> object:
    if isinstance(value, Mapping):
        return dict(value)
    raise TypeError(f"only JSON values can be kept, not {type(value).__name__}")
