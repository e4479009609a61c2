"""Thawing by Plank's equation."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.piece import Piece
from planner.properties import thermal
from planner.ranges import OutOfRange
from planner.thawing import plank_h, thaw_time
from tests.planner.given import FILLET, SALMON


def test_plank_by_hand() -> None:
    """Geankoplis, ch. 9.11: t = rho H / dT (P a / h + R a^2 / k), slab P 1/2, R 1/8, worked by hand."""
    flesh = thermal(SALMON, 0.0)
    water = SALMON.water
    ice_cp = water * (2062.3 - 60.769) + flesh.cp - water * 4176.2
    heat = flesh.rho * (water * 333.6e3 + ice_cp * 15.8)
    seconds = heat / (5.0 + 2.2) * (0.025 / (2 * 100.0) + 0.025**2 / (8 * flesh.k))
    assert plank_h(FILLET, 5.0, 100.0, -18.0) == pytest.approx(seconds / 3600.0, rel=1e-6)


def test_an_inch_thaws_overnight_in_the_fridge_and_in_some_hours_in_water() -> None:
    """Common practice: a day or a night in the fridge, an hour or two in cold water."""
    fridge, water = thaw_time(FILLET, fridge_c=3.3), thaw_time(FILLET, water_c=10.0)
    assert 12.0 < fridge.mid < 30.0
    assert 0.7 < water.mid < 3.0
    assert fridge.low < fridge.mid < fridge.high


@settings(max_examples=20, deadline=None)
@given(st.floats(8.0, 80.0), st.floats(1.05, 1.8), st.floats(1.0, 6.0))
def test_thicker_and_colder_are_slower(mm: float, factor: float, fridge_c: float) -> None:
    usual = thaw_time(Piece(SALMON, mm), fridge_c=fridge_c).mid
    assert thaw_time(Piece(SALMON, mm * factor), fridge_c=fridge_c).mid > usual
    assert thaw_time(Piece(SALMON, mm), fridge_c=fridge_c - 1.0).mid > usual


def test_one_place_must_be_said() -> None:
    with pytest.raises(ValueError, match="either"):
        thaw_time(FILLET)
    with pytest.raises(ValueError, match="either"):
        thaw_time(FILLET, fridge_c=3.0, water_c=8.0)


@pytest.mark.parametrize("place", [{"fridge_c": 30.0}, {"water_c": 40.0}, {"fridge_c": 3.0, "frozen_c": 5.0}], ids=str)
def test_impossible_values_are_refused(place: dict[str, float]) -> None:
    with pytest.raises(OutOfRange):
        thaw_time(FILLET, **place)
