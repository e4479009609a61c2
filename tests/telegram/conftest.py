"""A stand-in messenger for each test."""

from __future__ import annotations

from collections.abc import AsyncIterator

import pytest_asyncio

from tests.telegram.standin import StandIn


@pytest_asyncio.fixture
async def telegram() -> AsyncIterator[StandIn]:
    """A Bot API on loopback that ends with the test."""
    async with StandIn() as server:
        yield server
