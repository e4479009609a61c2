"""The value axis has round ticks inside its limits."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.pictures.values import value_ticks


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (0, 8.4, [0, 2, 4, 6, 8]),
        (30, 200, [50, 100, 150, 200]),
        (27, 148, [50, 75, 100, 125]),
        (-3, 71, [0, 20, 40, 60]),
        (1.815, 1.915, [1.82, 1.84, 1.86, 1.88, 1.9]),
    ],
)
def test_round_ticks(low: float, high: float, expected: list[float]) -> None:
    assert value_ticks(low, high) == pytest.approx(expected)


@given(st.floats(-100, 1000), st.floats(0.01, 2000), st.integers(3, 8))
def test_ticks_lie_inside_and_are_few(low: float, size: float, most: int) -> None:
    places = value_ticks(low, low + size, most)
    assert len(places) <= most + 1
    assert all(low - size * 1e-6 <= p <= low + size * (1 + 1e-6) for p in places)
