"""Forecasts of cooling and of the pellicle."""

from __future__ import annotations

import numpy as np
import pytest

from planner.cooling import curve
from planner.drying import Air, pellicle_time
from planner.forecast import forecast_cooling, forecast_pellicle
from planner.piece import Piece
from planner.ranges import OutOfRange
from tests.planner.given import FILLET, SALMON

PLACES = [(0.0, 15.0), (3600.0, 3.0)]
DAY = Air(16.0, 60.0, fan=True)


def test_cooling_without_readings_is_wide_and_with_them_narrow() -> None:
    blind = forecast_cooling(FILLET, [], PLACES, now_s=0.0).marks["first_leg"].when
    known = curve(FILLET, 71.0, 15.0)
    read = [(s, round(float(np.interp(s / 3600, known.time_h, known.core_c[:, 0])), 1)) for s in (600.0, 1800.0)]
    told = forecast_cooling(FILLET, read, PLACES, now_s=1800.0).marks["first_leg"].when
    assert blind is not None
    assert told is not None
    assert told.high - told.low < blind.high - blind.low


def test_a_warm_kitchen_alone_never_gets_cold() -> None:
    found = forecast_cooling(FILLET, [(1800.0, 50.0)], [(0.0, 24.0)], now_s=1800.0).marks["cold"]
    assert found.when is None
    assert found.never > 0.9


def test_cold_comes_after_the_first_leg() -> None:
    marks = forecast_cooling(FILLET, [(1800.0, 45.0)], PLACES, now_s=1800.0).marks
    first, cold = marks["first_leg"].when, marks["cold"].when
    assert first is not None
    assert cold is not None
    assert first.mid < cold.mid


def test_thicker_cools_later() -> None:
    thin, thick = (
        forecast_cooling(Piece(SALMON, mm, 2), [], PLACES, now_s=0.0).marks["first_leg"].when for mm in (15.0, 45.0)
    )
    assert thin is not None
    assert thick is not None
    assert thin.mid < thick.mid


@pytest.mark.parametrize(
    ("readings", "air", "name"), [([(0.0, 200.0)], [(0.0, 5.0)], "core_c"), ([], [(0.0, 80.0)], "air_c")]
)
def test_impossible_cooling_is_refused(readings, air, name: str) -> None:
    with pytest.raises(OutOfRange, match=name):
        forecast_cooling(FILLET, readings, air, now_s=0.0)


def test_cooling_nowhere_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one"):
        forecast_cooling(FILLET, [], [], now_s=0.0)


def test_a_pellicle_without_weighing_is_the_plan() -> None:
    assert forecast_pellicle(FILLET, DAY, now_h=0.0).hours == pellicle_time(FILLET, DAY).hours


def test_a_weighing_narrows_the_pellicle() -> None:
    plain, weighed = (forecast_pellicle(FILLET, DAY, w, now_h=1.5).hours for w in ([], [(1.5, 1.2)]))
    assert plain is not None
    assert weighed is not None
    assert weighed.high / weighed.low < plain.high / plain.low


def test_still_wet_is_not_there_yet() -> None:
    found = forecast_pellicle(FILLET, DAY, now_h=6.0, still_wet_at_h=6.0)
    assert found.hours is not None
    assert found.hours.low > 6.0


def test_air_that_cannot_dry_says_why() -> None:
    found = forecast_pellicle(FILLET, Air(12.0, 99.0), now_h=1.0)
    assert (found.hours, found.why) == (None, "condensation")
