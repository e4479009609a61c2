"""Cooling with and without evaporation."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.cooling import curve, time_to
from planner.piece import Piece
from planner.ranges import OutOfRange
from tests.planner.given import FILLET, SALMON

#: Bare 25 mm salmon, 70 to 21 degC, by independent finite differences [h], from the reference note.
BARE = [(4.0, 1.0), (20.0, 2.0)]


@pytest.mark.parametrize(("air_c", "hours"), BARE)
def test_bare_fish_cools_by_evaporation(air_c: float, hours: float) -> None:
    found = time_to(FILLET, 70.0, 21.1, air_c, bare=True)
    assert found is not None
    assert found.mid == pytest.approx(hours, rel=0.15)  # printed to one decimal


def test_wrapped_or_stacked_fish_is_far_slower() -> None:
    bare = time_to(FILLET, 70.0, 21.1, 20.0, bare=True)
    wrapped = time_to(FILLET, 70.0, 21.1, 20.0, bare=False)
    assert bare is not None
    assert wrapped is not None
    assert wrapped.low > 2.0 * bare.high


def test_a_fan_cools_sooner() -> None:
    still = time_to(FILLET, 70.0, 21.1, 15.0, moving_air=False)
    moving = time_to(FILLET, 70.0, 21.1, 15.0, moving_air=True)
    assert still is not None
    assert moving is not None
    assert moving.mid < still.mid


def test_a_warm_room_never_cools_it() -> None:
    assert time_to(FILLET, 60.0, 20.0, 28.0, bare=False) is None


def test_already_there_takes_no_time() -> None:
    found = time_to(FILLET, 15.0, 21.1, 4.0)
    assert found is not None
    assert found.high == 0.0


@settings(max_examples=15, deadline=None)
@given(st.floats(10.0, 60.0), st.floats(1.1, 2.0), st.floats(0.0, 15.0), st.booleans())
def test_thicker_and_warmer_air_are_slower(mm: float, factor: float, air_c: float, bare: bool) -> None:
    usual = time_to(Piece(SALMON, mm, 2), 70.0, 25.0, air_c, bare=bare)
    thick = time_to(Piece(SALMON, mm * factor, 2), 70.0, 25.0, air_c, bare=bare)
    warm = time_to(Piece(SALMON, mm, 2), 70.0, 25.0, air_c + 4.0, bare=bare)
    assert usual is not None
    assert thick is None or thick.mid > usual.mid
    assert warm is None or warm.mid > usual.mid


def test_the_curve_falls_from_start_to_air() -> None:
    found = curve(FILLET, 70.0, 3.0)
    assert found.core_c[0, 0] == 70.0
    assert found.core_c[-1, 0] == pytest.approx(3.0, abs=2.0)


@pytest.mark.parametrize(
    ("from_c", "to_c", "air_c", "name"),
    [(300.0, 21.0, 4.0, "from_c"), (70.0, 21.0, 80.0, "air_c"), (70.0, -40.0, 4.0, "to_c")],
)
def test_impossible_values_are_refused(from_c: float, to_c: float, air_c: float, name: str) -> None:
    with pytest.raises(OutOfRange, match=name):
        time_to(FILLET, from_c, to_c, air_c)
