"""Core forecasts: never silent, never negative, honest about what they do not know."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.forecast import forecast_core
from planner.piece import Piece
from planner.ranges import OutOfRange
from tests.planner.given import SALMON

PIECE = Piece(SALMON, 25.0, 2, 90.0)
CHAMBER = [(0.0, 60.0), (2400.0, 85.0), (4800.0, 87.0)]
READ = [(2400.0, 40.0), (3600.0, 47.0), (4800.0, 53.0)]


def floor(readings, chamber=CHAMBER, **more):
    given_s = {"now_s": max([0.0, *(s for s, _ in readings)])} | more
    return forecast_core(PIECE, readings, chamber, **given_s).marks["floor"]


@pytest.mark.parametrize("count", [0, 1, 2, 3])
@pytest.mark.parametrize("chamber", [CHAMBER, CHAMBER[:1], []], ids=["told", "once", "never"])
def test_there_is_always_a_forecast(count: int, chamber: list[tuple[float, float]]) -> None:
    found = floor(READ[:count], chamber)
    assert found.when is not None
    assert found.when.low > 0.0


def test_readings_narrow_the_band() -> None:
    widths = []
    for count in (0, 1, 3):
        when = floor(READ[:count], now_s=4800.0).when
        assert when is not None
        widths.append(math.log(min(when.high, 1e6) / when.low))
    assert widths[0] > widths[1] > widths[2]


def test_an_untold_chamber_is_wider() -> None:
    told, untold = floor(READ[:1]).when, floor(READ[:1], []).when
    assert told is not None
    assert untold is not None
    assert untold.high / untold.low > 1.05 * (told.high / told.low)


def test_slower_readings_mean_later() -> None:
    slow = [(s, c - 4.0) for s, c in READ]
    usual, late = floor(READ).when, floor(slow).when
    assert usual is not None
    assert late is not None
    assert late.mid > usual.mid


def test_the_hold_ends_after_the_aim() -> None:
    marks = forecast_core(PIECE, READ, CHAMBER, now_s=4800.0).marks
    aim, hold = marks["aim"].when, marks["hold_end"].when
    assert aim is not None
    assert hold is not None
    assert hold.mid >= aim.mid + 0.85 * 1800.0
    assert aim.mid > marks["floor"].when.mid  # type: ignore[union-attr]


def test_a_cold_chamber_never_gets_there_and_says_so() -> None:
    cold = [(0.0, 55.0), (2400.0, 58.0), (4800.0, 58.0), (7200.0, 57.0)]
    read = [(2400.0, 30.0), (4800.0, 38.0), (7200.0, 41.0)]
    found = floor(read, cold, aim_c=58.0)
    assert found.when is None
    assert found.never > 0.9


def test_an_odd_reading_is_said_to_be_odd_and_does_not_drag() -> None:
    odd = [*READ, (6000.0, 25.0)]
    found = forecast_core(PIECE, odd, CHAMBER, now_s=6000.0)
    plain = forecast_core(PIECE, READ, CHAMBER, now_s=6000.0)
    assert found.odd
    assert not plain.odd
    assert found.marks["floor"].when is not None
    assert plain.marks["floor"].when is not None
    assert found.marks["floor"].when.mid == pytest.approx(plain.marks["floor"].when.mid, rel=0.1)


def test_two_odd_readings_in_a_row_are_believed() -> None:
    twice = [*READ, (6000.0, 36.0), (6600.0, 39.0)]
    found = forecast_core(PIECE, twice, CHAMBER, now_s=6600.0)
    plain = forecast_core(PIECE, READ, CHAMBER, now_s=6600.0)
    assert not found.odd
    assert found.core_now_c.mid < plain.core_now_c.mid - 4.0


def test_a_warmer_chamber_is_sooner() -> None:
    now, warmer = floor(READ).when, floor(READ, raise_k=5.0).when
    assert now is not None
    assert warmer is not None
    assert 4800.0 < warmer.mid < now.mid


def test_the_same_gives_the_same_and_another_seed_nearly() -> None:
    first, again, other = (floor(READ, seed=s).when for s in (3, 3, 4))
    assert first == again
    assert first is not None
    assert other is not None
    assert other.mid == pytest.approx(first.mid, rel=0.05)


def test_order_does_not_matter_and_the_future_is_left_out() -> None:
    shuffled = [READ[2], READ[0], (9e4, 99.0), READ[1], (-50.0, 12.0)]
    assert floor(shuffled, now_s=4800.0) == floor(READ, now_s=4800.0)


def test_a_warm_start_agrees_with_a_cold_one() -> None:
    before = forecast_core(PIECE, READ[:2], CHAMBER, now_s=3600.0)
    warm = floor(READ, warm=before.belief).when
    cold = floor(READ).when
    assert warm is not None
    assert cold is not None
    assert warm.mid == pytest.approx(cold.mid, rel=0.08)


def test_many_readings_are_taken() -> None:
    many = [(60.0 * n, 12.0 + 50.0 * (1 - math.exp(-n / 120.0))) for n in range(400)]
    found = forecast_core(PIECE, many, [(60.0 * n, 85.0) for n in range(400)], now_s=24000.0)
    assert np.isfinite(found.core_now_c.mid)


def test_the_next_look_is_ahead_and_soon() -> None:
    found = forecast_core(PIECE, READ, CHAMBER, now_s=4800.0)
    assert 4800.0 + 600.0 <= found.look_s <= 4800.0 + 3600.0


@settings(max_examples=12, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0.0, 3e4), st.floats(-5.0, 99.0)), max_size=6),
    st.lists(st.tuples(st.floats(0.0, 3e4), st.floats(-10.0, 140.0)), max_size=6),
)
def test_any_readings_give_no_negative_time_and_no_crash(readings, chamber) -> None:
    for found in forecast_core(PIECE, readings, chamber, now_s=3e4).marks.values():
        assert 0.0 <= found.never <= 1.0 + 1e-9
        if found.when is not None:
            assert 0.0 <= found.when.low <= found.when.mid <= found.when.high


@pytest.mark.parametrize(
    ("readings", "chamber", "name"),
    [([(60.0, 300.0)], [], "core_c"), ([], [(60.0, 500.0)], "chamber_c"), ([(60.0, math.nan)], [], "core_c")],
)
def test_impossible_values_are_refused(readings, chamber, name: str) -> None:
    with pytest.raises(OutOfRange, match=name):
        forecast_core(PIECE, readings, chamber, now_s=100.0)


def test_four_hundred_readings_tell_what_forty_means_do() -> None:
    slow = [(60.0 * n, 12.0 + 45.0 * (1 - math.exp(-n / 80.0))) for n in range(100)]
    dense = floor(slow, now_s=6000.0).when
    sparse = floor(slow[::4], now_s=6000.0).when
    assert dense is not None
    assert sparse is not None
    assert dense.mid == pytest.approx(sparse.mid, rel=0.06)
