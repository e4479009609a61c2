"""Smoking: an inch of salmon in a home smoker, its bounds, its chamber, and bad input."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.piece import Piece
from planner.ranges import OutOfRange
from planner.smoking import (
    Bound,
    Chamber,
    cook,
    hold_end_s,
    time_to_core,
    time_to_hold_end,
    usual_loss_pct,
)
from planner.unknowns import crossing_s, spread_of, usual
from tests.planner.given import SALMON

INCH = Piece(SALMON, 25.4, 2)
HOT = Chamber.steady(87.0)


def test_an_honest_blind_spread() -> None:
    """Reference note on this model: blind, one standard deviation is 35 to 40 % of the time."""
    hours = time_to_core(cook(INCH, HOT), 62.8)
    assert hours is not None
    sd = math.log(hours.high / hours.low) / 2.56
    assert 0.25 < sd < 0.55
    assert 1.5 < hours.mid < 4.0


def test_fish_that_is_hot_already_takes_no_time() -> None:
    found = time_to_core(cook(INCH, HOT, start_c=55.0), 50.0)
    assert found is not None
    assert found.mid == 0.0


def test_bounds_enclose_the_coupled_run() -> None:
    times = {b: crossing_s(*_core(cook(INCH, HOT, bound=b, runs=1)), 43.0)[0] for b in Bound}
    assert times[Bound.DRY] < times[Bound.COUPLED] <= times[Bound.WET]


def _core(cooked):
    return cooked.time_s, cooked.core_c


def test_a_wet_surface_never_gets_there() -> None:
    assert time_to_core(cook(INCH, HOT, bound=Bound.WET), 62.8) is None


def test_a_chamber_below_the_mark_never_gets_there() -> None:
    assert time_to_core(cook(INCH, Chamber.steady(60.0)), 62.8) is None
    assert time_to_hold_end(cook(INCH, Chamber.steady(60.0)), 62.8, 30.0) is None


def test_a_chamber_below_the_core_cools_it() -> None:
    cooked = cook(INCH, Chamber.steady(10.0), start_c=30.0, runs=1)
    assert cooked.core_c[-1, 0] < 15.0


def test_loss_is_of_the_size_of_the_trades_thirty_percent() -> None:
    """About 30 % from raw to smoked in all, brine and drying included: common practice, no source."""
    loss = usual_loss_pct(cook(INCH, HOT, dried_kg_m2=0.4), 4.0)
    assert loss.low < 30.0
    assert 5.0 < loss.mid < 30.0


def test_doors_water_pan_and_a_colder_rack_make_it_later() -> None:
    def mid(**more) -> float:
        hours = time_to_core(cook(INCH, more.pop("chamber", HOT), **more), 55.0)
        assert hours is not None
        return hours.mid

    quiet = mid()
    assert mid(chamber=Chamber.steady(87.0, doors_s=(1800.0, 3600.0))) > quiet
    assert mid(rack_offset_k=-5.0) > quiet > mid(rack_offset_k=5.0)
    assert mid(dried_kg_m2=0.3) < quiet


def test_a_chamber_is_read_between_its_readings() -> None:
    chamber = Chamber(((0.0, 60.0), (3600.0, 90.0)), later_c=80.0)
    assert chamber.at(np.array([-10.0, 1800.0, 3600.0, 5400.0, 9e4])) == pytest.approx([60, 75, 90, 80, 80])


def test_an_opened_door_lets_it_fall_and_recover() -> None:
    chamber = Chamber.steady(85.0, doors_s=(600.0,))
    before, just_after, later = chamber.at(np.array([599.0, 600.0, 3600.0]))
    assert before == 85.0
    assert just_after < 60.0
    assert later == pytest.approx(85.0, abs=0.1)


def test_the_hold_must_be_unbroken() -> None:
    time = np.array([0.0, 600.0, 1200.0, 1800.0, 2400.0, 4200.0, 6000.0])
    core = np.array([[60.0], [64.0], [64.0], [62.0], [64.0], [64.0], [64.0]])
    # At the mark again from 2040 s (half way of a rise of 2 K less a bit): 1800 s later it is done.
    end = hold_end_s(time, core, 62.8, 1800.0)[0]
    assert end == pytest.approx(1800.0 + 600.0 * 0.8 / 2.0 + 1800.0)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.floats(50.0, 80.0), min_size=3, max_size=20), st.floats(0.0, 3600.0))
def test_the_hold_ends_no_sooner_than_the_mark_and_the_hold(cores: list[float], hold_s: float) -> None:
    time = np.arange(len(cores)) * 600.0
    core = np.array(cores)[:, None]
    end, first = hold_end_s(time, core, 62.8, hold_s)[0], crossing_s(time, core, 62.8)[0]
    assert end >= first + hold_s - 1e-6


@given(st.lists(st.floats(1.0, 1e4), min_size=3, max_size=60), st.integers(0, 20))
def test_spread_rises_and_knows_what_never_comes(values: list[float], never: int) -> None:
    found = spread_of(np.array(values + [math.inf] * never))
    if never > len(values):
        assert found is None
    elif found is not None:
        assert min(values) <= found.low <= found.mid <= found.high


def test_the_usual_prior_is_stated() -> None:
    assert usual().batches == 0
    assert all(sd > 0 for sd in usual().sd)


@pytest.mark.parametrize(
    ("make", "name"),
    [
        (lambda: Chamber.steady(300.0), "chamber_c"),
        (lambda: Chamber.steady(math.nan), "chamber_c"),
        (lambda: cook(INCH, HOT, start_c=90.0), "start_c"),
        (lambda: cook(INCH, HOT, wps_pct=40.0), "wps_pct"),
        (lambda: cook(INCH, HOT, humidity=-0.1), "humidity"),
        (lambda: cook(INCH, HOT, altitude_m=9000.0), "altitude_m"),
        (lambda: cook(INCH, HOT, hours=0.0), "hours"),
        (lambda: cook(INCH, HOT, runs=0), "count"),
        (lambda: time_to_core(cook(INCH, HOT), 300.0), "core_c"),
        (lambda: Piece(SALMON, 0.0), "thickness_mm"),
        (lambda: Piece(SALMON, 400.0), "thickness_mm"),
    ],
)
def test_impossible_values_are_refused(make, name: str) -> None:
    with pytest.raises(OutOfRange, match=name):
        make()


def test_a_chamber_without_readings_or_going_back_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one"):
        Chamber(())
    with pytest.raises(ValueError, match="back in time"):
        Chamber(((10.0, 80.0), (0.0, 80.0)))
