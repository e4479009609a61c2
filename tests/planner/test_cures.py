"""Dry salt and equilibrium cures: balances by hand, and what must always hold."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.brine import SaltSaid, brine
from planner.cures import (
    dry_limit_wps,
    dry_salt,
    equilibrium_brine,
    equilibrium_wps,
    rub_for,
    time_to_even,
    time_to_take_up,
)
from planner.piece import Piece
from planner.ranges import OutOfRange
from planner.salted import SATURATED_RATIO
from planner.saltwater import OverSaturated
from planner.soak import soak
from planner.species import species

COHO = species("coho_salmon").composition
GRAVLAX = Piece(COHO, 25.0, 1)

shares = st.floats(0.5, 12.0)
thick = st.floats(4.0, 60.0)


@given(shares, thick, st.sampled_from([1, 2]))
def test_in_a_bag_all_the_salt_ends_in_the_fish(pct: float, thick_mm: float, faces: int) -> None:
    """By hand: 100 s / (s + w), w the flesh's own water; long enough for all to go in."""
    piece = Piece(COHO, thick_mm, faces)
    by_hand = 100.0 * pct / (pct + 100.0 * COHO.water)
    assert dry_limit_wps(piece, pct, drains=False).mid == pytest.approx(by_hand, rel=1e-9)
    assert equilibrium_wps(COHO, 1000.0, 0.0, pct, "fish") == pytest.approx(by_hand, rel=1e-9)
    if time_to_take_up(piece, pct, temp_c=20.0, drains=False).mid < 200.0:
        got = dry_salt(piece, pct, hours=240.0, temp_c=20.0, drains=False)
        assert got.mean.mid == pytest.approx(by_hand, rel=1e-3)


@given(shares, thick, st.floats(0.0, 240.0), st.booleans())
def test_never_more_salt_than_was_laid_on(pct: float, thick_mm: float, hours: float, drains: bool) -> None:
    got = dry_salt(Piece(COHO, thick_mm), pct, hours=hours, temp_c=4.0, drains=drains)
    assert np.all(got.salt <= 1.001 * pct / 100.0)
    assert np.all(got.face_ratio <= SATURATED_RATIO * 1.001)
    assert got.core.mid <= got.mean.mid + 0.02
    assert np.all(got.water <= COHO.water + 1e-12)


@given(shares, thick, st.floats(0.1, 100.0), st.floats(0.0, 15.0))
def test_more_salt_longer_and_warmer_take_up_more(pct, thick_mm, hours, temp) -> None:
    piece = Piece(COHO, thick_mm)

    def mean(share: float = pct, time: float = hours, at: float = temp) -> float:
        return dry_salt(piece, share, hours=time, temp_c=at).mean.mid

    now = mean()
    assert mean(share=pct + 1.0) >= now - 1e-3
    assert mean(time=hours + 5.0) >= now - 1e-3
    assert mean(at=temp + 5.0) >= now - 1e-3


def test_take_up_is_when_all_is_in() -> None:
    taken = time_to_take_up(GRAVLAX, 3.0, temp_c=4.0).mid
    limit = dry_limit_wps(GRAVLAX, 3.0).mid
    assert dry_salt(GRAVLAX, 3.0, hours=0.5 * taken, temp_c=4.0).mean.mid < 0.9 * limit
    assert dry_salt(GRAVLAX, 3.0, hours=1.001 * taken, temp_c=4.0).mean.mid == pytest.approx(limit, rel=3e-3)


@given(st.floats(0.5, 10.0), st.booleans())
def test_rub_gives_what_it_was_asked_for(aim: float, drains: bool) -> None:
    pct = rub_for(GRAVLAX, aim, drains).mid
    assert dry_limit_wps(GRAVLAX, pct, drains).mid == pytest.approx(aim, rel=1e-3)


@given(
    st.floats(500.0, 5000.0),
    st.floats(3000.0, 20_000.0),
    st.floats(0.5, 5.0),
    st.sampled_from(["fish", "fish_and_water"]),
)
def test_an_equilibrium_brine_ends_where_the_balance_says(fish_g, water_ml, pct, of) -> None:
    """All salt in all water, reckoned from the bath and from the percentage."""
    made = equilibrium_brine(fish_g, water_ml, pct, of)
    end = equilibrium_wps(COHO, fish_g, water_ml, pct, of)
    by_hand = made.salt_g.mid / (made.salt_g.mid + made.water_g + fish_g * COHO.water)
    assert end == pytest.approx(100.0 * by_hand, rel=1e-9)
    got = soak(Piece(COHO, 3.0), made, fish_g, hours=240.0, temp_c=15.0)
    assert got.mean.mid == pytest.approx(end, rel=2e-3)


def test_percent_of_fish_and_of_fish_and_water_differ() -> None:
    """2 % on 1 kg of fish and 1 kg of water: 20 g or 40 g."""
    water_ml = brine(1000.0, SaltSaid("salt_g", 0.0)).water_ml
    fish = equilibrium_brine(1000.0, water_ml, 2.0, "fish").salt_g.mid
    both = equilibrium_brine(1000.0, water_ml, 2.0, "fish_and_water").salt_g.mid
    assert fish == pytest.approx(20.0)
    assert both == pytest.approx(40.0, abs=0.1)


def test_more_salt_than_its_water_dissolves_is_no_brine() -> None:
    with pytest.raises(OverSaturated):
        equilibrium_brine(1000.0, 50.0, 3.0, "fish")


@given(thick, st.floats(0.0, 15.0), st.floats(0.2, 0.95))
def test_time_to_even_goes_by_the_square_of_the_depth(thick_mm: float, temp: float, share: float) -> None:
    """Fick: twice the depth, four times the time; skin off halves the depth."""
    one = time_to_even(Piece(COHO, thick_mm, 1), temp_c=temp, share=share).mid
    two = time_to_even(Piece(COHO, thick_mm, 2), temp_c=temp, share=share).mid
    assert one == pytest.approx(4.0 * two, rel=1e-9)
    assert time_to_even(Piece(COHO, thick_mm, 1), temp_c=temp + 5.0, share=share).mid < one


def test_time_to_even_of_an_inch_by_hand() -> None:
    """Within 10 % at Fo = ln 20 / pi^2 = 0.3035: 0.3035 x 0.0254^2 / 4.5e-10 s at 5 °C, 121 h, skin on."""
    by_hand = np.log(20.0) / np.pi**2 * 0.0254**2 / 4.5e-10 / 3600.0
    assert time_to_even(Piece(COHO, 25.4, 1), temp_c=5.0).mid == pytest.approx(by_hand, rel=1e-3)


@pytest.mark.parametrize(
    ("pct", "hours", "temp", "name"),
    [
        (0.0, 1.0, 3.0, "salt_per_fish"),
        (60.0, 1.0, 3.0, "salt_per_fish"),
        (3.0, -1.0, 3.0, "hours"),
        (3.0, 1.0, 30.0, "temp_c"),
    ],
)
def test_impossible_cures_are_refused(pct: float, hours: float, temp: float, name: str) -> None:
    with pytest.raises(OutOfRange, match=name):
        dry_salt(GRAVLAX, pct, hours=hours, temp_c=temp)
