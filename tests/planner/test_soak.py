"""Soaking: balances, what must always hold, and the everyday recipe reckoned by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.brine import SaltSaid, brine, recipe_for
from planner.levers import Change, Soaking, outlook
from planner.piece import Piece
from planner.ranges import OutOfRange
from planner.salted import wps_of
from planner.salting import family, spread_of
from planner.soak import brine_after, limit_wps, soak, strength_for, time_to_wps
from planner.species import species
from planner.spread import Spread

COHO, KING = species("coho_salmon").composition, species("king_salmon").composition

pieces = st.builds(
    Piece,
    st.sampled_from([COHO, KING]),
    st.floats(2.0, 150.0),
    st.sampled_from([1, 2]),
    st.one_of(st.none(), st.floats(20.0, 300.0)),
)
strengths = st.floats(0.5, 26.0)
masses = st.floats(100.0, 20_000.0)
hours = st.floats(0.0, 240.0)
temps = st.floats(-2.0, 25.0)


def bath(pct: float):
    return recipe_for(pct, 4000.0)


@given(pieces, strengths, masses, hours, temps)
def test_salt_and_water_balance(piece: Piece, pct: float, mass: float, h: float, temp: float) -> None:
    """The face stands at rest with the bath, so it says what the bath has left: all salt is there, to 0.1 %.

    Run by run, on the water the flesh had; the water that moves is reckoned beside (next assertion).
    """
    made = bath(pct)
    got = soak(piece, made, mass, hours=h, temp_c=temp)
    in_bath = got.face_ratio / got.family.partition * made.water_g
    in_fish = got.mean_ratio * piece.composition.water * mass
    np.testing.assert_allclose(in_bath + in_fish, made.salt_g.mid, rtol=1e-3)
    grown = got.mass - 1.0
    np.testing.assert_allclose(grown, got.salt + got.water - piece.composition.water, atol=1e-12)


@given(pieces, strengths, masses, hours, temps)
def test_ends_rise_and_stay_between_none_and_the_brine(piece, pct, mass, h, temp) -> None:
    got = soak(piece, bath(pct), mass, hours=h, temp_c=temp)
    top = limit_wps(piece, bath(pct), mass)
    for spread in (got.mean, got.core):
        assert -1e-9 <= spread.low <= spread.mid <= spread.high
        assert spread.high <= top.high + 0.01
    assert got.core.mid <= got.mean.mid + 0.01 <= got.surface.mid + 0.02
    assert got.surface.mid <= bath(pct).water_phase_pct.mid + 0.01


@given(pieces, st.floats(1.0, 24.0), masses, st.floats(0.1, 200.0), st.floats(-2.0, 20.0))
def test_saltier_longer_warmer_and_thinner_take_up_more(piece, pct, mass, h, temp) -> None:
    def mean(p: Piece = piece, strength: float = pct, time: float = h, at: float = temp, thaw: bool = False):
        return soak(p, bath(strength), mass, hours=time, temp_c=at, thawed=thaw).mean.mid

    slack = 2e-3
    now = mean()
    assert mean(strength=pct + 1.0) > now
    assert mean(time=h + 20.0) >= now - slack
    assert mean(at=temp + 5.0) >= now - slack
    assert mean(thaw=True) >= now - slack
    if piece.thickness_mm < 130.0:
        thicker = Piece(piece.composition, piece.thickness_mm * 1.15, piece.open_faces, piece.width_mm)
        assert mean(thicker) <= now + slack
    if piece.open_faces == 1:
        assert mean(Piece(piece.composition, piece.thickness_mm, 2, piece.width_mm)) >= now - slack


@given(masses, st.floats(1.0, 24.0))
def test_the_end_is_the_mixing_of_two_waters(mass: float, pct: float) -> None:
    """A mass balance by hand: all salt in all water, where the flesh holds as much as the bath."""
    made = bath(pct)
    by_hand = 100.0 * made.salt_g.mid / (made.salt_g.mid + made.water_g + mass * COHO.water)
    assert limit_wps(Piece(COHO, 20.0), made, mass).mid == pytest.approx(by_hand, rel=1e-9)
    long = soak(Piece(COHO, 4.0), made, mass, hours=240.0, temp_c=20.0)
    assert long.mean.mid == pytest.approx(by_hand, rel=1e-3)
    assert long.core.mid == pytest.approx(by_hand, rel=1e-3)


def test_five_percent_two_to_one_can_never_give_3_8() -> None:
    """A published limit of the balance: 5 % brine, 2 kg to the kg, never above 3.78 % WPS."""
    made = recipe_for(5.0, 1900.0 / 0.9982)
    assert limit_wps(Piece(species("atlantic_salmon").composition, 25.0), made, 1000.0).mid == pytest.approx(
        3.78, abs=0.05
    )
    assert time_to_wps(Piece(COHO, 25.0), made, 1000.0, 4.5, temp_c=3.0) is None


@given(st.floats(8.0, 40.0), st.sampled_from([1, 2]), st.floats(4.0, 20.0), st.floats(0.1, 0.9))
def test_time_to_a_strength_is_when_it_has_it(thick: float, faces: int, pct: float, share: float) -> None:
    piece, made = Piece(COHO, thick, faces), bath(pct)
    aim = share * limit_wps(piece, made, 2000.0).mid
    found = time_to_wps(piece, made, 2000.0, aim, temp_c=3.0)
    if found is not None and found.mid > 0.02:
        there = soak(piece, made, 2000.0, hours=found.mid, temp_c=3.0)
        assert there.mean.mid == pytest.approx(aim, rel=5e-3)


@given(st.floats(8.0, 40.0), st.sampled_from([1, 2]), st.floats(1.0, 5.0), st.floats(2.0, 48.0))
def test_strength_for_a_time_gives_that_strength(thick: float, faces: int, aim: float, h: float) -> None:
    piece = Piece(COHO, thick, faces)
    found = strength_for(piece, 2000.0, 4000.0, aim, hours=h, temp_c=3.0)
    if found is not None and found.mid < 26.3:
        got = soak(piece, recipe_for(found.mid, 4000.0), 2000.0, hours=h, temp_c=3.0)
        assert got.mean.mid == pytest.approx(aim, rel=1e-6)


def test_a_strength_beyond_saturation_is_none() -> None:
    assert strength_for(Piece(COHO, 60.0, 1), 2000.0, 4000.0, 8.0, hours=1.0, temp_c=3.0) is None


@given(st.floats(1.0, 5.0), hours)
def test_salted_fish_in_plain_water_gets_milder(start: float, h: float) -> None:
    plain = brine(4000.0, SaltSaid("salt_g", 0.0))
    got = soak(Piece(COHO, 20.0), plain, 1000.0, hours=h, temp_c=4.0, start_wps_pct=start)
    assert got.mean.mid <= start + 1e-6
    assert got.core.mid >= got.mean.mid - 0.01


@given(pieces, strengths, masses, hours)
def test_the_bath_gets_weaker_by_what_the_fish_takes(piece, pct, mass, h) -> None:
    made = bath(pct)
    got = soak(piece, made, mass, hours=h, temp_c=3.0)
    left = brine_after(made, mass, got)
    salt_g = made.salt_g.mid - mass * float(got.salt[0])
    water_g = made.water_g - mass * float(got.water[0] - piece.composition.water)
    assert left.mid == pytest.approx(100.0 * salt_g / (salt_g + water_g))
    assert left.mid <= made.water_phase_pct.mid * 1.13  # water that goes in leaves salt behind


def test_weak_brine_adds_weight_and_strong_brine_takes_it() -> None:
    """The sign of Nguyen and co-authors 2010, J. Food Eng. 100: most gained at 6 %, lost in strong brine."""
    piece = Piece(COHO, 15.0)
    gained = [soak(piece, bath(pct), 1000.0, hours=24.0, temp_c=3.0).weight_change_pct for pct in (6, 15, 24)]
    assert gained[0].mid > gained[1].mid > gained[2].mid
    assert gained[0].mid > 0.0


def test_an_unknown_flake_widens_the_answer() -> None:
    piece = Piece(COHO, 25.4, 1)
    cup = brine(3785.41, SaltSaid("salt_ml_per_l", 62.5, "kosher"))
    known = recipe_for(cup.salt_pct.mid, 3785.41)
    by_cup = soak(piece, cup, 2041.0, hours=12.0, temp_c=3.3).mean
    weighed = soak(piece, known, 2041.0, hours=12.0, temp_c=3.3).mean
    assert by_cup.mid == pytest.approx(weighed.mid)
    assert by_cup.high - by_cup.low > weighed.high - weighed.low


def test_everyday_recipe_by_hand() -> None:
    """One cup of flaky kosher to the gallon, an inch of skin-on salmon, overnight, 4 1/2 lb.

    By hand: 178 g in 3779 g of water is a ratio of 0.0471; the fish's water is 2041 x 0.7164 = 1462 g, so
    alpha 2.58 and at most 0.0471 x 2.58 / 3.58 = 0.0340. D at 3.3 °C is 4.28e-10 m2/s, 12 h over 25.4 mm
    give Fo 0.0287. Through the flesh side alone 2 sqrt(Fo / pi) = 0.191 of an endless bath's uptake, at
    least 0.19 of the limited one's: WPS at pull at least 0.65 %. Through the cut sides as well (a piece
    as narrow as 60 mm has 1 + 2 x 25.4 / 60 = 1.85 times the face) and with Crank's 1 + 1/alpha for the
    fresh bath: at most 0.191 x 1.85 x 1.39 x 0.0340 = 0.0167, 1.64 %.
    """
    cup = brine(3785.41, SaltSaid("salt_ml_per_l", 62.5, "kosher"))
    piece = Piece(COHO, 25.4, 1)
    got = soak(piece, cup, 2041.0, hours=12.0, temp_c=3.3)
    assert 0.65 < got.mean.mid < 1.64
    assert got.core.high < 0.05  # erfc(1 / (2 sqrt(Fo))) is 3e-5 of the face


def test_everyday_recipe_is_short_and_says_what_would_change_that() -> None:
    cup = brine(3785.41, SaltSaid("salt_ml_per_l", 62.5, "kosher"))
    now = Soaking(Piece(COHO, 25.4, 1), cup, 2041.0, hours=12.0, temp_c=3.3)
    found = outlook(now, Spread(22.0, 28.0, 34.0), 3.5)
    assert found.mean_short
    assert found.core_short
    assert found.packed.mean.high < 3.5
    assert {lever.change for lever in found.levers} == set(Change)
    for lever in found.levers:
        assert lever.packed.mean.mid > found.packed.mean.mid
        assert lever.packed.core.mid > found.packed.core.mid
    solved = {lever.change: lever for lever in found.levers if lever.change in (Change.STRONGER, Change.LONGER)}
    for lever in solved.values():
        # The lever leaves out the water that moves in the brine: worth about one percent of the strength.
        assert lever.packed.mean.mid == pytest.approx(3.5, rel=0.02)


def test_a_soak_that_suffices_has_no_need_of_more() -> None:
    now = Soaking(Piece(COHO, 12.0, 2), recipe_for(15.0, 4000.0), 2000.0, hours=12.0, temp_c=3.3)
    found = outlook(now, Spread(22.0, 28.0, 34.0), 3.5)
    assert not found.mean_short
    assert {lever.change for lever in found.levers} == {Change.THINNER}


@pytest.mark.parametrize(
    ("changed", "name"),
    [
        ({"hours": -1.0}, "hours"), ({"hours": 500.0}, "hours"), ({"temp_c": 30.0}, "temp_c"),
        ({"temp_c": -10.0}, "temp_c"), ({"temp_c": math.nan}, "temp_c"), ({"start_wps_pct": 40.0}, "wps"),
    ],
)  # fmt: skip
def test_impossible_soaks_are_refused(changed: dict[str, float], name: str) -> None:
    given_ = {"hours": 12.0, "temp_c": 3.0} | changed
    with pytest.raises(OutOfRange, match=name):
        soak(Piece(COHO, 25.0), bath(8.0), 1000.0, **given_)


@pytest.mark.parametrize("thickness", [0.0, -5.0, 400.0, math.inf])
def test_impossible_thickness_is_refused(thickness: float) -> None:
    with pytest.raises(OutOfRange, match="thickness_mm"):
        Piece(COHO, thickness)


def test_fish_without_room_for_brine_is_refused() -> None:
    with pytest.raises(OutOfRange, match="water of the brine"):
        soak(Piece(COHO, 25.0), recipe_for(8.0, 20.0), 20_000.0, hours=1.0, temp_c=3.0)


def test_the_family_covers_the_published_ranges() -> None:
    """``data/diffusivity.toml``: lean 2.5 to 7e-10, fatty 1.5 to 6e-10 m2/s at 5 °C; twice as fast thawed at most."""
    lean, fatty = family(Piece(COHO, 20.0)).diffusivity(5.0), family(Piece(KING, 20.0)).diffusivity(5.0)
    assert 2.5e-10 <= lean.min() < 2.6e-10
    assert 6.8e-10 < lean.max() <= 7e-10
    assert 1.5e-10 <= fatty.min() < 1.6e-10
    assert 5.8e-10 < fatty.max() <= 6e-10
    thawed = family(Piece(COHO, 20.0), thawed=True).diffusivity(5.0)
    assert np.all((thawed >= lean) & (thawed <= 1.6 * lean))


def test_spread_keeps_order_even_where_the_guess_is_an_end() -> None:
    assert spread_of(np.array([5.0, 1.0, 2.0, 3.0])).high == 5.0
    assert spread_of(wps_of(np.zeros(5))) == Spread(0.0, 0.0, 0.0)
