"""The bar in a bath that weakens: against Crank's slab, the product of two slabs, and finite volumes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.bar import COSINES, in_bath
from planner.diffusion import profile, uptake
from planner.ranges import OutOfRange
from tests.planner import bar_by_cells
from tests.planner.tables import rows

fourier = st.floats(1e-3, 3.0)
aspects = st.floats(0.05, 3.0)
baths = st.floats(0.1, 100.0)


@pytest.mark.parametrize("row", rows("crank_slab"), ids=lambda row: row["Fo"])
def test_a_wide_bar_is_crank_s_slab(row: dict[str, str]) -> None:
    """Five printed decimals."""
    for column in (name for name in row if name.startswith("E_alpha_")):
        got = in_bath(float(row["Fo"]), 0.0, float(column.removeprefix("E_alpha_"))).mean
        assert float(got) == pytest.approx(float(row[column]), abs=6e-6), column


@given(fourier, baths)
def test_core_and_face_of_a_wide_bar(fo: float, alpha: float) -> None:
    got = in_bath(fo, 0.0, alpha)
    assert float(got.core) == pytest.approx(max(0.0, profile(0.0, fo, alpha)[0]), abs=1e-5)
    assert float(got.face) == pytest.approx(profile(1.0, fo, alpha)[0], abs=2e-3)


@given(fourier, aspects)
def test_in_an_endless_bath_it_is_the_product_of_two_slabs(fo: float, aspect: float) -> None:
    """H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids, 2nd ed., 1959, section 1.15."""
    across = max(fo * aspect**2, 1e-3)
    got = in_bath(fo, aspect, 1e6)
    mean = 1.0 - (1.0 - uptake(fo)[0]) * (1.0 - uptake(fo * aspect**2)[0])
    assert float(got.mean) == pytest.approx(mean, abs=5e-4)
    if fo * aspect**2 >= 1e-3:
        core = 1.0 - (1.0 - profile(0.0, fo)[0]) * (1.0 - profile(0.0, across)[0])
        assert float(got.core) == pytest.approx(core, abs=1e-4)


CASES = np.array([(0.02, 0.3, 4.0), (0.05, 0.6, 1.5), (0.1, 0.2, 0.5), (0.3, 1.0, 2.0), (0.6, 0.1, 8.0)]).T


def test_against_finite_volumes() -> None:
    """Bath and edges at once. The cells' error falls with their size squared: what is left of it is 0.3 %."""
    coarse, fine = (bar_by_cells.in_bath(*CASES, cells=cells) for cells in (16, 32))
    got = in_bath(*CASES)
    assert np.all(np.abs(got.mean - fine[0]) < 0.45 * np.abs(got.mean - coarse[0]) + 1e-4)
    assert got.mean == pytest.approx(fine[0] + (fine[0] - coarse[0]) / 3.0, rel=0.003)
    # The first cell's middle lies off the core by half a cell, which fades as the cells do.
    assert got.core == pytest.approx(fine[1] + (fine[1] - coarse[1]) / 3.0, abs=0.003)


@given(fourier, aspects, baths)
def test_what_the_bar_gains_the_bath_loses(fo: float, aspect: float, alpha: float) -> None:
    """The face holds the bath's concentration: the sum stays what it was, to 0.1 %."""
    got = in_bath(fo, aspect, alpha)
    final = alpha / (1.0 + alpha)
    assert float(got.face + got.mean / alpha) * final == pytest.approx(1.0, abs=1e-3)


@given(fourier, aspects, baths, st.floats(0.02, 0.5))
def test_longer_and_narrower_take_up_more(fo: float, aspect: float, alpha: float, more: float) -> None:
    now = in_bath(fo, aspect, alpha)
    assert float(in_bath(fo + more, aspect, alpha).mean) >= float(now.mean) - 2e-4
    assert float(in_bath(fo, aspect + more, alpha).mean) >= float(now.mean) - 2e-4
    assert float(now.core) <= float(now.mean) + 1e-4


@given(st.floats(0.02, 1.0), aspects, baths)
def test_the_cosines_draw_the_line_from_core_to_face(fo: float, aspect: float, alpha: float) -> None:
    """Their sum at the core is what the core holds beyond the line's mean, but for the cut-off ones."""
    got = in_bath(fo, aspect, alpha)
    cut_off = 2.0 / (np.pi * (COSINES + 0.5)) ** 2 * 4.0
    assert float(got.line + got.cosines.sum()) == pytest.approx(float(got.core), abs=cut_off + 0.02)


@pytest.mark.parametrize(("fo", "aspect", "alpha"), [(-1, 0, 1), (0.1, -1, 1), (0.1, 0, 0), (0.1, 0, float("nan"))])
def test_impossible_arguments_are_refused(fo: float, aspect: float, alpha: float) -> None:
    with pytest.raises(OutOfRange):
        in_bath(fo, aspect, alpha)
