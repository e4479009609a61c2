"""Courses: salt along the depth of a piece, the core in the smoke and on its way down."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from planner.batch import Batch
from planner.brine import recipe_for
from planner.cooks import cooling_course
from planner.diffusion import profile
from planner.forecast import forecast_core
from planner.making import make
from planner.piece import Piece
from planner.readings import Reading
from planner.salted import even_out, wps_of
from planner.soak import limit_wps, soak
from planner.species import species

COHO = species("coho_salmon").composition
#: So wide that salt through the cut sides does not reach the middle of the width.
WIDE = Piece(COHO, 25.0, 1, 2500.0)
PLACES = np.linspace(0.0, 1.0, 41)


@pytest.mark.parametrize("hours", [2.0, 6.0, 12.0, 48.0])
def test_salt_along_the_depth_is_the_exact_series(hours: float) -> None:
    """J. Crank, The Mathematics of Diffusion, 2nd ed., 1975, eq. 4.36: 60 terms, from another module."""
    bath = recipe_for(12.0, 4000.0)
    salted = soak(WIDE, bath, 1500.0, hours=hours, temp_c=3.0)
    runs = salted.family
    fo = float(runs.fo(hours, 3.0)[0])
    alpha = bath.water_g / (float(runs.partition[0]) * 1500.0 * COHO.water)
    end = limit_wps(WIDE, bath, 1500.0).mid
    ratio = end / (100.0 - end) * profile(PLACES, np.full_like(PLACES, fo), np.full_like(PLACES, alpha))
    # in_bath is good to 1e-4 of the end; what six cosines leave out is largest early, where the face knows most
    assert salted.along(PLACES) == pytest.approx(wps_of(ratio), abs=0.02 * end)


@pytest.mark.parametrize("rest_h", [0.0, 1.0, 12.0])
def test_salt_along_the_depth_ends_at_core_and_face(rest_h: float) -> None:
    salted = even_out(soak(WIDE, recipe_for(15.0, 3000.0), 1500.0, hours=10.0, temp_c=3.0), rest_h, 3.0)
    along = salted.along(np.array([0.0, 1.0]))
    core, face = wps_of(salted.core_ratio)[0], wps_of(salted.face_ratio)[0]
    assert along == pytest.approx([core, face], abs=0.01)


def test_the_core_ahead_crosses_a_mark_when_the_mark_is_expected() -> None:
    found = forecast_core(WIDE, ((4000.0, 50.0), (6000.0, 60.0)), ((0.0, 90.0), (5000.0, 89.0)), now_s=6000.0)
    when = found.marks["floor"].when
    assert when is not None
    times = [a.at_s for a in found.course]
    for level, mids in (
        (when.mid, [a.core_c.mid for a in found.course]),
        (when.low, [a.core_c.high for a in found.course]),
        (when.high, [a.core_c.low for a in found.course]),
    ):
        # steps of a quarter of an hour, straight between them
        assert np.interp(level, times, mids) == pytest.approx(62.8, abs=0.5)


def test_the_core_on_its_way_down_starts_as_read_and_never_rises() -> None:
    at = datetime(2026, 9, 12, 20, tzinfo=UTC)
    making = make(Batch(at, told={"species": "coho_salmon", "thickness_mm": 25.0, "mass_g": 2000.0}))
    course = cooling_course(making, "all", [Reading(at, 70.0)], 21.1)
    assert (course[0].at, course[0].core_c.mid) == (at, 70.0)
    mids = [a.core_c.mid for a in course]
    assert mids == sorted(mids, reverse=True)
    assert course[-1].core_c.high <= 21.1
    assert course[-1].at < at + timedelta(hours=12)
    assert cooling_course(making, "all", [Reading(at, 20.0)], 21.1) == ()
