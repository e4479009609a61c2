"""Holding on through trouble with the database: full, locked, read-only, restarting."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable
from typing import ParamSpec, TypeVar

from sqlalchemy.exc import DBAPIError, InterfaceError, InternalError, OperationalError

from scheduler.pacing import backoff_s

P = ParamSpec("P")
T = TypeVar("T")
log = logging.getLogger(__name__)

#: Passes by itself or by somebody's hand: not a mistake of ours.
TROUBLE = (OperationalError, InterfaceError, InternalError)
#: The longest wait between two tries.
MOST_S = 5.0


async def persist(call: Callable[P, Awaitable[T]], *args: P.args, **kwargs: P.kwargs) -> T:
    """Return what ``call(...)`` returns, trying again for as long as the database cannot be used."""
    attempt = 0
    while True:
        try:
            return await call(*args, **kwargs)
        except TROUBLE as error:
            attempt += 1
            doing = getattr(call, "__name__", "call")
            log.warning("database trouble in %s: %s", doing, _line(error), extra={"attempt": attempt})
            await asyncio.sleep(backoff_s(attempt, first_s=0.05, most_s=MOST_S))


def _line(error: Exception) -> str:
    cause = error.orig if isinstance(error, DBAPIError) and error.orig else error
    return str(cause).strip().partition("\n")[0]
