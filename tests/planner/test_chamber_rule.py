"""The smoker's air, hot and cold."""

from __future__ import annotations

import pytest
from hypothesis import given

from planner.chamber_rule import ChamberState, cold_smoke, hot_chamber
from planner.readings import Reading
from planner.sources import Status
from planner.units import celsius
from planner.verdict import Call
from tests.planner.moments import T0, after, logs, read, read_f


@pytest.mark.parametrize(
    ("chamber_f", "state", "call"),
    [
        (180, ChamberState.IN_BAND, Call.GO),
        (200, ChamberState.IN_BAND, Call.GO),
        (175, ChamberState.BELOW_BAND, Call.NOTED),
        (205, ChamberState.ABOVE_BAND, Call.NOTED),
        (210, ChamberState.ABOVE_BAND, Call.NOTED),
        (212, ChamberState.TOO_HOT, Call.ACT),
    ],
)
def test_band_of_hot_smoking(chamber_f: float, state: ChamberState, call: Call) -> None:
    """Common practice: 180 to 200 °F, not above 210 °F."""
    found = hot_chamber(read_f((0, chamber_f)), 40.0, after(10))
    assert (found.state, found.call) == (state, call)


def test_an_hour_too_low_with_a_cold_core_asks_for_heat() -> None:
    low = read((0, 65), (30, 68), (60, 66))
    assert hot_chamber(low, 40.0, after(60)).state is ChamberState.TOO_COLD_LONG
    assert hot_chamber(low, None, after(60)).call is Call.ACT
    assert hot_chamber(low, 62.0, after(60)).call is Call.NOTED
    assert hot_chamber([*low, *read((45, 80))], 40.0, after(60)).call is Call.NOTED
    assert hot_chamber(low[:2], 40.0, after(60)).call is Call.NOTED


def test_nobody_read_the_chamber() -> None:
    assert hot_chamber([], None, T0).state is ChamberState.NOT_READ


def test_the_band_says_that_it_has_no_source() -> None:
    assert hot_chamber(read((0, 85)), 40.0, after(1)).citation.status is Status.COMMON_PRACTICE


@pytest.mark.parametrize(
    ("chamber_f", "hours", "limit_h", "call"),
    [
        (85, 10, 20, Call.WAIT),
        (90, 21, 20, Call.STOP),
        (50, 21, 24, Call.WAIT),
        (50, 25, 24, Call.STOP),
        (95, 1, 20, Call.ACT),
    ],
)
def test_window_of_cold_smoking(chamber_f: float, hours: float, limit_h: float, call: Call) -> None:
    """AFDO: 90 °F for 20 h, or 50 °F for 24 h."""
    found = cold_smoke(read_f((5, chamber_f)), T0, after(60 * hours))
    assert (found.limit_h, found.call) == (limit_h, call)
    assert found.left_h == max(0.0, limit_h - hours)
    assert found.spent == (hours > limit_h)
    assert found.too_warm == (celsius(chamber_f, "degF") > 32.3)


def test_one_milder_reading_ends_the_cool_window() -> None:
    assert cold_smoke(read_f((5, 48), (60, 60), (90, 48)), T0, after(120)).limit_h == 20


def test_a_chamber_nobody_read_has_the_shorter_window() -> None:
    assert cold_smoke([], T0, after(60)).limit_h == 20


@given(logs(0.0, 40.0, 1500), logs(0.0, 40.0, 1500, size=2))
def test_more_readings_never_lengthen_a_window_already_short(chamber: list[Reading], more: list[Reading]) -> None:
    if chamber:
        before = cold_smoke(chamber, T0, after(1500))
        later = cold_smoke([*chamber, *more], T0, after(1500))
        assert later.limit_h <= before.limit_h
        assert later.too_warm or not before.too_warm
