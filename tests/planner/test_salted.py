"""Water-phase salt, loss of water, and rest."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.brine import recipe_for
from planner.diffusion import profile
from planner.piece import Piece
from planner.ranges import OutOfRange
from planner.salted import (
    even_out,
    loss_for_wps,
    ratio_of,
    salt_for_wps,
    wps,
    wps_after_loss,
    wps_before_loss,
)
from planner.soak import soak, soak_runs
from planner.species import species
from planner.spread import Spread
from tests.planner.known_runs import known
from tests.planner.tables import rows

COHO = species("coho_salmon").composition
NONE = Spread(0.0, 0.0, 0.0)


def salted(thick: float = 20.0, faces: int = 2, width: float | None = 80.0, h: float = 6.0, pct: float = 10.0):
    return soak(Piece(COHO, thick, faces, width), recipe_for(pct, 4000.0), 2000.0, hours=h, temp_c=3.0)


@pytest.mark.parametrize("row", rows("smoked_retail"), ids=lambda row: row["fish"])
def test_retail_fish(row: dict[str, str]) -> None:
    """USDA Standard Reference, all sodium as salt (x 2.5421): two printed decimals."""
    salt = float(row["sodium_mg"]) / 1000.0 * 2.5421
    assert wps(salt, float(row["water_g"])) == pytest.approx(float(row["wps_pct"]), abs=0.0051)


@given(st.floats(0.1, 25.0), st.floats(10.0, 90.0))
def test_definition_there_and_back(wps_pct: float, water: float) -> None:
    assert wps(salt_for_wps(wps_pct, water), water) == pytest.approx(wps_pct)


@given(st.floats(0.5, 3.0), st.floats(60.0, 75.0), st.floats(0.0, 30.0))
def test_loss_there_and_back(salt_pct: float, water_pct: float, loss_pct: float) -> None:
    reached = wps(salt_pct, water_pct - loss_pct)
    assert loss_for_wps(salt_pct, water_pct, reached) == pytest.approx(loss_pct, abs=1e-6)


def test_loss_without_water_moving_is_the_worked_example() -> None:
    """Salt 2.0 %, water 68 %, 15 % of the weight lost as water: 3.636 %."""
    piece = Piece(COHO, 20.0)
    before = wps_before_loss(3.636, piece, 15.0)
    # By hand, on this flesh's water w and salt s: s / (w - 0.15 (1 + s)) is the ratio after.
    salt = ratio_of(before) * COHO.water
    after = salt / (COHO.water - 0.15 * (1.0 + salt))
    assert after == pytest.approx(ratio_of(3.636), rel=1e-9)


@given(st.floats(0.0, 30.0), st.floats(5.0, 40.0), st.sampled_from([1, 2]))
def test_loss_keeps_the_salt(loss_pct: float, thick: float, faces: int) -> None:
    """The best guess by hand: salt stays, water goes."""
    got = salted(thick, faces)
    exact = Spread(loss_pct, loss_pct, loss_pct)
    salt, water, mass = (float(a[0]) for a in (got.salt, got.water, got.mass))
    by_hand = wps(salt, water - loss_pct / 100.0 * mass)
    assert wps_after_loss(got, exact).mean.mid == pytest.approx(by_hand, rel=1e-9)
    assert wps_after_loss(got, exact).core.mid <= by_hand + 1e-9


@given(st.floats(0.0, 20.0), st.floats(1.0, 10.0))
def test_more_loss_is_saltier_and_an_uncertain_one_wider(loss_pct: float, more: float) -> None:
    got = salted()
    now = wps_after_loss(got, Spread(loss_pct, loss_pct, loss_pct)).mean
    later = wps_after_loss(got, Spread(loss_pct + more, loss_pct + more, loss_pct + more)).mean
    assert later.low > now.low
    assert later.mid > now.mid
    unsure = wps_after_loss(got, Spread(0.0, loss_pct + more, loss_pct + more + 10.0)).mean
    assert unsure.high - unsure.low > later.high - later.low


def test_nothing_gets_saltier_than_saturated() -> None:
    strong = salted(4.0, 2, h=48.0, pct=26.0)
    assert wps_after_loss(strong, Spread(40.0, 44.0, 50.0)).mean.high <= 26.4


@pytest.mark.parametrize("loss", [-1.0, 80.0])
def test_impossible_loss_is_refused(loss: float) -> None:
    with pytest.raises(OutOfRange, match="loss_pct"):
        wps_after_loss(salted(), Spread(loss, loss, loss))


@given(st.floats(4.0, 60.0), st.sampled_from([1, 2]), st.one_of(st.none(), st.floats(30.0, 200.0)))
def test_rest_moves_salt_and_makes_none(thick: float, faces: int, width: float | None) -> None:
    got = salted(thick, faces, width)
    for hours in (0.0, 1.0, 10.0, 100.0):
        rested = even_out(got, hours, 3.0)
        np.testing.assert_array_equal(rested.salt, got.salt)
        assert rested.core.mid >= got.core.mid - 0.02
        assert rested.surface.mid <= got.surface.mid + 0.02
        assert rested.core.mid <= got.mean.mid + 0.02
    same = even_out(got, 0.0, 3.0)
    np.testing.assert_allclose(same.core_ratio, got.core_ratio, atol=1e-12)
    np.testing.assert_allclose(same.face_ratio, got.face_ratio, atol=1e-12)


def test_rest_ends_even() -> None:
    done = even_out(salted(6.0, 2, 40.0), 240.0, 20.0)
    np.testing.assert_allclose(done.core_ratio, done.mean_ratio, rtol=1e-3)
    np.testing.assert_allclose(done.face_ratio, done.mean_ratio, rtol=1e-3)


@given(st.floats(0.0, 50.0), st.floats(0.0, 50.0))
def test_two_rests_are_one(first: float, second: float) -> None:
    got = salted(25.0, 1)
    twice = even_out(even_out(got, first, 3.0), second, 3.0)
    np.testing.assert_allclose(twice.core_ratio, even_out(got, first + second, 3.0).core_ratio, atol=1e-9)


def test_rest_of_a_slab_against_finite_volumes() -> None:
    """Explicit cells, no flow through either face, from the profile of Crank's eq. 4.17 at Fo 0.1 on."""
    runs = known(Piece(COHO, 20.0, 1), 4.5e-10)
    hour = float(runs.fo(1.0, 5.0)[0])
    start = soak_runs(runs, recipe_for(10.0, 1e6), 10.0, hours=0.1 / hour, temp_c=5.0)
    cells = 200
    x = (np.arange(cells) + 0.5) / cells
    c = profile(x, 0.1) * float(start.face_ratio[0])
    steps = 20_000
    for _ in range(steps):
        flow = 0.1 / steps * cells**2 * np.diff(c)
        c[:-1] += flow
        c[1:] -= flow
    rested = even_out(start, 0.1 / hour, 5.0)
    assert float(rested.core_ratio[0]) == pytest.approx(c[0], rel=2e-3)
    assert float(rested.face_ratio[0]) == pytest.approx(c[-1], rel=2e-3)
